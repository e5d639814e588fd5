"""The page on causes prints what is kept of the proof, and what the job format cannot part."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from validation.causes.run import EACH
from validation.causes.score import PARTS

EXPLANATION = Path(__file__).parents[2] / "docs/explanation"


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("which_cause", EXPLANATION / "which_cause.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def row(cause: str, top: str, rivals: list[str]) -> dict[str, Any]:
    scores = {"log_share": -1.0, "log_whole": -1.0, "brier": 0.5, "in_set": True, "set_size": 3}
    return {
        "number": 0, "truth": [cause], "severity": [0.5], "link": "single", "outside": None,
        "holds": 5, "full": True, "rivals": rivals, "discriminable": not rivals, "seconds": 2.0,
        "readings": 20, "answered": True, "top": top, "causes": {top: 0.6}, "prior": scores,
        **scores,
    }  # fmt: skip


def test_the_page_stands_as_its_maker_writes_it(maker: ModuleType) -> None:
    assert maker.PAGE.read_text(encoding="utf-8") == maker.page()


def test_every_cause_that_cannot_be_parted_is_told_with_its_rivals(maker: ModuleType) -> None:
    text = maker.apart()
    for name, stated in PARTS["cause"].items():
        rivals = stated.get("not_from", [])
        assert (f"\n| `{name}` |" in text) == bool(rivals)
        assert all(f"`{rival}`" in text for rival in rivals)


def test_what_led_and_what_was_asked_are_told(maker: ModuleType) -> None:
    rows = {
        "worn-pump": [row("worn-pump", top, ["oil-thin"]) for top in ("worn-pump", "oil-thin")],
        "oil-thin": [row("oil-thin", "oil-thin", [])],
    }
    text = maker.confusion(rows)
    assert text.startswith("3 jobs. ")
    assert "the true cause or one of its rivals leads in 100 %" in text
    [line] = [line for line in text.splitlines() if "worn-pump | 2 |" in line]
    assert sorted(cell.strip(" *") for cell in line.split("|")[3:] if "50" in cell) == ["50", "50"]
    assert "| top cause, discriminable jobs | at least 0.9 | 1.0 | reached |" in text
    assert len(EACH) > 20


def test_without_rows_the_page_says_so(maker: ModuleType) -> None:
    assert maker.confusion({}) == maker.NOTHING


def test_a_page_without_its_place_is_refused(maker: ModuleType) -> None:
    with pytest.raises(ValueError, match="no place for apart"):
        maker.filled("nothing here", {"apart": "x"})
