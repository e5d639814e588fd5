"""What every source held in every condition: the levels all later questions start from.

A source is one signal, one hand reading, or the difference of two of them.  Its level keeps
the noise of its own cycles apart from the errors it shares with others (`Gradient`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.cycles import is_slow, mean_between
from gaugewright.evidence.level import Level, fit_levels
from gaugewright.evidence.stretch import Kept
from gaugewright.sensing.shared import plus
from gaugewright.sensing.signals import RANGE_MARGIN
from gaugewright.sensing.types import Gradient, Signal

Floats = npt.NDArray[np.float64]

STOPPED_SHARE = 0.005
FEW_CYCLES = 8


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
