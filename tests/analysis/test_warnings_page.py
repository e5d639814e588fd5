"""Every warning code and flag that the code can emit stands on its page, and nothing else does."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path

from small import AS_FOUND, CAP_OFF, Held, findings_of, usual

import gaugewright
from gaugewright.job.schema import SHIPPED as JOB_SCHEMA

SOURCE = Path(gaugewright.__file__).parent
PAGE = Path(__file__).parents[2] / "docs/reference/warnings.md"
ROOMS = ("recording", "sensing", "rotation", "evidence", "analysis")
MAKERS = {"Note", "Caveat"}
ENCODINGS = {"utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf8-lossy", "latin-1"}
KEBAB = re.compile(r"[a-z]+(-[a-z0-9]+)+")


def vocabulary(part: object) -> Iterator[str]:
    """Every word that the job format itself knows: quantities, actions, kinds."""
    if isinstance(part, dict):
        yield from (str(word) for word in part.get("enum", []))
        if "const" in part:
            yield str(part["const"])
        for inner in part.values():
            yield from vocabulary(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from vocabulary(inner)


def made(tree: ast.Module) -> set[str]:
    """Codes that a note or a caveat in this tree is made with."""
    return {
        node.args[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in MAKERS
        and node.args
        and isinstance(node.args[0], ast.Constant)
    }


def codes(tree: ast.Module, known: set[str]) -> set[str]:
    """Codes in this tree: what a note or caveat is made with, and words joined by hyphens."""
    prose = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    prose |= {id(v) for n in ast.walk(tree) if isinstance(n, ast.JoinedStr) for v in n.values}
    words = {
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and id(node) not in prose
        and KEBAB.fullmatch(node.value)
    }
    appended = {
        node.args[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and ast.unparse(node.func) == "flags.append"
        and isinstance(node.args[0], ast.Constant)
    }
    counted = {
        node.elts[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Tuple)
        and len(node.elts) == 3
        and isinstance(node.elts[0], ast.Constant)
        and isinstance(node.elts[0].value, str)
        and re.fullmatch(r"[a-z-]{4,}", node.elts[0].value)
        and isinstance(node.elts[2], ast.Attribute | ast.Name | ast.Call | ast.JoinedStr)
    }
    return (words | made(tree) | appended | counted) - known


def emitted() -> set[str]:
    known = set(vocabulary(json.loads(JOB_SCHEMA.read_text(encoding="utf-8")))) | ENCODINGS
    found: set[str] = set()
    for room in ROOMS:
        for path in sorted((SOURCE / room).glob("*.py")):
            found |= codes(ast.parse(path.read_text(encoding="utf-8")), known)
    for room in ("causes", "store"):  # their other words are names of causes, and their own
        for path in sorted((SOURCE / room).glob("*.py")):
            found |= made(ast.parse(path.read_text(encoding="utf-8")))
    return found


def documented() -> list[str]:
    return re.findall(r"^\| `([a-z-]+)` \|", PAGE.read_text(encoding="utf-8"), re.MULTILINE)


def test_every_code_is_documented() -> None:
    assert sorted(emitted() - set(documented())) == []


def test_every_documented_code_can_still_be_emitted() -> None:
    assert sorted(set(documented()) - emitted()) == []


def test_every_code_is_documented_once_and_in_full() -> None:
    assert len(documented()) == len(set(documented()))
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        if line.startswith("| `"):
            assert all(len(cell.strip()) > 5 for cell in line.split("|")[2:4]), line


def test_a_new_code_would_be_found() -> None:
    tree = ast.parse('Note("gone", text)\nflags.append("odd")\nx = ["two-words"]\n"a-docstring"\n')
    assert codes(tree, set()) == {"gone", "odd", "two-words"}
    assert codes(tree, {"two-words"}) == {"gone", "odd"}


def test_what_findings_hold_is_documented(tmp_path: Path) -> None:
    found = findings_of(usual(tmp_path, AS_FOUND, Held("short", 90.0, length_s=0.9), CAP_OFF))
    said = {warning.code for warning in found.warnings}
    for items in (found.readings, found.matches, found.reference_checks, found.limit_checks):
        said |= {flag for item in items for flag in item.flags}
    assert {"oil-temperature-unknown", "few-cycles"} <= said
    assert said <= set(documented())
