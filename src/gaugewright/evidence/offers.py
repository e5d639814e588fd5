"""Stretches that look held, offered where a recording has no condition marked.

An offer is no reading: the technician knows what was done to the engine, the recording does
not.  Steps of speed or pressure part the recording; what lies between two steps and lasts is
offered.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.cycles import CycleTable, Sensed, cycle_table
from gaugewright.quantities.catalogue import PRESSURES

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

LEAST_S = 5.0
"""A stretch shorter than this is not offered (J)."""
SIDE_S = 1.5
"""Medians over this long before and after an instant are compared."""
STEP = 6.0
"""A step is this many times the usual difference of such medians ..."""
LEAST_STEP = 0.03
"""... and at least this share of the signal's middle value (J)."""


def offered(recording: Sensed) -> list[tuple[float, float]]:
    """Which stretches of this recording look as if the engine was held one way?

    Returns (from, to) in seconds on the file's own clock, none for a recording without cycles.
    """
    table = recording.table or cycle_table(recording)
    time = table.middle_s
    if len(time) < 8:
        return []
    cycle = float(np.median(np.diff(time)))
    side = max(3, round(SIDE_S / cycle))
    steps = np.zeros(len(time), dtype=bool)
    for values in _telling(recording, table):
        steps |= _steps(values, side)
    steps[1:] |= np.diff(time) > 4 * cycle
    return [
        (float(table.start_s[first]), float(table.end_s[last - 1]))
        for first, last in _runs(~steps)
        if table.end_s[last - 1] - table.start_s[first] >= LEAST_S
    ]


def _telling(recording: Sensed, table: CycleTable) -> list[Floats]:
    """Cycle means that show a change of how the engine is held."""
    means = [table.means[s.label] for s in recording.signals if s.quantity in PRESSURES]
    speeds = [] if table.speed_rpm is None else [table.speed_rpm]
    return [values for values in (*speeds, *means) if np.isfinite(values).all()]


def _steps(values: Floats, side: int) -> Bools:
    """Where the medians before and after differ by more than they usually do."""
    count = len(values)
    steps = np.zeros(count, dtype=bool)
    if count < 2 * side + 1:
        return steps
    windows = np.lib.stride_tricks.sliding_window_view(values, side)
    medians = np.median(windows, axis=1)
    change = np.abs(medians[side:] - medians[:-side])
    usual = float(np.median(change))
    least = LEAST_STEP * abs(float(np.median(values)))
    steps[side : side + len(change)] = change > max(STEP * usual, least)
    return steps


def _runs(held: Bools) -> list[tuple[int, int]]:
    """First and one past the last of every run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], held.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
