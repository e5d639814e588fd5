"""The health of a column: missing samples, drop-outs, interference, stops."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.recording.types import Column
from gaugewright.sensing.dropouts import drop_outs
from gaugewright.sensing.interference import interference
from gaugewright.sensing.stops import stops

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

NEAR_END = 1e-3
STANDING_SHARE = 0.8
LEAST = 3
"""Fewer samples than this show no health."""


@dataclass(frozen=True)
class Health:
    """Marks per sample (None where there are none) and how many of each kind there are."""

    bad: Bools | None
    at_low: Bools | None
    at_high: Bools | None
    spikes: int
    dropped: int
    missing: int


def health_of(column: Column, supply: float | None = None) -> Health:
    """What in this column is not the quantity it should show?

    Parameters: the column as recorded (stops are a matter of the output, before any
    calibration or supply correction); `supply` in the column's unit, where one is known.
    Returns: its `Health`; interference and drop-outs are `bad`, stops are marked apart.
    """
    values, absent = _filled(column.values)
    if values is None or len(values) < LEAST:
        return Health(None, None, None, 0, 0, 0 if absent is None else int(absent.sum()))
    dropped = drop_outs(values, column.interval_s, column.step, supply)
    if dropped is not None:
        values = _bridged(values, dropped)
    spikes = interference(values, column.interval_s, column.step)
    bad = _either(dropped, spikes)
    low, high = stops(values, _either(bad, absent), column.interval_s, column.step)
    counts = tuple(0 if m is None else int(np.count_nonzero(m)) for m in (spikes, dropped, absent))
    return Health(bad, low, high, *counts)


def with_standing(
    health: Health,
    values: Floats,
    ends: tuple[float, float] | None,
    factor: float,
    slack: float,
) -> Health:
    """The health of a signal that mostly stands still, on an end of its range.

    On it means beyond it, or less than `slack` or a thousandth of the range short of it.  Such a
    signal shows no noise by which a stop could be told; only its range can.  Most of its
    samples have one value; a few may be interference.

    Parameters: `values`, `ends` and `slack` in house units, the slack being what quantisation and
    calibration leave open; `factor` house units per raw unit, below
    zero where the output falls as the quantity rises.
    """
    known = values[np.isfinite(values)]
    if ends is None or not len(known):
        return health
    low, high = ends
    usual = float(np.median(known))
    margin = max(NEAR_END * (high - low), slack)
    still = np.abs(values - usual) <= 1e-9 * (high - low)
    if low + margin < usual < high - margin or still.sum() < STANDING_SHARE * len(known):
        return health
    at_low_end = (usual <= low + margin) == (factor > 0)
    if at_low_end:
        return replace(health, at_low=_both(health.at_low, still))
    return replace(health, at_high=_both(health.at_high, still))


def _both(first: Bools | None, second: Bools) -> Bools:
    return second if first is None else first | second


def _filled(values: Floats) -> tuple[Floats | None, Bools | None]:
    """The values with missing ones bridged, and which were missing; None: all of them."""
    if np.isfinite(values.sum()):
        return values, None
    absent = ~np.isfinite(values)
    return (None if absent.all() else _bridged(values, absent)), absent


def _bridged(values: Floats, holes: Bools) -> Floats:
    known = np.flatnonzero(~holes)
    if not len(known):
        return values
    bridged = values.copy()
    at = np.flatnonzero(holes)
    bridged[at] = np.interp(at, known, values[known])
    return bridged


def _either(first: Bools | None, second: Bools | None) -> Bools | None:
    return first if second is None else _both(first, second)
