"""Lanes as a page draws them: any window of a recording as bins, sent in binary."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.recording.overview import bins
from gaugewright.store.overview import Overview, build

Floats = npt.NDArray[np.float64]
Floats32 = npt.NDArray[np.float32]

MOST_COLUMNS = 16384
"""Columns of one answer; more than any screen has."""
UNEVEN = 0.01
"""Samples further from an even beat than this share of an interval are no even beat."""
HEAD = struct.Struct("<ddII")
"""Before the values: begin, finish (s), columns, lanes; little-endian."""


@dataclass(frozen=True)
class Beat:
    """Samples at an even beat: the first one's instant and the interval, seconds."""

    start_s: float
    interval_s: float

    def place(self, time_s: float) -> float:
        """The instant as a place among the samples, fractions allowed."""
        return (time_s - self.start_s) / self.interval_s


@dataclass(frozen=True)
class Drawn:
    """One lane ready to be drawn, in the unit it is shown in: shown = factor * value + offset.

    Samples at an even beat have their `overview`; others (cycles, a slow column) their instants
    `time_s` (n,) and `values` (n,).  `shift_s` takes the lane's own clock to the page's.
    """

    factor: float
    offset: float
    shift_s: float
    beat: Beat | None
    overview: Overview | None
    time_s: Floats
    values: Floats

    def window(self, begin_s: float, finish_s: float, columns: int) -> Floats32:
        """Least, greatest and mean value of each column, (columns, 3), NaN where there is none."""
        begin, finish = begin_s - self.shift_s, finish_s - self.shift_s
        if self.beat is not None and self.overview is not None:
            rows = self.overview.window(self.beat.place(begin), self.beat.place(finish), columns)
        else:
            _, low, mean, high = bins(self.time_s, self.values, begin, finish, columns)
            rows = np.column_stack([low, high, mean]).astype(np.float32)
        shown = np.float32(self.factor) * rows + np.float32(self.offset)
        return shown if self.factor >= 0 else shown[:, [1, 0, 2]]

    @property
    def range(self) -> tuple[float, float]:
        """Least and greatest value of the whole lane as shown; (0, 1) for an empty one."""
        seen = self.overview.table if self.overview is not None else self.values
        if not np.isfinite(seen).any():
            return 0.0, 1.0
        low, high = self._ends()
        ends = sorted((self.factor * low + self.offset, self.factor * high + self.offset))
        return ends[0], ends[1]

    def _ends(self) -> tuple[float, float]:
        if self.overview is None or not self.overview.table.shape[1]:
            return float(np.nanmin(self.values)), float(np.nanmax(self.values))
        table = self.overview.table
        return float(np.nanmin(table[0])), float(np.nanmax(table[1]))


def drawn(
    time_s: Floats, values: Floats, factor: float, offset: float = 0.0, shift_s: float = 0.0
) -> Drawn:
    """A lane to be drawn from samples at these instants, (n,) both, the instants rising."""
    beat = beat_of(time_s)
    overview = None if beat is None else build(values)
    return Drawn(factor, offset, shift_s, beat, overview, time_s, values)


def beat_of(time_s: Floats) -> Beat | None:
    """The even beat of these instants, None where they have none."""
    if len(time_s) < 3:
        return None
    interval = float(time_s[-1] - time_s[0]) / (len(time_s) - 1)
    expected = time_s[0] + interval * np.arange(len(time_s))
    if interval <= 0.0 or np.max(np.abs(time_s - expected)) > UNEVEN * interval:
        return None
    return Beat(float(time_s[0]), interval)


def answer(lanes: Sequence[Drawn], begin_s: float, finish_s: float, columns: int) -> bytes:
    """The window of all lanes in binary: the head, then float32 (lanes, columns, 3).

    Raises ValueError when the end does not lie after the begin or there is no column.
    """
    if not finish_s > begin_s or not 1 <= columns <= MOST_COLUMNS:
        raise ValueError("a window needs an end after its begin, and columns")
    head = HEAD.pack(begin_s, finish_s, columns, len(lanes))
    rows = [lane.window(begin_s, finish_s, columns) for lane in lanes]
    return head + b"".join(np.ascontiguousarray(part, "<f4").tobytes() for part in rows)
