"""Which levels tell a pulse from rest, whatever its size, sign, noise or wandering base line.

Looked at are whole blocks of a third of a second spread over the recording, each long enough
to hold a pulse at idle; levels are medians and quantiles over them, so that neither an
engine-off part nor a few stray spikes decide.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

BLOCK_S = 0.35
MOST_BLOCKS = 128
MOST_SAMPLES = 2_000_000
CLEAR = 9.0
"""A block holds a pulse when it stands out by this many times the noise."""


@dataclass(frozen=True)
class Levels:
    """Levels of a Schmitt trigger, as distances from rest in the direction `sign`.

    A pulse begins where sign * (value - rest) exceeds `upper` after having been below `lower`.
    `rest` (k,) holds at the samples `rest_at` (k,), joined by lines; one of each: constant.
    """

    sign: int
    upper: float
    lower: float
    rest_at: Floats
    rest: Floats

    def rest_near(self, start: int, size: int) -> float | Floats:
        """The rest level of the samples from `start` on: one number where it is constant."""
        if len(self.rest) == 1:
            return float(self.rest[0])
        return np.interp(np.arange(start, start + size), self.rest_at, self.rest)

    def rest_of(self, index: npt.NDArray[np.int64]) -> Floats:
        """The rest level at these samples."""
        return np.interp(index, self.rest_at, self.rest)


def levels_of(values: Floats, interval_s: float) -> Levels | None:
    """At which levels do this signal's pulses begin and end?

    Parameters: `values` (n,), NaN where missing; `interval_s` their spacing.
    Returns: the levels, or None where nothing stands out of the noise.
    """
    blocks = _blocks(values, max(64, round(BLOCK_S / interval_s)))
    if not blocks.size:
        return None
    middle = np.median(blocks, axis=1)
    up, down = blocks.max(axis=1) - middle, middle - blocks.min(axis=1)
    noise = _noise(blocks)
    active = np.maximum(up, down) > CLEAR * noise
    if not active.any():
        return None
    square = _two_levels(blocks[active])
    if square is not None:
        return square
    sign, height = _side(up, down, CLEAR * noise)
    upper = max(0.4 * height, min(0.7 * height, 6.0 * noise))
    rest_at, rest = _rest(values, interval_s, middle, height)
    return Levels(sign, upper, 0.5 * upper, rest_at, rest)


def _blocks(values: Floats, size: int) -> Floats:
    """Up to 128 whole blocks spread over the recording, missing samples set to their median."""
    size = min(size, len(values))
    if size < 2:
        return np.zeros((0, 0))
    count = max(1, min(len(values) // size, MOST_BLOCKS, MOST_SAMPLES // size))
    starts = np.linspace(0, len(values) - size, count).astype(np.int64)
    blocks = np.stack([values[start : start + size] for start in starts])
    missing = ~np.isfinite(blocks)
    if missing.any():
        blocks = blocks[~missing.all(axis=1)]
        missing = ~np.isfinite(blocks)
        blocks = np.where(missing, np.nanmedian(blocks, axis=1, keepdims=True), blocks)
    return blocks


def _noise(blocks: Floats) -> float:
    """The standard deviation of the sample-to-sample noise; for quiet signals half a step."""
    differences = np.abs(np.diff(blocks, axis=1)).ravel()
    noise = 1.4826 * float(np.median(differences)) / np.sqrt(2.0)
    moving = differences[differences > 0.0]
    least = 0.5 * float(np.quantile(moving, 0.01)) if len(moving) else np.inf
    return float(max(noise, min(least, float(np.ptp(blocks)) / 50.0)))


def _two_levels(blocks: Floats) -> Levels | None:
    """Levels of a signal that spends real time at both ends of its swing, else None."""
    low, high = np.quantile(blocks, [0.08, 0.92], axis=1)
    swing = np.ptp(blocks, axis=1)
    if np.median((high - low) / swing) < 0.5:
        return None
    rest = float(np.median(0.5 * (high + low)))
    half = 0.3 * float(np.median(0.5 * (high - low)))
    return Levels(1, half, -half, np.zeros(1), np.array([rest]))


def _side(up: Floats, down: Floats, clear: float) -> tuple[int, float]:
    """The direction in which the pulses are larger, and the height of the smaller ones."""
    heights = [
        float(np.quantile(side[side > clear], 0.2)) if (side > clear).any() else 0.0
        for side in (up, down)
    ]
    return (1, heights[0]) if heights[0] >= heights[1] else (-1, heights[1])


def _rest(
    values: Floats, interval_s: float, middle: Floats, height: float
) -> tuple[Floats, Floats]:
    """One rest level, or where it wanders by much of a pulse its course in 0.2 s medians."""
    low, high = np.quantile(middle, [0.02, 0.98])
    size = max(8, round(0.2 / interval_s))
    if high - low < 0.1 * height or len(values) < 4 * size:
        return np.zeros(1), np.array([float(np.median(middle))])
    whole = len(values) // size
    grid = values[: whole * size].reshape(whole, size)[:, :: max(1, size // 33)]
    rest: Floats = np.asarray(np.median(grid, axis=1), dtype=np.float64)
    rest_at = (np.arange(whole, dtype=np.float64) + 0.5) * size
    known = np.isfinite(rest)
    return rest_at[known], rest[known]
