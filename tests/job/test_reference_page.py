"""The reference page tells every key, word and quantity of the format."""

import re
from pathlib import Path

import pytest
from job_sample import read

from gaugewright.job import bundle
from gaugewright.job.model import Job
from gaugewright.job.rewriting import REPEATED, TABLES, keys_of
from gaugewright.job.words import ACTIONS, SEEN
from gaugewright.quantities.catalogue import QUANTITIES

PAGE = (Path(__file__).parents[2] / "docs/reference/job-format.md").read_text(encoding="utf-8")
HEADINGS = {"text": "[recording.text]", "signal": "[[recording.signal]]"}
HEADINGS["condition"] = "[[recording.condition]]"


def section(table):
    """The part of the page below the heading of a table."""
    heading = HEADINGS.get(table, f"[[{table}]]" if table in REPEATED else f"[{table}]")
    found = re.search(rf"^##+ `{re.escape(heading)}`\n(.*?)(?=^##+ |\Z)", PAGE, re.M | re.S)
    assert found, heading
    return found.group(1)


@pytest.mark.parametrize(
    ("table", "key"),
    [
        (name, key)
        for name, part in TABLES.items()
        for key in keys_of(part)
        if name != "hose" and key not in ("signal", "condition", "text")
    ]
    + [("complaint", "text"), ("work", "text"), ("reading", "condition")],
)
def test_every_key_is_told_in_its_section(table, key):
    assert re.search(rf"^\|[^|]*`{key}`", section(table), re.M)


def test_every_key_in_a_section_is_a_key():
    for name, part in TABLES.items():
        if name == "hose":
            continue
        rows = re.findall(r"^\| ((?:`[a-z_]+`(?:, )?)+) \|", section(name), re.M)
        told = {key for row in rows for key in re.findall(r"`([a-z_]+)`", row)}
        words = set(SEEN) if name == "observation" else set()
        assert told - words <= set(keys_of(part)), name


def test_the_hose_and_the_top():
    for key in keys_of(TABLES["hose"]):
        assert f"`{key}`" in section("signal")
    for key in keys_of(Job):
        assert f"`{key}`" in PAGE or f"`[[{key}]]`" in PAGE or f"`[{key}]`" in PAGE


def test_every_choice_is_told():
    """Each word a key may take stands in its table's section."""
    from typing import Literal, get_args, get_origin

    def words(annotation):
        if get_origin(annotation) is Literal:
            return set(get_args(annotation))
        return {word for inner in get_args(annotation) for word in words(inner)}

    for name, part in TABLES.items():
        text = section("signal" if name == "hose" else name)
        for field in part.model_fields.values():
            for word in words(field.annotation):
                assert f'"{word}"' in text, (name, word)


def test_observations_actions_and_quantities():
    for what, saw in SEEN.items():
        words = ", ".join(f"`{word}`" for word in saw)
        assert f"| `{what}` | {words} |" in PAGE
    assert all(f"`{action}`" in section("condition") for action in ACTIONS)
    for kind in QUANTITIES.values():
        row = f"| `{kind.name}` | {kind.word} | {kind.dimension} | {kind.findings_unit} |"
        assert row in PAGE


def test_the_limits_of_a_bundle():
    assert f"{bundle.MOST_ENTRIES} entries" in PAGE
    assert f"{bundle.MOST_BYTES // 1024**3} GiB" in PAGE
    assert f"{bundle.RATIO_FROM // 1024**2} MiB and more than {bundle.MOST_RATIO} times" in PAGE


def test_the_smallest_job_of_the_page_is_read():
    examples = re.findall(r"```toml\n(.*?)```", PAGE, re.S)
    assert len(examples) == 1
    assert read(examples[0]).readings[0].value.si == pytest.approx(110e3)
