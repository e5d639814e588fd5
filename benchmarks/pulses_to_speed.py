"""Pulses to speed on 50 million samples, against one NumPy pass of a bare comparison.

Prints the ratio; the goal is at most 4.  Made: a coil-on-plug pick-up at 20 kHz, hunting
about 820 rpm, ringing near 8 kHz, noise, a few pulses missed.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from gaugewright.job.model import SignalEntry, Vehicle
from gaugewright.recording.types import Column
from gaugewright.rotation.ignition import rotation_from_ignition

RATE_HZ = 20_000.0
GOAL = 4.0
ROUNDS = 5


def recording(samples: int) -> Column:
    """The made recording as a column."""
    rng = np.random.default_rng(50)
    time_s = np.arange(samples) / RATE_HZ
    values = rng.standard_normal(samples)
    values *= 0.05
    period = 120.0 / (820.0 + 30.0 * np.sin(np.arange(samples / RATE_HZ * 8) * 0.2))
    begins = np.cumsum(period)
    begins = begins[begins < time_s[-1] - 0.01]
    begins = begins[rng.random(len(begins)) > 0.01]
    after = np.arange(40) / RATE_HZ
    burst = 5.0 * np.exp(-after / 4e-4) * np.cos(2.0 * np.pi * 8000.0 * after)
    first = (begins * RATE_HZ).astype(np.int64)
    values[first[:, None] + np.arange(40)] += burst
    return Column("spark", time_s, values, 1.0 / RATE_HZ, 0.0, "V")


def bare(values: np.ndarray) -> int:
    """The pass it is measured against."""
    return int(np.count_nonzero((values[1:] > 2.0) & (values[:-1] <= 2.0)))


def best_of(rounds: int, what: object, *arguments: object) -> float:
    """The median time of some rounds, in seconds."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        what(*arguments)  # type: ignore[operator]
        times.append(time.perf_counter() - start)
    return sorted(times)[rounds // 2]


def main(samples: int = 50_000_000) -> float:
    """Measure both and print the ratio."""
    column = recording(samples)
    vehicle = Vehicle(cylinders=4, cycle="four-stroke", ignition="coil-on-plug")
    entry = SignalEntry(column="spark", quantity="ignition", unit="V")
    ours = best_of(ROUNDS, rotation_from_ignition, "bench/spark", column, entry, vehicle)
    theirs = best_of(ROUNDS, bare, column.values)
    ratio = ours / theirs
    print(
        f"pulses to speed, {samples} samples: {ours:.3f} s, bare pass {theirs:.3f} s, "
        f"ratio {ratio:.2f} (goal {GOAL:.0f})"
    )
    return ratio


if __name__ == "__main__":
    sys.exit(0 if main() <= GOAL else 1)
