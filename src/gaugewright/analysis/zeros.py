"""Every engine-off stretch of a job, as observations of its sensors' shared errors."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugewright.evidence.cycles import Sensed, Span
from gaugewright.evidence.sources import BAROMETER
from gaugewright.recording.types import Note
from gaugewright.sensing.shared import SharedErrors
from gaugewright.sensing.types import Gradient, Signal
from gaugewright.sensing.zero import Zero, observe_zero, zero_of

ENGINE_OFF = "engine-off"
WINDOWS = 60
STILL = 6.0
DRIFTED = 9.0
"""Zeros of one sensor whose variance is so many times that of their own scatter have drifted."""


@dataclass(frozen=True)
class ZeroNote:
    """One zero that was used or refused: where, and the sentence that says so.

    `off` is how far it lay from what it should have shown, `variance` that of it, the sensor's own
    known errors included; `used` says whether the readings were corrected by it.
    """

    label: str
    visit: str
    condition: str
    indicated: float
    notes: tuple[Note, ...]
    quantity: str
    off: float
    variance: float
    used: bool


@dataclass(frozen=True)
class _Observed:
    """One engine-off stretch of one signal: what it showed, what it should have shown."""

    signal: Signal
    zero: Zero
    true: float
    shared: Gradient | None
    gradient: Gradient
    visit: str
    condition: str


def with_zeros(
    book: SharedErrors, recordings: tuple[Sensed, ...], barometer_pa: float | None
) -> tuple[SharedErrors, tuple[ZeroNote, ...]]:
    """The book after every engine-off stretch; an absolute sensor needs a barometer for it.

    Zeros of one sensor that differ by more than their own scatter have drifted: what they differ
    by is added to each one's variance, so that a drift is not taken for a slope.
    """
    found = [
        one
        for recording in recordings
        for span in recording.spans
        if ENGINE_OFF in span.did
        for signal in recording.signals
        if (one := _observed(recording, span, signal, barometer_pa)) is not None
    ]
    told = []
    for one in found:
        notes: tuple[Note, ...] = ()
        own = one.zero.variance + book.between(one.gradient, one.gradient)
        if one.gradient:
            drifted = replace(one.zero, variance=one.zero.variance + _drift(one, found))
            book, notes = observe_zero(book, one.gradient, drifted, one.true, one.shared)
        told.append(_note(one, notes, own))
    return book, tuple(told)


def _note(one: _Observed, notes: tuple[Note, ...], variance: float) -> ZeroNote:
    return ZeroNote(
        label=one.signal.label,
        visit=one.visit,
        condition=one.condition,
        indicated=one.zero.indicated,
        notes=notes,
        quantity=one.signal.quantity,
        off=one.zero.indicated - one.true,
        variance=variance,
        used=bool(one.gradient) and not one.zero.at_stop,
    )


def _observed(
    recording: Sensed, span: Span, signal: Signal, barometer_pa: float | None
) -> _Observed | None:
    if signal.reference is None or signal.quantity == "coolant-pressure":
        return None
    absolute = signal.reference == "vacuum"
    if absolute and barometer_pa is None:
        return None
    zero = zero_of(signal, [still_part(signal, span.from_s, span.to_s)])
    if zero is None:
        return None
    return _Observed(
        signal=signal,
        zero=zero,
        true=float(barometer_pa or 0.0) if absolute else 0.0,
        shared={BAROMETER: np.ones(1)} if absolute else None,
        gradient=signal.gradient(zero.indicated),
        visit=recording.visit,
        condition=span.condition,
    )


def _drift(one: _Observed, found: list[_Observed]) -> float:
    """The variance by which the zeros of this one's sensor differ beyond their own scatter."""
    alike = [other for other in found if other.gradient.keys() == one.gradient.keys()]
    if len(alike) < 2:
        return 0.0
    between = float(np.var([other.true - other.zero.indicated for other in alike], ddof=1))
    within = float(np.mean([other.zero.variance for other in alike]))
    return between - within if between > DRIFTED * within else 0.0


def still_part(signal: Signal, from_s: float, to_s: float) -> tuple[float, float]:
    """The part of an engine-off stretch in which the pressure has come to rest.

    Oil drains from a gallery for seconds after the engine stops: windows at the stretch's ends
    that stand off its middle by more than their scatter are left out.
    """
    inside = slice(*np.searchsorted(signal.time_s, (from_s, to_s)))
    values = signal.values[inside]
    if len(values) < 4 * WINDOWS:
        return from_s, to_s
    usable = len(values) // WINDOWS * WINDOWS
    means = np.nanmedian(values[:usable].reshape(WINDOWS, -1), axis=1)
    middle = means[WINDOWS // 3 : 2 * WINDOWS // 3]
    spread = max(1.4826 * float(np.median(np.abs(middle - np.median(middle)))), signal.step, 1e-9)
    still = np.abs(means - np.median(middle)) <= STILL * spread
    first = int(np.argmax(still)) if still.any() else 0
    last = WINDOWS - int(np.argmax(still[::-1]))
    for k in range(WINDOWS // 3):
        if not still[k]:
            first = max(first, k + 1)
        if not still[WINDOWS - 1 - k]:
            last = min(last, WINDOWS - 1 - k)
    length = (to_s - from_s) / WINDOWS
    return from_s + first * length, from_s + last * length
