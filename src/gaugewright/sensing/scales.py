"""Robust scales of a signal's misfits, block by block."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

MAD = 1.4826
"""Standard deviation of a normal variable over its median absolute deviation."""
LIMIT = 5.4
"""Robust standard deviations; a clean Gaussian signal passes it about once in 10 million."""
MOST = 0.25
"""Where more than this share of a block would be marked, it is the signal, not interference."""
SAMPLE = 256


def in_blocks(size: Floats, block: int) -> Floats:
    """Rows of absolute misfits, one row a block, thinned to about 256 samples each."""
    count = max(1, len(size) // block)
    rows = size[: len(size) // count * count].reshape(count, -1)
    return rows[:, :: max(1, rows.shape[1] // SAMPLE)]


def block_quantiles(size: Floats, block: int, shares: tuple[float, ...]) -> Floats:
    """(shares, blocks) quantiles of the absolute misfits in each block."""
    rows = np.sort(in_blocks(size, block), axis=1)
    at = [round(share * (rows.shape[1] - 1)) for share in shares]
    return np.asarray(rows[:, at].T)


def steadied(scale: Floats, least: float) -> Floats:
    """Each block's scale made safe: its neighbours' where larger, half the usual, a floor.

    A block without any misfit (a signal at rest on a stop) must not make the next ripple
    interference; a signal without any misfit at all has no limit.
    """
    scale = np.maximum(scale, max(least, 0.5 * float(np.median(scale))))
    near = np.concatenate((scale[:1], scale, scale[-1:]))
    widest = np.maximum(np.maximum(near[:-2], near[2:]), scale)
    return np.where(widest > 0.0, widest, np.inf)


def groups(positions: Ints, gap: int) -> tuple[Ints, Ints]:
    """First and last position of each group whose members lie no further apart than `gap`."""
    cuts = np.flatnonzero(np.diff(positions) > gap)
    first = positions[np.concatenate(([0], cuts + 1))]
    return first, positions[np.concatenate((cuts, [len(positions) - 1]))]


def over_groups(what: np.ufunc, values: Floats, first: Ints, last: Ints) -> Floats:
    """The reduction of values[first..last] for each group; last below the final sample."""
    pairs = np.stack((first, last + 1), axis=1).ravel()
    return np.asarray(what.reduceat(values, pairs)[::2])
