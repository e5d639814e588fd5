"""The page of causes tells every fault, as the engine has it now."""

from __future__ import annotations

import importlib.util
import re
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.parameters import PARTS, value
from gaugewright.engine.sound import sound
from gaugewright.report import words

REFERENCE = Path(__file__).parents[2] / "docs/reference"
PAGE = (REFERENCE / "causes.md").read_text(encoding="utf-8")


def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("causes_page", REFERENCE / "causes.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def sections() -> dict[str, str]:
    """Each cause's part of the page, by its name in the job format."""
    parts = re.split(r"^## .+\n\n`([a-z-]+)`$", PAGE, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def test_every_fault_is_on_the_page_and_nothing_else() -> None:
    assert set(sections()) == set(FAULTS)
    assert set(FAULTS) == set(words.CAUSE) - {"none-of-these"}


def test_the_page_is_fresh() -> None:
    """If not: python docs/reference/causes.py."""
    assert maker().page() == PAGE


@pytest.mark.parametrize("cause", sorted(FAULTS))
def test_the_page_names_every_number_that_a_fault_changes(cause: str) -> None:
    """Found from the engine itself, sound against gross."""
    build = Build() if FAULTS[cause].suits(Build()) else replace(Build(), oil_pump="two-stage")
    whole = sound(build)
    faulty = FAULTS[cause].applied(build, whole, 1.0)
    names = [f"{part}.{name}" for part, known in PARTS.items() for name in known]
    moved = {name for name in names if not np.array_equal(value(whole, name), value(faulty, name))}
    [line] = re.findall(r"^Changes (.+)\.$", sections()[cause], flags=re.MULTILINE) or [""]
    assert set(re.findall(r"`([a-z0-9_.]+)`", line)) == moved


@pytest.mark.parametrize("cause", sorted(FAULTS))
def test_every_cause_has_its_picture(cause: str) -> None:
    assert f"../pictures/signature-{cause}.png" in sections()[cause]
    assert (REFERENCE.parent / f"pictures/signature-{cause}.png").exists()
