"""A lane drawn small: least, greatest and mean value of bins, in levels of growing width.

For drawing only: readings are always made from the samples.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats32 = npt.NDArray[np.float32]
Floats = npt.NDArray[np.floating]
Lane = npt.NDArray[np.float64] | npt.NDArray[np.float32] | Floats

BIN = 64
"""Samples in a bin of the finest level."""
STEP = 8
"""Bins of one level in a bin of the next."""
FEW = 2
"""A column is drawn from at least so many bins; with fewer, from a finer level."""
MOST_UNEVEN = 16.0
"""Columns narrower than the mean by more than this are drawn as if they were wider."""
_CHUNK = 1 << 22


@dataclass(frozen=True)
class Overview:
    """The levels of one lane, finest first, and the lane itself for the closest views.

    `table` (3 or 4, bins) float32 holds every level one after the other: least, greatest, mean,
    and, where samples are missing, how many are there.  `samples` (n,) is the lane.
    """

    samples: Lane
    table: Floats32

    def window(self, begin: float, end: float, columns: int) -> Floats32:
        """What does the lane look like between two places, in so many columns?

        Parameters: `begin` and `end` in samples from the lane's first, fractions allowed and
        beyond its ends too; `columns`, at least one.
        Returns (columns, 3) float32: least, greatest, mean; NaN where a column holds no sample.
        A column may reach over its edges by less than half its width.
        Raises ValueError when the end does not lie after the begin or there is no column.
        """
        if columns < 1 or not end > begin:
            raise ValueError("a window needs a column at least, and an end after its begin")
        return self.columns(np.linspace(begin, end, columns + 1))

    def columns(self, edges: npt.NDArray[np.float64]) -> Floats32:
        """The same for columns of any width, between `edges` (columns + 1,) in samples."""
        widths = np.diff(edges)
        mean = float(edges[-1] - edges[0]) / len(widths)
        size, rows = self._level(max(float(np.min(widths)), mean / MOST_UNEVEN))
        places = np.clip(np.ceil(edges / size - 1e-9), 0, -(-len(self.samples) // size))
        at = places.astype(np.intp)
        if size == 1:
            inside: Floats = np.asarray(self.samples[at[0] : at[-1]])
            return _columns(inside[np.newaxis], at - at[0])
        return _columns(rows[:, at[0] : at[-1]], at - at[0])

    def _level(self, width: float) -> tuple[int, Floats32]:
        """The coarsest level with at least FEW bins in a column, as bin size and its bins."""
        size, start, found = BIN, 0, (1, self.table[:, :0])
        while size * FEW <= width:
            count = -(-len(self.samples) // size)
            found = (size, self.table[:, start : start + count])
            start, size = start + count, size * STEP
            if start >= self.table.shape[1]:
                break
        return found


def build(lane: Lane) -> Overview:
    """The overview of a lane (n,), NaN where a sample is missing."""
    finest = np.concatenate([_finest(part) for part in _parts(lane)] or [np.empty((4, 0))], axis=1)
    levels = [finest]
    while levels[-1].shape[1] > STEP:
        levels.append(_coarser(levels[-1]))
    with np.errstate(over="ignore"):
        table = np.concatenate(levels, axis=1).astype(np.float32)
    whole = bool(np.all(finest[3, :-1] == BIN)) and (
        not finest.shape[1] or finest[3, -1] == len(lane) - BIN * (finest.shape[1] - 1)
    )
    return Overview(lane, np.ascontiguousarray(table[:3] if whole else table))


def _parts(lane: Lane) -> Iterator[Floats]:
    for start in range(0, len(lane), _CHUNK):
        yield np.asarray(lane[start : start + _CHUNK])


def _finest(part: Lane) -> Floats:
    """Least, greatest, mean and count of every BIN samples: (4, bins)."""
    starts = np.arange(0, len(part), BIN)
    sizes = np.diff(np.append(starts, len(part)))
    low = np.minimum.reduceat(part, starts)
    if not np.isnan(low).any():
        mean = np.add.reduceat(part, starts) / sizes
        return np.stack([low, np.maximum.reduceat(part, starts), mean, sizes]).astype(part.dtype)
    return _with_gaps(np.stack([part, part, part, ~np.isnan(part)]), starts)


def _coarser(level: Floats) -> Floats:
    return _with_gaps(level, np.arange(0, level.shape[1], STEP))


def _with_gaps(rows: Floats, starts: npt.NDArray[np.intp]) -> Floats:
    """Bins of bins: the means weigh by their counts, what is missing has none."""
    low, high, mean, count = rows
    total = np.add.reduceat(count, starts)
    summed = np.add.reduceat(np.where(count > 0, mean * count, 0.0), starts)
    with np.errstate(invalid="ignore"):
        means = np.where(total > 0, summed / total, np.nan)
    return np.stack([np.fmin.reduceat(low, starts), np.fmax.reduceat(high, starts), means, total])


def _columns(rows: Floats, edges: npt.NDArray[np.intp]) -> Floats32:
    """The columns between edges, from samples (1, n) or from the bins of a level (3 or 4, n)."""
    made = np.full((len(edges) - 1, 3), np.nan, dtype=np.float32)
    filled = np.flatnonzero(np.diff(edges) > 0)
    if not filled.size:
        return made
    starts = edges[:-1][filled]
    with np.errstate(over="ignore"):
        made[filled, 0] = np.fmin.reduceat(rows[0], starts)
        made[filled, 1] = np.fmax.reduceat(rows[min(1, len(rows) - 1)], starts)
        made[filled, 2] = _means(rows, starts, np.diff(edges)[filled])
    return made


def _means(rows: Floats, starts: npt.NDArray[np.intp], sizes: npt.NDArray[np.intp]) -> Floats:
    values = rows[min(2, len(rows) - 1)]
    sums = np.add.reduceat(values, starts)
    means: Floats = sums / sizes
    if len(rows) < 4 and not np.isnan(means).any():
        return means
    counts = rows[3] if len(rows) == 4 else (~np.isnan(values)).astype(values.dtype)
    total = np.add.reduceat(counts, starts)
    weighed = np.add.reduceat(np.where(counts > 0, values * counts, 0.0), starts)
    means = np.full(len(total), np.nan)
    np.divide(weighed, total, out=means, where=total > 0)
    return means
