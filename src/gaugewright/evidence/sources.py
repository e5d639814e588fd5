"""A level with the stretch and the signal it came from, against every reference."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugewright.evidence.held import Held, difference_level, subtracted
from gaugewright.evidence.level import Level
from gaugewright.evidence.stretch import Kept
from gaugewright.sensing.shared import SharedErrors, plus
from gaugewright.sensing.types import Signal

BAROMETER = "barometer"
HAND_DOF = 1e9


@dataclass(frozen=True)
class Source:
    """A level together with the stretch and the signal it came from, None when by hand."""

    held: Held
    kept: Kept | None
    signal: Signal | None


def against(held: Held, reference: str, barometer_pa: float | None) -> Held | None:
    """The same level against the outside air or a vacuum; None where no barometer is known."""
    if held.reference == reference:
        return held
    if barometer_pa is None or {held.reference, reference} != {"atmosphere", "vacuum"}:
        return None
    sign = 1.0 if reference == "vacuum" else -1.0
    level = replace(held.level, value=held.level.value + sign * barometer_pa)
    gradient = plus(held.gradient, {BAROMETER: np.ones(1)}, sign)
    return replace(held, reference=reference, level=level, gradient=gradient)


def differential(oil: Source, crankcase: Source, barometer_pa: float | None) -> Source | None:
    """Gauge less crankcase: cycle by cycle where both ran together, else from their levels."""
    one, other = oil.held, crankcase.held
    if one.reference != other.reference:
        moved = against(other, str(one.reference), barometer_pa)
        if moved is None:
            return None
        other = moved
    lift = other.level.value - crankcase.held.level.value
    together = _together(oil, crankcase)
    if together is not None:
        level = replace(together, value=together.value - lift)
        return replace(oil, held=subtracted(one, other, level))
    return replace(oil, held=subtracted(one, other, _level_difference(one.level, other.level)))


def _together(oil: Source, crankcase: Source) -> Level | None:
    """The row-by-row difference where both stretches overlap on the job's clock."""
    if oil.kept is None or oil.signal is None:
        return None
    if crankcase.kept is None or crankcase.signal is None:
        return None
    shift = crankcase.kept.recording.offset_s - oil.kept.recording.offset_s
    begin = max(oil.kept.from_s, crankcase.kept.from_s + shift)
    finish = min(oil.kept.to_s, crankcase.kept.to_s + shift)
    if finish - begin < 0.5 * (oil.kept.to_s - oil.kept.from_s):
        return None
    table = oil.kept.table
    first = int(np.searchsorted(table.start_s, begin - 1e-9))
    last = int(np.searchsorted(table.end_s, finish + 1e-9, side="right"))
    if last - first < 3:
        return None
    shared = replace(oil.kept, first=first, last=last)
    try:
        level = difference_level(oil.signal, crankcase.signal, shift, shared)
    except ValueError:
        return None
    return level if "several-stretches" not in oil.held.flags else None


def _level_difference(one: Level, other: Level) -> Level:
    """One level less another, brought to the first's speed; their noises are independent."""
    speed = one.speed_rpm if np.isfinite(other.scale[1, 1]) else None
    value, variance = other.at(speed)
    scale = one.scale.copy()
    own = scale[0, 0]
    scale[0, 0] = own + variance
    dof = HAND_DOF
    if not np.isfinite(scale[0, 0]):
        dof = min(one.dof, other.dof)
    elif scale[0, 0] > 0:
        dof = scale[0, 0] ** 2 / (own**2 / one.dof + variance**2 / other.dof)
    return replace(one, value=one.value - value, scale=scale, dof=dof, cycles=one.cycles)


def corrected(held: Held, book: SharedErrors) -> Held:
    """The level after the book's zeros have had their say."""
    level = replace(held.level, value=held.level.value + book.correction(held.gradient))
    return replace(held, level=level)
