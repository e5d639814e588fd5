"""What was read by hand: dial gauge and water column, with their own errors."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from gaugewright.examples.practice.levels import Level
from gaugewright.examples.practice.recordings import Lived
from gaugewright.examples.practice.timeline import Session, Stretch

PSI_PA = 6894.757
INCH_WATER_PA = 249.0889
"""The conventional inch of water (NIST SP 811)."""
DIAL_PSI, COLUMN_INCHES = 0.7, 0.1
"""Standard errors of the two hand instruments."""
MOST_COLUMN_INCHES = 60.0


def readings(
    level: Level,
    lived: Lived,
    session: Session,
    column_too: bool,
    rng: np.random.Generator,
) -> list[dict[str, Any]]:
    """The hand readings as tables of job.toml.

    Parameters: `column_too`: whether the crankcase was read from a water column.
    """
    running = session.steady
    dial = DIAL_PSI * rng.normal()
    column = COLUMN_INCHES * rng.normal()
    made = [] if level.number == 3 else [_oil(lived, running[0], dial, rng)]
    if column_too:
        read = [_crankcase(lived, one, column, rng) for one in running[:2]]
        made += [one for one in read if one is not None]
    return made


def _oil(lived: Lived, one: Stretch, off: float, rng: np.random.Generator) -> dict[str, Any]:
    true = lived.between("oil_gauge_pa", one.marked_s, one.to_s).mean() / PSI_PA
    return {
        "quantity": "oil-pressure",
        "value": f"{_read(true + off + 0.25 * rng.normal(), 0.5):g} psi",
        "uncertainty": "0.3 psi",
        "instrument": "dial gauge",
        "condition": one.name,
    }


def _crankcase(
    lived: Lived, one: Stretch, off: float, rng: np.random.Generator
) -> dict[str, Any] | None:
    """A reading; none where the column would be blown out or drawn in."""
    over = lived.between("crankcase_pa", one.marked_s, one.to_s)
    true = float(np.mean(over - lived.lanes["barometer_pa"][0])) / INCH_WATER_PA
    if abs(true) > MOST_COLUMN_INCHES:
        return None
    return {
        "quantity": "crankcase-pressure",
        "value": f"{_read(true + off + 0.1 * rng.normal(), 0.2):g} inH2O",
        "uncertainty": "0.12 inH2O",
        "instrument": "water column",
        "condition": one.name,
    }


def _read(value: float, step: float) -> float:
    """A value as read off a scale to this step."""
    return round(math.floor(value / step + 0.5) * step, 6) + 0.0
