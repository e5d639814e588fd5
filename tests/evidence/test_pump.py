"""Stages of a two-stage pump, from stated switching speeds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gaugewright.evidence.level import Level, fit_level
from gaugewright.evidence.pump import comparable, stage_of


def at(low: float, high: float) -> Level:
    import numpy as np

    plain = fit_level(np.full(5, 95.0), np.arange(5.0), np.ones(5))
    return replace(plain, speed_rpm=(low + high) / 2, support_rpm=(low, high))


# One published two-stage pump goes up above 2200 rpm and back below 2100 (a service page).
SWITCHES = (2100.0, 2200.0)


@pytest.mark.parametrize(
    ("low", "high", "stage"),
    [
        (800, 850, "low"),
        (2050, 2099, "low"),
        (2201, 2400, "high"),
        (2050, 2150, "between"),
        (2120, 2180, "between"),
        (1900, 2500, "between"),
    ],
)
def test_stage(low: float, high: float, stage: str) -> None:
    assert stage_of(at(low, high), SWITCHES) == stage
    assert stage_of(at(low, high), SWITCHES[::-1]) == stage


def test_a_plain_pump_has_no_stages() -> None:
    assert stage_of(at(800, 850), None) is None
    assert comparable(at(800, 850), at(3000, 3100), None)


def test_only_one_stage_is_comparable() -> None:
    assert comparable(at(800, 850), at(900, 990), SWITCHES)
    assert not comparable(at(800, 850), at(2300, 2400), SWITCHES)
