"""Gauge and crankcase of one condition, or of the pieces of a slow course within it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugewright.evidence.case import Case, Situation
from gaugewright.evidence.held import Held
from gaugewright.evidence.level import fit_level
from gaugewright.evidence.sources import Source, differential

PIECES = 5
PIECE_CYCLES = 12


@dataclass(frozen=True)
class Point:
    """Gauge and crankcase level of one condition, or of one piece of a slow course."""

    situation: Situation
    gauge: Held
    crankcase: Held
    between: Held | None


def pieces(case: Case, point: Point) -> list[Point]:
    """A stretch in which the crankcase takes a slow course, cut into pieces of that course."""
    level = point.crankcase.level
    span = abs(level.drift) * level.length_s
    u = float(np.sqrt(max(level.scale[0, 0], 1e-12)))
    if level.behaviour != "drifting" or span < 10 * u or level.cycles < PIECES * PIECE_CYCLES:
        return []
    gauges = point.situation.sources["oil-pressure", "atmosphere"]
    crankcases = point.situation.sources["crankcase-pressure", "atmosphere"]
    gauge = next(s for s in gauges if s.held is point.gauge)
    crankcase = next(s for s in crankcases if s.held is point.crankcase)
    cut = [
        _piece(case, point, gauge, crankcase, k / PIECES, (k + 1) / PIECES) for k in range(PIECES)
    ]
    pieces = [piece for piece in cut if piece is not None]
    return pieces if len(pieces) == PIECES else []


def _piece(
    case: Case, point: Point, gauge: Source, crankcase: Source, begin: float, end: float
) -> Point | None:
    one = _part(gauge, begin, end)
    other = _part(crankcase, begin, end)
    if one is None or other is None:
        return None
    pair = differential(one, other, case.barometer_pa)
    return Point(point.situation, one.held, other.held, None if pair is None else pair.held)


def _part(source: Source, begin: float, end: float) -> Source | None:
    """The same source over a part of its stretch; its level keeps the corrections it had."""
    kept, signal = source.kept, source.signal
    if kept is None or signal is None or source.held.labels != (signal.label,):
        return None
    count = kept.last - kept.first
    part = replace(
        kept, first=kept.first + round(begin * count), last=kept.first + round(end * count)
    )
    values = kept.table.means[signal.label]
    table = kept.table
    lift = source.held.level.value - _raw_level(source)
    time = table.middle_s[part.cycles]
    length = (table.end_s - table.start_s)[part.cycles]
    if not np.isfinite(values[part.cycles]).sum() >= PIECE_CYCLES:
        return None
    level = fit_level(values[part.cycles], time, length, part.speed_at(time))
    level = replace(level, value=level.value + lift)
    return replace(source, kept=part, held=replace(source.held, level=level))


def _raw_level(source: Source) -> float:
    kept, signal = source.kept, source.signal
    assert kept is not None
    assert signal is not None
    table, cycles = kept.table, kept.cycles
    return fit_level(
        table.means[signal.label][cycles],
        table.middle_s[cycles],
        (table.end_s - table.start_s)[cycles],
        kept.speed_at(table.middle_s[cycles]),
    ).value
