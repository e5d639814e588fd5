"""Lanes as a page draws them: any window of a recording as bins, sent in binary."""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugewright.store.lane import StoredLane
from gaugewright.store.overview import Floats32

MOST_COLUMNS = 16384
"""Columns of one answer; more than any screen has."""
HEAD = struct.Struct("<ddII")
"""Before the values: begin, finish (s), columns, lanes; little-endian."""


@dataclass(frozen=True)
class Drawn:
    """One lane ready to be drawn, in the unit it is shown in: shown = factor * value + offset.

    `shift_s` takes the lane's own clock to the page's.
    """

    lane: StoredLane
    factor: float = 1.0
    offset: float = 0.0
    shift_s: float = 0.0

    def window(self, begin_s: float, finish_s: float, columns: int) -> Floats32:
        """Least, greatest and mean value of each column, (columns, 3), NaN where there is none.

        Raises ValueError when the end does not lie after the begin or there is no column.
        """
        rows = self.lane.window(begin_s - self.shift_s, finish_s - self.shift_s, columns)
        shown = np.float32(self.factor) * rows + np.float32(self.offset)
        return shown if self.factor >= 0 else shown[:, [1, 0, 2]]

    @property
    def range(self) -> tuple[float, float]:
        """Least and greatest value of the whole lane as shown; (0, 1) for an empty one."""
        ends = sorted(self.factor * end + self.offset for end in self.lane.extremes())
        if not all(math.isfinite(end) for end in ends):
            return 0.0, 1.0
        return ends[0], ends[1]

    @property
    def interval_s(self) -> float:
        """The mean distance of two samples."""
        return (self.lane.end_s - self.lane.begin_s) / max(self.lane.count - 1, 1)


def answer(lanes: Sequence[Drawn], begin_s: float, finish_s: float, columns: int) -> bytes:
    """The window of all lanes in binary: the head, then float32 (lanes, columns, 3).

    Raises ValueError when the end does not lie after the begin or there is no column.
    """
    if not finish_s > begin_s or not 1 <= columns <= MOST_COLUMNS:
        raise ValueError("a window needs an end after its begin, and columns")
    head = HEAD.pack(begin_s, finish_s, columns, len(lanes))
    rows = [lane.window(begin_s, finish_s, columns) for lane in lanes]
    return head + b"".join(np.ascontiguousarray(part, "<f4").tobytes() for part in rows)
