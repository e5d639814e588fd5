"""Nothing public without its documentation, and no link that leads nowhere."""

from __future__ import annotations

import argparse
import ast
import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from gaugewright.analysis.findings_schema import SHIPPED
from gaugewright.cli import main
from gaugewright.cli.options import COMMANDS, parser
from gaugewright.cli.settings import KEYS

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = sorted([*ROOT.glob("*.md"), *DOCS.rglob("*.md")])


def undocumented(tree: ast.Module, where: str) -> Iterator[str]:
    """The public modules, classes, functions and methods in this tree without a docstring."""
    if not ast.get_docstring(tree):
        yield where
    yield from _undocumented_inside(tree, where)


def _undocumented_inside(tree: ast.AST, where: str) -> Iterator[str]:
    for node in ast.iter_child_nodes(tree):
        if not isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        if node.name.startswith("_"):
            continue
        if not ast.get_docstring(node):
            yield f"{where}: {node.name}"
        if isinstance(node, ast.ClassDef):
            yield from _undocumented_inside(node, f"{where}: {node.name}")


def test_everything_public_says_what_it_is_for() -> None:
    missing: list[str] = []
    for path in sorted((ROOT / "src").rglob("*.py")):
        where = path.relative_to(ROOT).as_posix()
        missing += undocumented(ast.parse(path.read_text(encoding="utf-8")), where)
    assert missing == []


def test_a_missing_docstring_is_found() -> None:
    tree = ast.parse('"""A module."""\nclass A:\n "A."\n def b(self): ...\ndef _c(): ...\n')
    assert list(undocumented(tree, "m")) == ["m: A: b"]


def options(command: argparse.ArgumentParser) -> Iterator[str]:
    """Every option string and positional word of a parser."""
    for action in command._actions:
        if isinstance(action, argparse._SubParsersAction):
            continue
        yield from action.option_strings or [str(action.metavar or action.dest)]


def test_every_command_and_option_is_documented() -> None:
    text = (DOCS / "reference/commands.md").read_text(encoding="utf-8")
    whole = parser(list(COMMANDS))
    [subparsers] = [a for a in whole._actions if isinstance(a, argparse._SubParsersAction)]
    assert set(subparsers.choices) == set(COMMANDS)
    documented = set(re.findall(r"`([^`]+)`", text))
    words = {word for phrase in documented for word in phrase.split()}
    expected = set(options(whole)) | set(COMMANDS)
    for name, command in subparsers.choices.items():
        found = set(options(command))
        assert len(found) > 3, name
        expected |= found
    assert expected - words == set()


def test_every_setting_is_documented() -> None:
    text = (DOCS / "reference/commands.md").read_text(encoding="utf-8")
    assert [key for key in KEYS if f"\n{key} = " not in text] == []


def test_every_field_of_the_findings_is_documented() -> None:
    text = (DOCS / "reference/findings.md").read_text(encoding="utf-8")
    schema = json.loads(SHIPPED.read_text(encoding="utf-8"))
    parts = [schema, *schema["$defs"].values()]
    fields = {name for part in parts for name in part["properties"]}
    assert len(fields) > 50
    assert sorted(name for name in fields if f"`{name}`" not in text) == []


def targets(page: Path) -> Iterator[str]:
    """Every link and picture of a page, code blocks left out."""
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    yield from re.findall(r"\]\(([^)\s]+)\)", text)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_every_link_leads_somewhere(page: Path) -> None:
    broken = []
    for target in targets(page):
        path, _, anchor = target.partition("#")
        if re.match(r"[a-z]+:", target):
            continue
        reached = (page.parent / path) if path else page
        if not reached.exists() or (anchor and anchor not in anchors(reached)):
            broken.append(target)
    assert broken == []


def anchors(page: Path) -> set[str]:
    """The anchors that a page's headings make."""
    heads = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def test_every_page_is_reached_from_the_readme() -> None:
    seen: set[Path] = set()
    waiting = [ROOT / "README.md"]
    while waiting:
        page = waiting.pop()
        if page in seen or page.suffix != ".md" or not page.exists():
            continue
        seen.add(page)
        waiting += [(page.parent / t.partition("#")[0]).resolve() for t in targets(page)]
    records = set((DOCS / "decisions").glob("*.md"))
    assert {page.resolve() for page in PAGES} - seen - {r.resolve() for r in records} == set()


def whole_jobs() -> Iterator[tuple[str, str]]:
    """Every job that a page prints in full: page and text."""
    for page in PAGES:
        for block in re.findall(r"```toml\n(.*?)```", page.read_text("utf-8"), re.DOTALL):
            if block.startswith("format = 1") and "[[recording]]" not in block:
                yield page.relative_to(ROOT).as_posix(), block


@pytest.mark.parametrize(("page", "text"), list(whole_jobs()))
def test_a_job_that_is_printed_in_full_can_be_analysed(
    page: str, text: str, tmp_path: Path
) -> None:
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    assert main(["analyse", str(tmp_path)]) == 0, page


def test_every_toml_block_is_toml() -> None:
    for page in PAGES:
        for block in re.findall(r"```toml\n(.*?)```", page.read_text("utf-8"), re.DOTALL):
            tomllib.loads(block)
