"""The table of cycles: every signal's mean over every cycle of a recording.

A pressure's mean over a whole cycle is free of pump and firing ripple, so cycles are the
natural sample of everything that follows.  Means are integrals of the straight lines between
samples, so that a cycle's edge need not fall on a sample.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.rotation.types import Rotation
from gaugewright.sensing.types import Signal

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

WINDOW_S = 0.15
"""Length of the windows that stand for cycles where no rotation is known."""
MARGIN_S = 3.0
"""Cycles this far beyond a span are kept: a late speed column is read there."""
LONGEST_GAP = 4.0
"""Samples further apart than this many intervals leave the cycles between them without value."""


@dataclass(frozen=True)
class Span:
    """A condition's stretch on its recording's own clock."""

    condition: str
    did: tuple[str, ...]
    from_s: float
    to_s: float


@dataclass(frozen=True)
class CycleTable:
    """Cycle means of one recording on its own clock.

    `start_s`, `end_s` (n,) the cycles' edges; `speed_rpm` (n,) or None; `means` by signal label
    (n,), NaN where a cycle has no value.  `turning` is False where windows of equal length
    stand for cycles.
    """

    start_s: Floats
    end_s: Floats
    speed_rpm: Floats | None
    means: Mapping[str, Floats]
    turning: bool
    source: str

    @property
    def middle_s(self) -> Floats:
        """(n,) the cycles' middles."""
        return 0.5 * (self.start_s + self.end_s)


@dataclass(frozen=True)
class Sensed:
    """A recording whose signals are quantities: what the evidence is drawn from.

    `offset_s` takes the file's clock to the job's clock; `table` is the table of its own cycles
    where it has been made already.
    """

    name: str
    visit: str
    offset_s: float
    signals: tuple[Signal, ...]
    rotation: Rotation | None
    spans: tuple[Span, ...]
    table: CycleTable | None = None


def cycle_table(
    recording: Sensed, others: tuple[Sensed, ...] = (), span: Span | None = None
) -> CycleTable:
    """Every signal's mean over each cycle, of the whole recording or of one `span` of it.

    A recording without rotation borrows, for each span, that of the recording of the same
    visit which covers most of it on the job's clock; failing that, windows of 0.15 s stand for
    cycles.
    """
    start, end, speed, source = _edges(recording, others, span)
    if span is not None:
        near = (end > span.from_s - MARGIN_S) & (start < span.to_s + MARGIN_S)
        start, end = start[near], end[near]
        speed = None if speed is None else speed[near]
    means = {signal.label: mean_between(signal, start, end) for signal in recording.signals}
    return CycleTable(start, end, speed, means, speed is not None, source)


def _edges(
    recording: Sensed, others: tuple[Sensed, ...], span: Span | None
) -> tuple[Floats, Floats, Floats | None, str]:
    turned = turning_of(recording, others, span)
    if turned is None:
        edges = _windows(recording)
        return edges[:-1], edges[1:], None, "windows"
    rotation, shift = turned
    edges = rotation.edges_s + shift
    good = rotation.good
    return edges[:-1][good], edges[1:][good], rotation.speed_rpm[good], rotation.source


def turning_of(
    recording: Sensed, others: tuple[Sensed, ...], span: Span | None
) -> tuple[Rotation, float] | None:
    """The rotation that holds for this recording, or for one span of it, and its clock's shift."""
    if recording.rotation is not None:
        return recording.rotation, 0.0
    if span is None:
        return None
    best: tuple[float, Rotation, float] | None = None
    for other in others:
        if other.rotation is None or other.visit != recording.visit:
            continue
        if span.condition not in {theirs.condition for theirs in other.spans}:
            continue
        shift = other.offset_s - recording.offset_s
        shared = _overlap(other.rotation.edges_s + shift, span)
        if shared > 0 and (best is None or shared > best[0]):
            best = (shared, other.rotation, shift)
    return None if best is None else (best[1], best[2])


def _overlap(edges: Floats, span: Span) -> float:
    """For how long these cycles and the span run together."""
    if not len(edges):
        return 0.0
    return float(min(span.to_s, edges[-1]) - max(span.from_s, edges[0]))


def _extent(recording: Sensed) -> tuple[float, float]:
    lengths = [s for s in recording.signals if len(s.time_s)]
    if not lengths:
        return 0.0, 0.0
    return (
        min(float(s.time_s[0]) for s in lengths),
        max(float(s.time_s[-1]) for s in lengths),
    )


def _windows(recording: Sensed) -> Floats:
    begin, finish = _extent(recording)
    count = int((finish - begin) / WINDOW_S) + 2
    return np.asarray(begin + WINDOW_S * np.arange(count), dtype=np.float64)


def mean_between(signal: Signal, start_s: Floats, end_s: Floats) -> Floats:
    """Mean of the signal between each start and end (n,), NaN where it has no samples near."""
    if not len(start_s):
        return np.empty(0)
    time, values, good = _reached(signal, float(start_s.min()), float(end_s.max()))
    if not good.all():
        time, values = time[good], values[good]
    if len(time) < 2:
        return np.full(len(start_s), np.nan)
    area = np.empty(len(time))
    area[0] = 0.0
    step = np.diff(time)
    np.cumsum(0.5 * (values[1:] + values[:-1]) * step, out=area[1:])
    means = (_area_at(end_s, time, values, area) - _area_at(start_s, time, values, area)) / (
        end_s - start_s
    )
    means[_uncovered(time, step, signal.interval_s, start_s, end_s)] = np.nan
    return means


def _reached(signal: Signal, begin_s: float, end_s: float) -> tuple[Floats, Floats, Bools]:
    """The samples from the last good one before to the first good one after, and which are good."""
    first = max(int(np.searchsorted(signal.time_s, begin_s, side="right")) - 1, 0)
    last = int(np.searchsorted(signal.time_s, end_s)) + 1
    count, wider = len(signal.time_s), 1
    while first > 0 and not _good(signal, first, first + wider).any():
        first, wider = max(first - 2 * wider, 0), 2 * wider
    wider = 1
    while last < count and not _good(signal, last - wider, last).any():
        last, wider = last + 2 * wider, 2 * wider
    inside = slice(first, last)
    return signal.time_s[inside], signal.values[inside], _good(signal, first, last)


def _good(signal: Signal, first: int, last: int) -> Bools:
    good: Bools = np.isfinite(signal.values[first:last])
    return good if signal.bad is None else good & ~signal.bad[first:last]


def _area_at(at: Floats, time: Floats, values: Floats, area: Floats) -> Floats:
    """The integral of the straight lines between samples, from the first sample to `at`."""
    place = np.clip(np.searchsorted(time, at, side="right") - 1, 0, len(time) - 2)
    into = at - time[place]
    steepness = (values[place + 1] - values[place]) / (time[place + 1] - time[place])
    return area[place] + into * (values[place] + 0.5 * steepness * into)


def _uncovered(
    time: Floats, step: Floats, interval_s: float, start_s: Floats, end_s: Floats
) -> Bools:
    """Cycles before the first sample, after the last, or with more than half in a gap."""
    outside: Bools = (start_s < time[0] - interval_s) | (end_s > time[-1] + interval_s)
    wide = np.flatnonzero(step > LONGEST_GAP * max(interval_s, 1e-12))
    for k in wide if len(wide) < 10_000 else ():
        shared = np.minimum(end_s, time[k + 1]) - np.maximum(start_s, time[k])
        outside |= shared > 0.5 * (end_s - start_s)
    return outside


def is_slow(signal: Signal, cycle_s: float) -> bool:
    """Does the signal refresh less than once a cycle?"""
    return signal.interval_s > cycle_s
