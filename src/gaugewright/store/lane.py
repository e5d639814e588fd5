"""What a stored recording hands out: lanes that can be drawn at any zoom, in house units."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from gaugewright.recording.types import Floats
from gaugewright.store.overview import Floats32, Overview


@dataclass(frozen=True)
class Clock:
    """The instants of a lane's samples, without holding them where they are even."""

    count: int
    rate: float | None = None
    time_s: Floats | None = None

    def place(self, time_s: float) -> float:
        """The place of an instant in samples from the first; beyond the ends by the rate."""
        if self.rate is not None:
            return time_s * self.rate
        assert self.time_s is not None
        return float(np.interp(time_s, self.time_s, self._rows))

    @cached_property
    def _rows(self) -> Floats:
        return np.arange(self.count, dtype=np.float64)

    def at(self, first: int, last: int) -> Floats:
        """The instants of some samples."""
        if self.rate is not None:
            return np.asarray(np.arange(first, last) / self.rate, dtype=np.float64)
        assert self.time_s is not None
        return np.asarray(self.time_s[first:last])

    @property
    def ends(self) -> tuple[float, float]:
        """The first and the last instant."""
        first, last = self.at(0, 1), self.at(self.count - 1, self.count)
        return float(first[0]), float(last[0])

    def columns(self, begin_s: float, end_s: float, columns: int) -> Floats:
        """Where the edges of columns of equal time fall, in samples."""
        edges = np.linspace(begin_s, end_s, columns + 1)
        if self.rate is not None:
            return edges * self.rate
        assert self.time_s is not None
        return np.searchsorted(self.time_s, edges).astype(np.float64)


@dataclass(frozen=True)
class StoredLane:
    """One signal of a stored recording.

    `label` is "recording/column" as in the findings; `unit` the house unit of its quantity (Pa,
    rpm, degC, V, ...); the value of a sample is `factor` times what is stored plus `offset`.
    Values are as indicated: no zero is taken off them.
    """

    label: str
    column: str
    quantity: str
    reference: str | None
    unit: str
    clock: Clock
    drawn: Overview
    factor: float = 1.0
    offset: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def begin_s(self) -> float:
        """The first instant on the file's own clock."""
        return self.clock.ends[0]

    @property
    def end_s(self) -> float:
        """The last instant on the file's own clock."""
        return self.clock.ends[1]

    @property
    def count(self) -> int:
        """How many samples there are."""
        return self.clock.count

    def window(self, begin_s: float, end_s: float, columns: int) -> Floats32:
        """Least, greatest and mean value in columns of equal time: (columns, 3) float32.

        NaN where a column holds no sample.  For drawing only.  Raises ValueError when the end
        does not lie after the begin or there is no column.
        """
        if columns < 1 or not end_s > begin_s:
            raise ValueError("a window needs a column at least, and an end after its begin")
        found = self.drawn.columns(self.clock.columns(begin_s, end_s, columns))
        return self._scaled(found)

    def samples(self, begin_s: float, end_s: float, most: int = 20_000) -> tuple[Floats, Floats]:
        """The samples themselves between two instants, and one beyond either end.

        Returns their instants and values, (n,) each; none when there are more than `most`.
        """
        first = max(0, int(np.floor(self.clock.place(begin_s))))
        last = min(self.count, int(np.ceil(self.clock.place(end_s))) + 1)
        if last - first > most:
            return np.empty(0), np.empty(0)
        values = np.asarray(self.drawn.samples[first:last], dtype=np.float64)
        return self.clock.at(first, last), values * self.factor + self.offset

    def extremes(self) -> tuple[float, float]:
        """Least and greatest value of the whole lane; NaN where nothing was recorded."""
        low, high, _ = self._scaled(self.drawn.window(0, max(self.count, 1), 1))[0]
        return float(low), float(high)

    def _scaled(self, found: Floats32) -> Floats32:
        low, high = (0, 1) if self.factor >= 0 else (1, 0)
        wide = found[:, [low, high, 2]] * np.float64(self.factor) + self.offset
        with np.errstate(over="ignore"):
            made: Floats32 = wide.astype(np.float32)
        return made


@dataclass(frozen=True)
class StoredRecording:
    """A recording's lanes in the order of its signals, with the span they cover together."""

    name: str
    visit: str
    sha256: str
    rows: int
    rate_hz: float | None
    lanes: tuple[StoredLane, ...]
    guesses: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def begin_s(self) -> float:
        """The earliest sample on the file's own clock."""
        return min((lane.begin_s for lane in self.lanes if lane.count), default=0.0)

    @property
    def end_s(self) -> float:
        """The latest sample on the file's own clock."""
        return max((lane.end_s for lane in self.lanes if lane.count), default=1.0)

    def lane(self, label: str) -> StoredLane:
        """The lane of this label.  Raises KeyError."""
        return {lane.label: lane for lane in self.lanes}[label]
