"""How long the server takes to answer for four lanes of 100 million samples, at any zoom.

The answer is made whole, from the window asked for to the bytes sent, at eleven zooms from the
whole recording to a single pulse.  Beside it, in the same run, stands a general library's plain
way: the samples of the window cut into columns with `numpy.array_split`-like slices, and least,
greatest and mean of each by NumPy; it is measured on one lane and at one zoom that a tenth of the
samples fills, and multiplied by four.  Less than 50 ms an answer is allowed; more ends with exit
code 1.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable

import numpy as np

from gaugewright.store.lane import Clock, StoredLane
from gaugewright.store.overview import build
from gaugewright.web.lanes import Drawn, answer

SAMPLES = 100_000_000
RATE_HZ = 10_000.0
LANES = 4
COLUMNS = 2400
ALLOWED_S = 0.050
ZOOMS = 11
AGAIN = 15


def samples() -> np.ndarray[tuple[int, ...], np.dtype[np.float32]]:
    """A made lane: pump ripple and noise on a slow course, (SAMPLES,) float32."""
    rng = np.random.default_rng(5)
    piece = rng.normal(0.0, 1.0, 1_000_000).astype(np.float32)
    piece += 3.0 * np.sin(np.arange(piece.size, dtype=np.float32) * np.float32(0.05))
    whole = np.tile(piece, SAMPLES // piece.size)
    whole += np.repeat(rng.normal(100.0, 30.0, 100).astype(np.float32), SAMPLES // 100)
    return whole


def took(work: Callable[[], object], times: int) -> float:
    """The median time of some work, s."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return statistics.median(spent)


def plainly(part: np.ndarray[tuple[int, ...], np.dtype[np.float32]]) -> object:
    """Least, greatest and mean of COLUMNS columns by NumPy, straight from the samples."""
    usable = part.size // COLUMNS * COLUMNS
    columns = part[:usable].reshape(COLUMNS, -1)
    return columns.min(axis=1), columns.max(axis=1), columns.mean(axis=1)


def main() -> int:
    """Measure, print, and say by the exit code whether it is allowed."""
    values = samples()
    start = time.perf_counter()
    overview = build(values)
    built = time.perf_counter() - start
    lane = StoredLane(
        "made/lane", "lane", "oil-pressure", "atmosphere", "Pa", Clock(SAMPLES, RATE_HZ), overview
    )
    lanes = [Drawn(lane, 1e-3) for _ in range(LANES)]
    length = SAMPLES / RATE_HZ
    worst = 0.0
    for zoom in range(ZOOMS):
        span = length * (0.1 / length) ** (zoom / (ZOOMS - 1))
        begin = 0.37 * (length - span)
        spent = took(lambda b=begin, s=span: answer(lanes, b, b + s, COLUMNS), AGAIN)
        worst = max(worst, spent)
        print(f"  {span:10.2f} s of {length:.0f} s: {1e3 * spent:6.2f} ms")
    tenth = took(lambda: answer(lanes, 0.0, 0.1 * length, COLUMNS), AGAIN)
    plain = LANES * took(lambda: plainly(values[: SAMPLES // 10]), 5)
    print(
        f"lanes for the browser: {LANES} lanes of {SAMPLES:,} samples, {COLUMNS} columns: at most "
        f"{1e3 * worst:.2f} ms (allowed {1e3 * ALLOWED_S:.0f}), overview built in {built:.2f} s; "
        f"a tenth of the samples {1e3 * tenth:.2f} ms, plainly {1e3 * plain:.0f} ms: "
        f"{plain / tenth:.0f} times as fast"
    )
    return 0 if worst <= ALLOWED_S else 1


if __name__ == "__main__":
    sys.exit(main())
