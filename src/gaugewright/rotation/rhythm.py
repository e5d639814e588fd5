"""The rhythm of pulses: ringing and multiple strikes merged, missed and spurious ones repaired.

An engine's pulses follow each other at intervals that change slowly against their neighbours,
even while it hunts or snaps.  What falls within a short share of the interval belongs to the
pulse before; an interval that is a whole number of its neighbours' holds missed pulses; a
pulse that cuts a whole number of intervals off its beat is spurious.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

LONGEST_QUIET_S = 0.012
"""Strikes of one ignition come within this time (common practice, no source)."""
LONGEST_RINGING_S = 0.0012
QUIET_SHARE = 0.4
STOPPED_S = 2.0
"""Without a pulse for this long the rhythm has ended."""
MOST_MISSED = 5
WINDOW = 9


@dataclass(frozen=True)
class Beat:
    """Pulses after repair: `time_s` (m,), `unbroken` (m-1,) True where an interval is in rhythm.

    `missed` pulses were put in, `spurious` ones taken out, `merged` crossings joined to the
    pulse they belong to.
    """

    time_s: Floats
    unbroken: Bools
    missed: int
    spurious: int
    merged: int


def beat_of(crossing_s: Floats, shortest_s: float | None = None) -> Beat:
    """Which rhythm do these crossings hold?

    Parameters: `crossing_s` (k,) increasing instants; `shortest_s` an interval that no two
    pulses fall below, or None where no ringing is possible (wheel teeth).
    Returns: the repaired `Beat`; an interval that nothing explains is left as it is and marked.
    """
    pulses = crossing_s if shortest_s is None else merged(crossing_s, shortest_s)
    kept, spurious = without_spurious(pulses)
    filled, unbroken, missed = with_missed(kept)
    return Beat(filled, unbroken, missed, spurious, len(crossing_s) - len(pulses))


def merged(crossing_s: Floats, shortest_s: float) -> Floats:
    """The first crossing of each pulse: ringing and multiple strikes go by the quiet time."""
    gaps = np.diff(crossing_s)
    if not len(gaps):
        return crossing_s
    typical = _by_time(gaps[None, :])[0]
    ringing = max(min(0.25 * float(typical), LONGEST_RINGING_S), 0.25 * shortest_s)
    pulses = _first_after(crossing_s, ringing)
    gaps = np.diff(pulses)
    if not len(gaps):
        return pulses
    return _first_after(pulses, np.minimum(QUIET_SHARE * _local(gaps), LONGEST_QUIET_S))


def _first_after(times: Floats, quiet_s: float | Floats) -> Floats:
    return times[np.concatenate(([True], np.diff(times) > quiet_s))]


def _by_time(gaps: Floats) -> Floats:
    """(rows,) the gap for which half of each row's running time lies in longer ones."""
    rows = np.sort(np.where(gaps < STOPPED_S, gaps, 0.0), axis=1)
    share = np.cumsum(rows, axis=1)
    at = np.argmax(share >= 0.5 * share[:, -1:], axis=1)
    return np.asarray(rows[np.arange(len(rows)), at])


def _local(gaps: Floats, window: int = 25, stride: int = 8) -> Floats:
    """The typical gap around each gap, by running time, over windows of 25."""
    if len(gaps) <= window:
        return np.full(len(gaps), _by_time(gaps[None, :])[0])
    rows = np.lib.stride_tricks.sliding_window_view(gaps, window)[::stride]
    centres = np.arange(len(rows)) * stride + window // 2
    return np.interp(np.arange(len(gaps)), centres, _by_time(rows))


def running_period(intervals: Floats) -> Floats:
    """The running median of intervals over nine, at the ends over those there are."""
    if len(intervals) < WINDOW:
        return np.full(len(intervals), np.median(intervals) if len(intervals) else 0.0)
    padded = np.pad(intervals, WINDOW // 2, mode="reflect")
    rows = np.lib.stride_tricks.sliding_window_view(padded, WINDOW)
    return np.asarray(np.median(rows, axis=1))


def expected_period(intervals: Floats) -> Floats:
    """What each interval should be, by the ones in rhythm before and after it."""
    typical = running_period(intervals)
    with np.errstate(divide="ignore", invalid="ignore"):
        clean = np.flatnonzero(np.abs(intervals / typical - 1.0) < 0.25)
    if len(clean) < 2:
        return typical
    return np.asarray(np.interp(np.arange(len(intervals)), clean, intervals[clean]))


def without_spurious(pulses: Floats) -> tuple[Floats, int]:
    """The pulses without those that cut the rhythm, and how many were taken out."""
    count = len(pulses)
    for _ in range(6):
        if len(pulses) < 4:
            break
        misfit = _misfit(pulses)
        padded = np.pad(misfit, 2, constant_values=np.inf)
        rows = np.lib.stride_tricks.sliding_window_view(padded, 5)
        worst = np.isfinite(misfit) & (misfit <= rows.min(axis=1))
        if not worst.any():
            break
        pulses = pulses[~np.concatenate(([False], worst, [False]))]
    return pulses, count - len(pulses)


def _misfit(pulses: Floats) -> Floats:
    """How badly each inner pulse would leave the rhythm if it went; endless for one in rhythm.

    Judged are the sum of its two intervals, which has to be a whole number of beats, and the
    intervals on both sides: of two stray pulses on either side of a true one, the true one has
    a stray on both.
    """
    intervals = np.diff(pulses)
    period = running_period(intervals)
    local = 0.5 * (period[:-1] + period[1:])
    before, after = intervals[:-1] / local, intervals[1:] / local
    outer = np.pad(intervals, 1, mode="edge")
    beside = np.stack([np.abs(outer[:-3] / local - 1.0), np.abs(outer[3:] / local - 1.0)])
    both = before + after
    whole = np.maximum(1.0, np.round(both))
    off = np.minimum(np.abs(before - np.round(before)), np.abs(after - np.round(after)))
    lone = (off > 0.2) & (whole <= MOST_MISSED) & (beside.max(axis=0) < 0.3)
    fits = np.abs(both - whole) < np.where(whole == 1.0, 0.4, 0.25)
    stray = (np.minimum(before, after) < 0.75) & ((whole == 1.0) | lone) & fits
    score = np.abs(both - whole) + 0.5 * np.minimum(beside, 0.5).sum(axis=0)
    return np.where(stray, score, np.inf)


def with_missed(pulses: Floats) -> tuple[Floats, Bools, int]:
    """The pulses with the missed ones put in, which intervals are in rhythm, and how many."""
    if len(pulses) < 2:
        return pulses, np.zeros(0, dtype=bool), 0
    intervals = np.diff(pulses)
    ratio = intervals / expected_period(intervals)
    beats = np.maximum(1.0, np.round(ratio))
    close = np.abs(ratio - beats) < np.where(beats == 1.0, 0.4, 0.15 * beats)
    whole = (beats == 1.0) | _between_beats(beats == 1.0)
    unbroken = close & whole & (beats <= MOST_MISSED + 1) & (intervals < STOPPED_S)
    parts = np.where(unbroken, beats, 1.0).astype(np.int64)
    filled = _divided(pulses, intervals, parts)
    return filled, np.repeat(unbroken, parts), int(parts.sum() - len(parts))


def _between_beats(single: Bools) -> Bools:
    """Intervals with a single beat among the three before and among the three after them.

    An engine that starts or stops has none on one side: its long intervals are no missed pulses.
    """
    rows = np.lib.stride_tricks.sliding_window_view(np.pad(single, 3), 7)
    return np.asarray(rows[:, :3].any(axis=1) & rows[:, 4:].any(axis=1))


def _divided(pulses: Floats, intervals: Floats, parts: Ints) -> Floats:
    """Each interval divided into so many equal parts; the new pulses with the old ones."""
    first = np.repeat(np.cumsum(parts) - parts, parts)
    within = np.arange(len(first)) - first
    starts = np.repeat(pulses[:-1], parts) + within * np.repeat(intervals / parts, parts)
    return np.append(starts, pulses[-1])
