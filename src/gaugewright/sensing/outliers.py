"""Spikes in signals of moderate rate, by what each sample's neighbours foretell.

Below some kilohertz an engine's ripple moves within a sample or two.  The weights of the
neighbours are learned from the signal itself, so that ripple foretells itself; what is left
stands out when it is far beyond the scale of its neighbourhood.  A lone sample is held
against the ordinary scale; a broader peak also against that of the largest misfits, because
a pulsed ripple has such peaks in every cycle.
"""

from __future__ import annotations

import numpy as np

from gaugewright.sensing.scales import (
    LIMIT,
    MAD,
    MOST,
    Bools,
    Floats,
    Ints,
    block_quantiles,
    groups,
    steadied,
)

REACH = 3
AWAY = (1, 2, 3)
OFFSETS = np.array([-3, -2, -1, 1, 2, 3])
LONE_SHARE = 0.04
"""More lone peaks than this are a ripple too narrow for the sampling rate."""
SHOULDER = 0.3
RETURNS = 1.0
"""A spike stands out by more than the level changes across it; a kink in the ripple does not."""
ROUNDS = 6


def outliers(values: Floats, interval_s: float, step: float) -> Bools | None:
    """Which samples stand out of what their neighbours foretell?

    Parameters: `values` (n,), no NaN; `interval_s` their spacing; `step` of quantisation.
    Returns: marks (n,), or None.
    """
    centred = np.pad(values - np.median(values), REACH, mode="reflect")
    weights = _foretelling(centred)
    misfit = _all_misfits(centred, weights)
    narrow, wide = _limits(misfit, max(256, round(0.5 / interval_s)), step, values)
    if not np.any(np.abs(misfit) > narrow):
        return None
    side = _side_to_ask(misfit, weights, narrow)
    narrow = wide if side is None else narrow
    marks = _taken_out(centred, weights, misfit, (narrow, wide), side or 0)
    marks = _returning(values, marks)
    marks[:REACH] = marks[-REACH:] = False
    return marks if 0.0 < float(marks.mean()) < MOST else None


def _foretelling(padded: Floats) -> Floats:
    """(3,) weights of the neighbours one, two and three away, by least squares, trimmed."""
    size = len(padded) - 2 * REACH
    rows = np.arange(REACH, size + REACH, max(1, size // 20_000))
    pairs = np.stack([padded[rows - k] + padded[rows + k] for k in AWAY], axis=1)
    target = padded[rows]
    weights = np.array([0.5, 0.0, 0.0])
    for _ in range(3):
        misfit = np.abs(target - pairs @ weights)
        keep = misfit <= 4.0 * MAD * np.median(misfit) + 1e-300
        weights = np.linalg.lstsq(pairs[keep], target[keep], rcond=None)[0]
    return np.asarray(weights)


def _all_misfits(padded: Floats, weights: Floats) -> Floats:
    size = len(padded) - 2 * REACH
    misfit = padded[REACH : REACH + size].copy()
    for away, weight in zip(AWAY, weights.tolist(), strict=True):
        misfit -= weight * padded[REACH - away : REACH - away + size]
        misfit -= weight * padded[REACH + away : REACH + away + size]
    return misfit


def _misfits_at(padded: Floats, weights: Floats, at: Ints) -> Floats:
    near = padded[at[:, None] + REACH + OFFSETS]
    return np.asarray(padded[at + REACH] - near @ np.concatenate((weights[::-1], weights)))


def _limits(misfit: Floats, block: int, step: float, values: Floats) -> tuple[Floats, Floats]:
    """(n,) limits around each sample: for lone peaks, and for broad ones."""
    middle, high = block_quantiles(np.abs(misfit), block, (0.5, 0.975))
    least = max(0.6 * step, 1e-6 * float(np.ptp(values)))
    narrow = steadied(MAD * middle, least)
    wide = np.maximum(narrow, steadied(high / 2.241, least))
    which = np.minimum(np.arange(len(misfit)) * len(middle) // len(misfit), len(middle) - 1)
    return LIMIT * narrow[which], LIMIT * wide[which]


def _peaks(size: Floats, limit: Floats) -> Ints:
    """Positions beyond the limit that no neighbour within reach exceeds."""
    over = np.flatnonzero(size > limit)
    if not len(over):
        return over
    near = np.clip(over[:, None] + OFFSETS, 0, len(size) - 1)
    return np.asarray(over[size[over] >= size[near].max(axis=1)])


def _shoulders(misfit: Floats, weights: Floats, at: Ints) -> Floats:
    """(2, peaks) what is left of the two neighbours' misfits, as a share of the peak's own,
    when the peak is put back to what was foretold, the smaller side first."""
    here = misfit[at]
    beside = np.clip(at + np.array([[-1], [1]]), 0, len(misfit) - 1)
    return np.asarray(np.sort(np.abs((misfit[beside] + weights[0] * here) / here), axis=0))


def _side_to_ask(misfit: Floats, weights: Floats, limit: Floats) -> int | None:
    """Which shoulder a lone peak must lack: the smaller (0), the larger (1), or none is lone.

    Spikes mostly have no shoulder, and two close together hide one of theirs; where most
    peaks have both, they are a pulsed ripple; where they are too many, one too narrow for
    the sampling rate.
    """
    shoulders = _shoulders(misfit, weights, _peaks(np.abs(misfit), limit))
    lone = shoulders[1] < SHOULDER
    if not len(lone) or np.count_nonzero(lone) > LONE_SHARE * len(misfit):
        return None
    return 0 if float(lone.mean()) > 0.7 else 1


def _taken_out(
    padded: Floats, weights: Floats, misfit: Floats, limits: tuple[Floats, Floats], side: int
) -> Bools:
    """Marks of the peaks, each put back to what was foretold before the next are looked for."""
    marks = np.zeros(len(misfit), dtype=bool)
    for _ in range(ROUNDS):
        peaks = _peaks(np.abs(misfit), limits[0])
        beyond = np.abs(misfit[peaks]) > limits[1][peaks]
        peaks = peaks[beyond | (_shoulders(misfit, weights, peaks)[side] < SHOULDER)]
        if not len(peaks):
            break
        marks[peaks] = True
        padded[peaks + REACH] -= misfit[peaks]
        near = np.unique(np.clip(peaks[:, None] + np.arange(-3, 4), 0, len(misfit) - 1))
        misfit[near] = _misfits_at(padded, weights, near)
    return marks


def _returning(values: Floats, marks: Bools) -> Bools:
    """Without the marks at which the signal steps to another level instead of coming back."""
    at = np.flatnonzero(marks)
    if not len(at):
        return marks
    first, last = groups(at, 1)
    before = values[np.maximum(first - 1, 0)]
    after = values[np.minimum(last + 1, len(values) - 1)]
    away = np.abs(values[(first + last) // 2] - 0.5 * (before + after))
    kept = marks.copy()
    steps = away < RETURNS * np.abs(after - before)
    for start, end in zip(first[steps].tolist(), last[steps].tolist(), strict=True):
        kept[start : end + 1] = False
    return kept
