"""What every source held in every condition: the levels all later questions start from.

A source is one signal, one hand reading, or the difference of two of them.  Its level keeps
the noise of its own cycles apart from the errors it shares with others (`Gradient`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.cycles import WINDOW_S, CycleTable, Sensed, Span, is_slow, mean_between
from gaugewright.evidence.lateness import evidence_of_delay, read_at
from gaugewright.evidence.level import UNTIMED_S, Level, fit_levels
from gaugewright.evidence.settling import settled
from gaugewright.sensing.shared import plus
from gaugewright.sensing.types import Gradient, Signal

Floats = npt.NDArray[np.float64]

PULSES = frozenset({"ignition", "crank", "cam"})
PRESSURES = frozenset(
    {
        "oil-pressure",
        "crankcase-pressure",
        "manifold-pressure",
        "cylinder-pressure",
        "exhaust-pressure",
        "fuel-pressure",
        "coolant-pressure",
    }
)
UNSETTLED = frozenset({"engine-off", "cranking", "snap"})
BLOCKING = frozenset({"vent-port-blocked", "fresh-air-blocked"})
"""Closing a way out fills the crankcase: a course, not a mean (common practice, no source)."""
LEAST_COVERED = 0.3
"""A stretch with cycles for less than this share of its time has lost its rotation (J)."""
RANGE_MARGIN = 0.005
"""Noise about the end of a range is not beyond it: this share of the range is let pass (J)."""
STOPPED_SHARE = 0.005
FEW_CYCLES = 8
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
    lag_s: float = 0.0
    timed: bool = True

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
        if self.lag_s == 0.0:
            return np.interp(time_s, self.table.middle_s, self.table.speed_rpm)
        return read_at(time_s + self.lag_s, self.table.middle_s, self.table.speed_rpm)

    @property
    def untimed_s(self) -> float:
        """By how much the speed may be late without anything having told."""
        return 0.0 if self.timed else UNTIMED_S

    @property
    def refresh_s(self) -> float:
        """The interval of a sampled speed column, 0 for pulses."""
        rotation = self.recording.rotation
        return 0.0 if rotation is None else rotation.refresh_s


@dataclass(frozen=True)
class Held:
    """One quantity as one source held it in one condition, house units."""

    visit: str
    state: int
    condition: str
    did: tuple[str, ...]
    quantity: str
    reference: str | None
    labels: tuple[str, ...]
    level: Level
    gradient: Gradient
    mid_job_s: float
    flags: tuple[str, ...] = ()
    bound: str | None = None
    by_hand: bool = False
    turning: bool = True
    assumed_speed: bool = False


def kept_stretch(recording: Sensed, span: Span, table: CycleTable) -> Kept | None:
    """The whole cycles of a marked stretch; None where it holds none."""
    margin = 1e-9 + 1e-9 * abs(span.to_s)
    first = int(np.searchsorted(table.start_s, span.from_s - margin))
    last = int(np.searchsorted(table.end_s, span.to_s + margin, side="right"))
    if _covered(table, first, last) < LEAST_COVERED * (span.to_s - span.from_s):
        return _windowed(recording, span)
    kept = Kept(recording, span, table, first, last)
    return kept


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


def settled_stretch(kept: Kept, lag_s: float, timed: bool) -> Kept:
    """The stretch without its transitions, its speed read as late as the column is."""
    if kept.table.source == "engine-speed":
        kept = replace(kept, lag_s=lag_s, timed=timed)
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


def votes_on_delay(kept: Kept) -> Floats | None:
    """What this stretch says of how late its sampled speed is; None where it cannot tell."""
    speed = kept.table.speed_rpm
    if kept.table.source != "engine-speed" or speed is None:
        return None
    signal = next((s for s in kept.recording.signals if s.quantity == "oil-pressure"), None)
    if signal is None or is_slow(signal, SLOW_S):
        return None
    time = kept.table.middle_s
    values = kept.table.means[signal.label][kept.cycles]
    return evidence_of_delay(time[kept.cycles], values, time, speed)


def level_of(signal: Signal, kept: Kept) -> Level:
    """The level one signal held; slow signals count their own samples, others cycles."""
    time, length = _rows(signal, kept)
    cycle = (kept.to_s - kept.from_s) / max(kept.last - kept.first, 1)
    if is_slow(signal, cycle):
        inside = slice(*np.searchsorted(signal.time_s, (kept.from_s, kept.to_s)))
        values = signal.values[inside]
        if signal.bad is not None:
            values = np.where(signal.bad[inside], np.nan, values)
    else:
        values = kept.table.means[signal.label][kept.cycles]
    speed = None if signal.quantity == "engine-speed" else kept.speed_at(time)
    return fit_levels(values[:, None], time, length, speed, kept.untimed_s, kept.refresh_s)[0]


def _rows(signal: Signal, kept: Kept) -> tuple[Floats, Floats]:
    """Instants and durations of the rows a signal is judged by."""
    cycle = (kept.to_s - kept.from_s) / max(kept.last - kept.first, 1)
    if not is_slow(signal, cycle):
        table = kept.table
        return table.middle_s[kept.cycles], (table.end_s - table.start_s)[kept.cycles]
    inside = slice(*np.searchsorted(signal.time_s, (kept.from_s, kept.to_s)))
    time = signal.time_s[inside]
    return time, np.full(len(time), signal.interval_s)


def difference_level(one: Signal, other: Signal, shift_s: float, kept: Kept) -> Level:
    """The level of `one` minus `other`, row by row; `shift_s` takes other's clock to one's."""
    cycle = (kept.to_s - kept.from_s) / max(kept.last - kept.first, 1)
    slowest = max((one, other), key=lambda signal: signal.interval_s)
    if not is_slow(slowest, cycle):
        start, end = kept.table.start_s[kept.cycles], kept.table.end_s[kept.cycles]
        values = mean_between(one, start, end) - mean_between(other, start - shift_s, end - shift_s)
        time, length = 0.5 * (start + end), end - start
    else:
        window = slowest.interval_s
        time = np.arange(kept.from_s + 0.5 * window, kept.to_s, window)
        start, end = time - 0.5 * window, time + 0.5 * window
        values = mean_between(one, start, end) - mean_between(other, start - shift_s, end - shift_s)
        length = np.full(len(time), window)
    speed = kept.speed_at(time)
    return fit_levels(values[:, None], time, length, speed, kept.untimed_s, kept.refresh_s)[0]


def held_by_signal(signal: Signal, kept: Kept, state: int) -> Held | None:
    """What one signal held in one stretch; None where it has no value there."""
    try:
        level = level_of(signal, kept)
    except ValueError:
        return None
    level = _with_quantisation(level, signal, kept)
    flags, bound = _health(signal, kept, level)
    return Held(
        visit=kept.recording.visit,
        state=state,
        condition=kept.span.condition,
        did=kept.span.did,
        quantity=signal.quantity,
        reference=signal.reference,
        labels=(signal.label,),
        level=level,
        gradient=signal.gradient(level.value),
        mid_job_s=level.mid_s + kept.recording.offset_s,
        flags=flags,
        bound=bound,
        turning=kept.table.turning,
    )


def _with_quantisation(level: Level, signal: Signal, kept: Kept) -> Level:
    """Adds what rounding to steps leaves when the signal moves too little to blur it.

    The rounding error's mean has variance step^2 sum exp(-4 pi^2 k^2 s^2/step^2)/(2 pi^2 k^2)
    over k, step^2/12 for a still signal (Widrow and Kollar, Quantization Noise, 2008).
    """
    if signal.step <= 0.0:
        return level
    inside = slice(*np.searchsorted(signal.time_s, (kept.from_s, kept.to_s)))
    blur = (
        float(np.nanstd(signal.values[inside])) / signal.step if inside.stop > inside.start else 0
    )
    blur = np.sqrt(max(blur**2 - 1.0 / 12.0, 0.0))
    k = np.arange(1, 20)
    left = float(np.sum(np.exp(-4 * np.pi**2 * k**2 * blur**2) / (2 * np.pi**2 * k**2)))
    scale = level.scale.copy()
    scale[0, 0] += signal.step**2 * left
    return replace(level, scale=scale)


def _health(signal: Signal, kept: Kept, level: Level) -> tuple[tuple[str, ...], str | None]:
    """Flags of one signal in one stretch, and the bound a stop leaves."""
    inside = slice(*np.searchsorted(signal.time_s, (kept.from_s, kept.to_s)))
    values = signal.values[inside]
    count = max(len(values), 1)
    flags = []
    low = 0.0 if signal.at_low is None else float(np.sum(signal.at_low[inside])) / count
    high = 0.0 if signal.at_high is None else float(np.sum(signal.at_high[inside])) / count
    bound = "at most" if low > STOPPED_SHARE else "at least" if high > STOPPED_SHARE else None
    if bound:
        flags.append("at-stop")
    if _beyond_range(values, signal):
        flags.append("out-of-range")
    if signal.bad is not None and signal.bad[inside].any():
        flags.append("interference")
    if not np.isfinite(values).all():
        flags.append("missing-samples")
    if level.outlying:
        flags.append("cycles-left-out")
    if level.cycles < FEW_CYCLES:
        flags.append("few-cycles")
    return (*flags, *_notes_as_flags(signal)), bound


def _beyond_range(values: Floats, signal: Signal) -> bool:
    low = -np.inf if signal.range_low is None else signal.range_low
    high = np.inf if signal.range_high is None else signal.range_high
    width = high - low if np.isfinite(high - low) else 0.0
    margin = RANGE_MARGIN * width
    return bool(np.any(values < low - margin) or np.any(values > high + margin))


def _notes_as_flags(signal: Signal) -> tuple[str, ...]:
    keep = {"calibration-unstated", "calibration-lack-of-fit", "zero-at-stop"}
    return tuple(note.code for note in signal.notes if note.code in keep)


def subtracted(one: Held, other: Held, level: Level, flags: tuple[str, ...] = ()) -> Held:
    """The oil pressure that the bearings feel: gauge less crankcase, as a level of its own."""
    bound = one.bound or {"at most": "at least", "at least": "at most", None: None}[other.bound]
    return replace(
        one,
        reference="crankcase",
        labels=(*one.labels, *other.labels),
        level=level,
        gradient=plus(one.gradient, other.gradient, -1.0),
        flags=tuple(dict.fromkeys((*one.flags, *other.flags, *flags))),
        bound=bound,
    )
