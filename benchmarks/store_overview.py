"""The overview of 100 million samples: building it, and any window of 1200 columns.

Building is measured against one plain pass of NumPy's minimum and maximum over the lane, a window
against plain minima and maxima of the same columns straight from the samples.  Prints times and
ratios; the goal is a window under 1 ms at any zoom.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np
from _common import medians, seconds

from gaugewright.store import bags
from gaugewright.store.overview import Overview, build

SAMPLES = 100_000_000
COLUMNS = 1200
GOAL_MS = 1.0
ROUNDS = 7


def lane() -> np.ndarray:
    """A pressure's ripple with noise, float32."""
    rng = np.random.default_rng(100)
    values = rng.standard_normal(SAMPLES, dtype=np.float32)
    values += 90.0
    return values


def plainly(values: np.ndarray, begin: int, end: int) -> tuple[np.ndarray, np.ndarray]:
    """Least and greatest of each column, from the samples."""
    starts = np.linspace(begin, end, COLUMNS, endpoint=False).astype(np.intp) - begin
    part = values[begin:end]
    return np.minimum.reduceat(part, starts), np.maximum.reduceat(part, starts)


def main() -> int:
    """Measure on the lane as it lies on the disk, mapped, print, and hold it against the goal."""
    values = lane()
    with tempfile.TemporaryDirectory() as place:
        took = seconds(lambda: build(values))
        bare = seconds(lambda: (values.min(), values.max()))
        made = build(values)
        print(f"building: {took:.2f} s, {took / bare:.1f} times one pass of min and max")
        arrays = {"lane": values, "overview": made.table}
        bag = bags.write(Path(place) / "bag", arrays, {})
        size = made.table.nbytes / values.nbytes
        print(f"on disk: {made.table.nbytes / 1e6:.0f} MB, {100 * size:.1f} % of the lane")
        worst = windows(Overview(bag.array("lane"), bag.array("overview")), bag.array("lane"))
    return 0 if worst < GOAL_MS else 1


def windows(overview: Overview, values: np.ndarray) -> float:
    """The slowest window of some zooms, ms."""
    worst = 0.0
    for width in (SAMPLES, 10_000_000, 1_000_000, 150_000, 20_000, 1_300):
        begin = (SAMPLES - width) // 3

        def ours(begin: int = begin, width: int = width) -> object:
            return overview.window(begin, begin + width, COLUMNS)

        def plain(begin: int = begin, width: int = width) -> object:
            return plainly(values, begin, begin + width)

        took, bare = medians(ROUNDS, ours, plain)
        worst = max(worst, 1e3 * took)
        print(f"window of {width:>11,} samples: {1e3 * took:.2f} ms, plain {1e3 * bare:.2f} ms")
    print(f"slowest window: {worst:.2f} ms (goal {GOAL_MS:g} ms)")
    return worst


if __name__ == "__main__":
    sys.exit(main())
