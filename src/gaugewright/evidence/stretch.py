"""A marked stretch on its recording: its cycles, what is left out of it, its speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.cycles import WINDOW_S, CycleTable, Sensed, Span, is_slow, mean_between
from gaugewright.evidence.lateness import (
    AS_IT_IS,
    WINDOWS_S,
    Pace,
    delay_of,
    evidence_of_delay,
    evidence_of_window,
    read_at,
    smoothed,
    window_of,
)
from gaugewright.evidence.settling import settled
from gaugewright.evidence.speed_noise import UNTIMED_S
from gaugewright.job import words
from gaugewright.quantities.catalogue import PRESSURES

Floats = npt.NDArray[np.float64]
UNSETTLED = frozenset({"engine-off", "cranking", "snap"})
BLOCKING = frozenset(words.BLOCKING)
"""Closing a way out fills the crankcase: a course, not a mean (common practice, no source)."""
LEAST_COVERED = 0.3
"""A stretch with cycles for less than this share of its time has lost its rotation (J)."""
SLOW_S = 0.3
"""A pressure sampled further apart than this cannot time a speed column (J)."""


@dataclass(frozen=True)
class Kept:
    """A stretch on its recording's clock: its settled cycles and what was left out."""

    recording: Sensed
    span: Span
    table: CycleTable
    first: int
    last: int
    pace: Pace = AS_IT_IS

    @property
    def cycles(self) -> slice:
        """The settled cycles' place in the table."""
        return slice(self.first, self.last)

    @property
    def from_s(self) -> float:
        """Start of the first settled cycle."""
        return float(self.table.start_s[self.first])

    @property
    def to_s(self) -> float:
        """End of the last settled cycle."""
        return float(self.table.end_s[self.last - 1])

    @property
    def left_out(self) -> tuple[tuple[float, float], ...]:
        """The transitions at either end that were left out."""
        cycle = (self.to_s - self.from_s) / max(self.last - self.first, 1)
        parts = ((self.span.from_s, self.from_s), (self.to_s, self.span.to_s))
        return tuple((a, b) for a, b in parts if b - a > 1.5 * cycle)

    def speed_at(self, time_s: Floats) -> Floats | None:
        """Engine speed at these instants, or None where no speed is known."""
        if self.table.speed_rpm is None:
            return None
        speed = _smoothed(self, self.pace.window_s)
        if self.pace.lag_s == 0.0:
            return np.interp(time_s, self.table.middle_s, speed)
        return read_at(time_s + self.pace.lag_s, self.table.middle_s, speed)

    @property
    def untimed_s(self) -> float:
        """By how much the speed may be late without anything having told."""
        return 0.0 if self.pace.timed else UNTIMED_S

    @property
    def refresh_s(self) -> float:
        """The interval of a sampled speed column, 0 for pulses."""
        rotation = self.recording.rotation
        return 0.0 if rotation is None else rotation.refresh_s


def kept_stretch(recording: Sensed, span: Span, table: CycleTable) -> Kept | None:
    """The whole cycles of a marked stretch; None where it holds none."""
    margin = 1e-9 + 1e-9 * abs(span.to_s)
    first = int(np.searchsorted(table.start_s, span.from_s - margin))
    last = int(np.searchsorted(table.end_s, span.to_s + margin, side="right"))
    if _covered(table, first, last) < LEAST_COVERED * (span.to_s - span.from_s):
        return _windowed(recording, span)
    return Kept(recording, span, table, first, last)


def _covered(table: CycleTable, first: int, last: int) -> float:
    """For how long the stretch has cycles."""
    return float(np.sum(table.end_s[first:last] - table.start_s[first:last]))


def _windowed(recording: Sensed, span: Span) -> Kept | None:
    """A stretch with the engine off, or whose rotation was lost: windows stand for cycles."""
    edges = np.arange(span.from_s, span.to_s, WINDOW_S)
    if len(edges) < 4 or not recording.signals:
        return None
    start, end = edges[:-1], edges[1:]
    means = {s.label: mean_between(s, start, end) for s in recording.signals}
    if not any(np.isfinite(values).any() for values in means.values()):
        return None
    table = CycleTable(start, end, None, means, False, "windows")
    return Kept(recording, span, table, 0, len(start))


def settled_stretch(kept: Kept, pace: Pace) -> Kept:
    """The stretch without its transitions, its speed read as its source wants."""
    kept = replace(kept, pace=pace)
    if UNSETTLED & set(kept.span.did):
        return kept
    middle = kept.table.middle_s[kept.cycles]
    speed = kept.speed_at(middle)
    if len(middle) < 16:
        return kept
    cycle = float(np.median(np.diff(middle)))
    telling = [
        kept.table.means[signal.label][kept.cycles]
        for signal in kept.recording.signals
        if signal.quantity in PRESSURES and not is_slow(signal, cycle)
    ]
    if speed is not None:
        telling.append(speed)
    course = bool(BLOCKING & set(kept.span.did))
    first, last = settled(middle, telling, speed, bend=course)
    return replace(kept, first=kept.first + first, last=kept.first + last)


def votes_on_pace(kept: Kept) -> Floats | None:
    """What this stretch says of how its speed is to be read: delays of a sampled column, windows
    of pulses.  None where it cannot tell.
    """
    speed = kept.table.speed_rpm
    signal = next((s for s in kept.recording.signals if s.quantity == "oil-pressure"), None)
    if speed is None or signal is None or is_slow(signal, SLOW_S):
        return None
    time, cycles = kept.table.middle_s, kept.cycles
    values = kept.table.means[signal.label][cycles]
    if kept.table.source == "engine-speed":
        return evidence_of_delay(time[cycles], values, time, speed)
    speeds = [_smoothed(kept, window)[cycles] for window in WINDOWS_S]
    return evidence_of_window(time[cycles], values, speeds)


def pace_of(source: str, told: Sequence[Floats | None]) -> Pace:
    """How the speed of a source is to be read, by the votes of its stretches."""
    if source == "engine-speed":
        return Pace(*delay_of(told))
    return Pace(window_s=window_of(told))


def _smoothed(kept: Kept, window_s: float) -> Floats:
    """The table's speeds, smoothed over a length that counts in cycles of this stretch."""
    cycle = (kept.to_s - kept.from_s) / max(kept.last - kept.first, 1)
    return smoothed(np.asarray(kept.table.speed_rpm), cycle, window_s)
