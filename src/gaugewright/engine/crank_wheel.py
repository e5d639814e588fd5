"""What a pick-up beside a toothed wheel puts out, on the crank or on the camshaft."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from gaugewright.engine.turning import Turning
from gaugewright.physics.numbers import Floats

TABLE = 48
"""Points for each position of a wheel in the table of its shape."""
TOOTH_WIDTH = 0.24
"""Standard width of the flux over a tooth, in positions (judgement: looks like a recording)."""


@dataclass(frozen=True)
class ToothedWheel:
    """A wheel's positions counted all round, of which so many teeth are missing at the end.

    `kind`: "reluctance", a coil whose voltage grows with speed (`volts_per_krpm`, amplitude
    at a regular tooth), or "square", a sensor with its own supply that switches `high_v`;
    `duty`: share of a position at which a square one is high.  `turns_per_cycle`: 2 on the
    crank, 1 on the camshaft.  `first_tooth_deg`: of crank, where the first tooth after the gap
    passes, counted from the run's angle 0.
    """

    positions: int = 60
    missing: int = 2
    kind: Literal["reluctance", "square"] = "reluctance"
    volts_per_krpm: float = 2.5
    high_v: float = 5.0
    duty: float = 0.5
    turns_per_cycle: int = 2
    first_tooth_deg: float = 84.0


CRANK = ToothedWheel()
CAM = ToothedWheel(1, 0, "square", turns_per_cycle=1, duty=0.5, first_tooth_deg=40.0)


def shape(wheel: ToothedWheel) -> Floats:
    """The output over one turn of the wheel (positions * 48 + 1,), for an amplitude of 1."""
    at = np.arange(wheel.positions * TABLE) / TABLE
    present = np.arange(wheel.positions - wheel.missing)
    if wheel.kind == "square":
        level = (at % 1.0 < wheel.duty) & (at < len(present))
        return np.append(level, level[0]).astype(np.float64)
    apart = at[:, None] - present - 0.25
    apart -= wheel.positions * np.round(apart / wheel.positions)
    slope = np.sum(-apart * np.exp(-0.5 * (apart / TOOTH_WIDTH) ** 2), axis=1)
    regular = slope[TABLE : 2 * TABLE] if len(present) > 3 else slope
    slope /= np.max(np.abs(regular))
    return np.append(slope, slope[0])


def wheel_volts(wheel: ToothedWheel, cycles: Floats, speed_rpm: Floats) -> Floats:
    """The pick-up's output (n,) V at these angles and speeds within the cycle."""
    table = shape(wheel)
    turns = cycles * wheel.turns_per_cycle - _first_turn(wheel)
    within = (turns - np.floor(turns)) * (len(table) - 1)
    low = np.minimum(within.astype(np.int64), len(table) - 2)
    if wheel.kind == "square":
        return np.asarray(np.where(table[low] > 0.5, wheel.high_v, 0.0))
    value = table[low] + (within - low) * (table[low + 1] - table[low])
    return np.asarray(value * (1e-3 * wheel.volts_per_krpm) * speed_rpm)


def _first_turn(wheel: ToothedWheel) -> float:
    return wheel.first_tooth_deg * wheel.turns_per_cycle / 720.0


def tooth_times(wheel: ToothedWheel, turning: Turning) -> Floats:
    """The instants (k,) s at which the rising edges, or the teeth's centres, truly pass."""
    turns = turning.passed(_first_turn(wheel) / wheel.turns_per_cycle, 1.0 / wheel.turns_per_cycle)
    before = np.append(turns[:1] - 1.0 / wheel.turns_per_cycle, turns)
    middle = 0.0 if wheel.kind == "square" else 0.25
    places = (np.arange(wheel.positions - wheel.missing) + middle) / wheel.positions
    cycles = (before[:, None] + places / wheel.turns_per_cycle).ravel()
    inside = (cycles > turning.cycles[0]) & (cycles < turning.cycles[-1])
    return turning.when(cycles[inside])
