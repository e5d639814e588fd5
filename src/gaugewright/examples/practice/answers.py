"""The true readings of a practice job, and what a sound engine would have shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from gaugewright.engine.held import Held
from gaugewright.engine.steady import Solved, solve
from gaugewright.examples.practice.levels import Level
from gaugewright.examples.practice.recordings import Lived
from gaugewright.examples.practice.scenario import Scenario
from gaugewright.examples.practice.timeline import Session, Stretch
from gaugewright.examples.practice.truth import TrueReading

TRIM = "fuel-trim"
"""Both trims together: what has to be added to, or taken from, the fuel of the map."""
ENGINES_DIFFER = 0.09
"""By how much oil pressure differs among sound engines of one kind, as a share (judgement)."""
CRANKCASES_DIFFER_PA = 400.0
TRIMS_DIFFER = 0.025
SPEEDS_DIFFER_RPM = 20.0
OIL_RANGE_PA = 10e5


def true_readings(scenario: Scenario, lived: Sequence[Lived]) -> tuple[TrueReading, ...]:
    """Every pressure, trim and idle speed in each condition that has a level.

    Parameters: what the engine did in each session.
    """
    return tuple(
        reading
        for session, what in zip(scenario.sessions, lived, strict=True)
        for reading in _of_session(scenario, session, what)
    )


def _of_session(scenario: Scenario, session: Session, lived: Lived) -> list[TrueReading]:
    holds = [_held(one, lived) for one in session.steady]
    faulty = solve(scenario.build, scenario.faulty, holds)
    sound = solve(scenario.build, scenario.sound, holds)
    return [
        reading
        for place, one in enumerate(session.steady)
        for reading in _of_stretch(scenario, lived, one, place, faulty, sound)
    ]


def _held(one: Stretch, lived: Lived) -> Held:
    """How it was truly held: as warm as it was, and where a foot held it, at the speed it did."""
    held = one.held(_mean(one, lived, "oil_degc"))
    if one.speed_rpm is None:
        return held
    return replace(held, speed_rpm=_mean(one, lived, "speed_rpm"))


def _mean(one: Stretch, lived: Lived, lane: str) -> float:
    return float(lived.between(lane, one.marked_s, one.to_s).mean())


def _of_stretch(
    scenario: Scenario, lived: Lived, one: Stretch, place: int, faulty: Solved, sound: Solved
) -> list[TrueReading]:
    level, build = scenario.level, scenario.build

    def mean(lane: str) -> float:
        return _mean(one, lived, lane)

    def told(
        quantity: str, reference: str | None, true: float, field: str, spread: float
    ) -> TrueReading:
        unit, factor = UNITS[quantity]
        return TrueReading(
            condition=one.name,
            quantity=quantity,
            reference=reference,
            unit=unit,
            true=_kept(factor * true),
            steady=_known(getattr(faulty, field)[place, 0], factor),
            sound=_known(getattr(sound, field)[place, 0], factor),
            spread=_kept(factor * spread),
        )

    case_over = mean("crankcase_pa") - mean("barometer_pa")
    oil = _oil_spread(level, float(np.nan_to_num(sound.gauge_pa[place, 0])))
    made = [
        told("oil-pressure", "atmosphere", mean("oil_gauge_pa"), "gauge_pa", oil),
        told("oil-pressure", "crankcase", mean("oil_over_crankcase_pa"), "gallery_pa", oil),
        told(
            "crankcase-pressure",
            "atmosphere",
            case_over,
            "crankcase_over_pa",
            float(np.hypot(CRANKCASES_DIFFER_PA, level.crankcase_pa)),
        ),
    ]
    if build.metering != "none":
        both = mean("trim_short") + mean("trim_long")
        made.append(told(TRIM, None, both, "trim", TRIMS_DIFFER))
    if one.speed_rpm is None:
        made.append(told("engine-speed", None, mean("speed_rpm"), "speed_rpm", SPEEDS_DIFFER_RPM))
    return made


UNITS = {
    "oil-pressure": ("kPa", 1e-3),
    "crankcase-pressure": ("kPa", 1e-3),
    TRIM: ("%", 100.0),
    "engine-speed": ("rpm", 1.0),
}


def _oil_spread(level: Level, sound_pa: float) -> float:
    return float(np.hypot(ENGINES_DIFFER * sound_pa, level.accuracy * OIL_RANGE_PA))


def _known(value: float, factor: float) -> float | None:
    return _kept(factor * float(value)) if np.isfinite(value) else None


def _kept(value: float) -> float:
    """To a thousandth: what is told of a truth, not what is computed on."""
    return round(value, 3)
