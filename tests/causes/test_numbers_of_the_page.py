"""The page on the causes tells the numbers that the code has."""

from __future__ import annotations

from pathlib import Path

import pytest

from gaugewright.causes import glance, judging, lamp, leaks, next_test, noise, stated, way
from gaugewright.physics.gas_flow import SHARP_EDGE

PAGE = Path(__file__).parents[2] / "docs/explanation/which-cause.md"
SHARE, FLOOR_PA = noise.SHARE["oil-pressure"], noise.FLOOR["oil-pressure"]


@pytest.mark.parametrize(
    "said",
    [
        f"P(y | H)^{glance.MODEST}",
        f"**The power {glance.MODEST}**",
        f"{100 * SHARE:.0f} % and {FLOOR_PA / 1e3:.0f} kPa for oil pressure",
        f"*likely* ({100 * judging.LIKELY:.0f} % and more)",
        f"*possible* ({100 * judging.POSSIBLE:.0f} %)",
        f"*not excluded* ({100 * judging.NOT_EXCLUDED:.0f} %)",
        f"about {stated.USUAL_MARGIN} times above its maker's least",
        f"parts told as minutes, + {way.OVERHEAD_MIN:.0f} min)",
        f"+ {next_test.LATER} · Σ P(outcome) · left(after outcome)",
        f"at about {100 * lamp.WATCHED_SHARE:.0f} % of the maker's least pressure at idle",
        f"stands at {100 * way.SETTLED:.0f} % or more",
        f"discharge coefficient {SHARP_EDGE}",
        f"{100 * leaks.MODEL_SHARE:.0f} % are added for the model's form",
    ],
)
def test_the_page_tells_it(said: str) -> None:
    assert said in " ".join(PAGE.read_text(encoding="utf-8").split())


def test_no_way_is_longer_than_four_hours() -> None:
    assert way.GIVEN_UP_MIN == 4 * 60.0
    assert "four hours at most" in " ".join(PAGE.read_text("utf-8").split())


def test_a_wrong_call_costs_two_hours() -> None:
    assert next_test.WRONG_CALL_MIN == 120.0
    assert "two hours of work for nothing" in " ".join(PAGE.read_text("utf-8").split())
