"""Where a signal crosses its levels: edges with hysteresis, and crossing times between samples.

Read in chunks small enough to stay in the processor's cache, so that the full array is read
from memory once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.rotation.levels import Levels

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

CHUNK = 1 << 15


@dataclass(frozen=True)
class Edges:
    """Crossings: `index` (m,) the first sample beyond the level, `time_s` (m,) the instant."""

    index: Ints
    time_s: Floats


def crossings(time_s: Floats, values: Floats, levels: Levels) -> Edges:
    """When does the signal leave rest through its upper level, having been below its lower one?

    Parameters: `time_s`, `values` (n,); `levels` from `levels.levels_of`.  A missing sample
    crosses nothing.
    Returns: `Edges`, the times interpolated linearly between the two samples around each.
    """
    begins, ends = _scan(values, levels)
    rest = levels.rest_of(np.zeros(1, dtype=np.int64))[0]
    low_at_start = len(values) > 0 and bool(levels.sign * (values[0] - rest) < levels.lower)
    index = armed(begins, ends, low_at_start)
    level = levels.rest_of(index) + levels.sign * levels.upper
    return Edges(index, crossing_times(time_s, values, index, level))


def _scan(values: Floats, levels: Levels) -> tuple[Ints, Ints]:
    """The samples that come first beyond the upper level and first back below the lower one."""
    begins, ends = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    beyond, back = np.empty(CHUNK, dtype=bool), np.empty(CHUNK, dtype=bool)
    outward, inward = (np.greater, np.less) if levels.sign > 0 else (np.less, np.greater)
    for start in range(0, len(values) - 1, CHUNK - 1):
        part = values[start : start + CHUNK]
        rest = levels.rest_near(start, len(part))
        out, home = beyond[: len(part)], back[: len(part)]
        outward(part, rest + levels.sign * levels.upper, out=out)
        inward(part, rest + levels.sign * levels.lower, out=home)
        begins.append(first_of(out) + start)
        ends.append(first_of(home) + start)
    return np.concatenate(begins), np.concatenate(ends)


def first_of(states: Bools) -> Ints:
    """The positions at which a state begins (never 0: what went before is not known)."""
    return np.flatnonzero(states[1:] > states[:-1]) + 1


def armed(begins: Ints, ends: Ints, low_at_start: bool) -> Ints:
    """Those beginnings before which the signal had come to rest since the one before."""
    if not len(begins):
        return begins
    rests = np.searchsorted(ends, begins, side="right") + int(low_at_start)
    return begins[np.diff(rests, prepend=0) > 0]


def crossing_times(time_s: Floats, values: Floats, index: Ints, level: Floats) -> Floats:
    """The instants at which the line between samples index - 1 and index meets the level."""
    before, after = values[index - 1], values[index]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (level - before) / (after - before)
    share = np.clip(np.where(np.isfinite(share), share, 1.0), 0.0, 1.0)
    return time_s[index - 1] + share * (time_s[index] - time_s[index - 1])
