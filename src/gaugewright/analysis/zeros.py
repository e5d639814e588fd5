"""Every engine-off stretch of a job, as observations of its sensors' shared errors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.evidence.cycles import Sensed, Span
from gaugewright.evidence.sources import BAROMETER
from gaugewright.recording.types import Note
from gaugewright.sensing.shared import SharedErrors
from gaugewright.sensing.types import Signal
from gaugewright.sensing.zero import Zero, observe_zero, zero_of

ENGINE_OFF = "engine-off"
WINDOWS = 60
STILL = 6.0


@dataclass(frozen=True)
class ZeroNote:
    """One zero that was used or refused: where, and the sentence that says so."""

    label: str
    visit: str
    condition: str
    indicated: float
    notes: tuple[Note, ...]


def with_zeros(
    book: SharedErrors, recordings: tuple[Sensed, ...], barometer_pa: float | None
) -> tuple[SharedErrors, tuple[ZeroNote, ...]]:
    """The book after every engine-off stretch; an absolute sensor needs a barometer for it."""
    told = []
    for recording in recordings:
        for span in recording.spans:
            if ENGINE_OFF not in span.did:
                continue
            for signal in recording.signals:
                book, note = _observed(book, recording, span, signal, barometer_pa)
                told += [note] if note else []
    return book, tuple(told)


def _observed(
    book: SharedErrors,
    recording: Sensed,
    span: Span,
    signal: Signal,
    barometer_pa: float | None,
) -> tuple[SharedErrors, ZeroNote | None]:
    if signal.reference is None or signal.quantity == "coolant-pressure":
        return book, None
    absolute = signal.reference == "vacuum"
    if absolute and barometer_pa is None:
        return book, None
    begin, finish = still_part(signal, span.from_s, span.to_s)
    zero = zero_of(signal, [(begin, finish)])
    if zero is None:
        return book, None
    true = float(barometer_pa or 0.0) if absolute else 0.0
    shared = {BAROMETER: np.ones(1)} if absolute else None
    book, notes = _learnt(book, signal, zero, true, shared)
    return book, ZeroNote(signal.label, recording.visit, span.condition, zero.indicated, notes)


def _learnt(
    book: SharedErrors,
    signal: Signal,
    zero: Zero,
    true: float,
    shared: dict[str, np.ndarray[tuple[int], np.dtype[np.float64]]] | None,
) -> tuple[SharedErrors, tuple[Note, ...]]:
    gradient = signal.gradient(zero.indicated)
    if not gradient:
        return book, ()
    return observe_zero(book, gradient, zero, true, shared)


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
