"""The case as it stands: every condition with all that was held in it, ready to be asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.gather import Gathered
from gaugewright.evidence.held import Held
from gaugewright.evidence.level import Level
from gaugewright.evidence.sources import Source, against, corrected, differential
from gaugewright.evidence.warmth import (
    Viscosity,
    Warmth,
    to_temperature,
    unknown_warmth,
    warmth_of,
)
from gaugewright.quantities.catalogue import PRESSURES
from gaugewright.sensing.shared import SharedErrors, plus

Floats = npt.NDArray[np.float64]

DID_NOT_RUN = frozenset({"engine-off", "cranking"})
ENDLESS = 1000.0
AGREEMENT = 2.0


@dataclass(frozen=True)
class GaugeZero:
    """What a gauge showed with the engine off, less what it should have shown, Pa, with the
    variance of that; `used` where its readings were corrected by it."""

    label: str
    off_pa: float
    variance: float
    used: bool


@dataclass(frozen=True)
class Situation:
    """One condition of one state: its sources by (quantity, reference), its oil's warmth."""

    visit: str
    state: int
    condition: str
    did: tuple[str, ...]
    mid_job_s: float
    sources: Mapping[tuple[str, str | None], tuple[Source, ...]]
    warmth: Warmth

    @property
    def running(self) -> bool:
        """Did the engine run in this condition?"""
        return not DID_NOT_RUN & set(self.did)

    def held(self, quantity: str, reference: str | None) -> tuple[Held, ...]:
        """All levels of a quantity against a reference."""
        return tuple(source.held for source in self.sources.get((quantity, reference), ()))

    @property
    def speed_rpm(self) -> float | None:
        """The mean speed of the condition, from whichever source has one."""
        for sources in self.sources.values():
            for source in sources:
                if source.held.level.speed_rpm is not None:
                    return source.held.level.speed_rpm
        speeds = self.held("engine-speed", None)
        return speeds[0].level.value if speeds else None

    @property
    def base_pa(self) -> float:
        """The oil pressure that follows viscosity: the bearings' where known, else the gauge's."""
        for reference in ("crankcase", "atmosphere"):
            held = self.held("oil-pressure", reference)
            if held:
                return held[0].level.value
        return 0.0


@dataclass(frozen=True)
class Case:
    """All situations in the order of the day, the book of shared errors, and the oils."""

    situations: tuple[Situation, ...]
    book: SharedErrors
    barometer_pa: float | None
    oils: Mapping[str, Viscosity]
    gathered: Gathered

    def uncertainty(self, held: Held) -> tuple[float, float | None]:
        """Standard uncertainty of a level and its degrees of freedom, None for endless."""
        own = float(held.level.scale[0, 0])
        return combined(own, self.book.between(held.gradient, held.gradient), held.level.dof)

    def at_warmth(self, situation: Situation, held: Held, degc: float) -> Held:
        """The level at another oil temperature."""
        oil = self.oils[situation.visit]
        return to_temperature(held, situation.warmth, situation.base_pa, degc, oil)


def combined(own: float, shared: float, dof: float) -> tuple[float, float | None]:
    """u and its effective degrees of freedom (Welch-Satterthwaite; JCGM 100:2008, G.4.1)."""
    total = own + max(shared, 0.0)
    if own <= 0.0 or not np.isfinite(own):
        return float(np.sqrt(total)), None
    effective = dof * (total / own) ** 2
    return float(np.sqrt(total)), None if effective > ENDLESS else effective


def build_case(
    gathered: Gathered,
    book: SharedErrors,
    barometer_pa: float | None,
    oils: Mapping[str, Viscosity],
    noted_degc: Mapping[tuple[str, str], list[float]],
) -> Case:
    """Group the levels by condition, derive the other references, correct by the zeros."""
    groups: dict[tuple[str, int, str], list[Source]] = {}
    for source in gathered.sources:
        held = source.held
        groups.setdefault((held.visit, held.state, held.condition), []).append(source)
    situations = [
        _situation(key, sources, book, barometer_pa, noted_degc.get((key[0], key[2]), []))
        for key, sources in groups.items()
    ]
    return Case(tuple(_warmed(situations)), book, barometer_pa, oils, gathered)


def _situation(
    key: tuple[str, int, str],
    sources: list[Source],
    book: SharedErrors,
    barometer_pa: float | None,
    noted: list[float],
) -> Situation:
    visit, state, condition = key
    table = _references(sources, barometer_pa)
    fixed = {
        name: tuple(replace(s, held=corrected(s.held, book)) for s in group)
        for name, group in table.items()
    }
    mates = [s.held for group in fixed.values() for s in group]
    warmth = warmth_of(mates, noted) or Warmth(0.0, 0.0, {}, False)
    first = sources[0].held
    return Situation(visit, state, condition, first.did, first.mid_job_s, fixed, warmth)


def _references(
    sources: list[Source], barometer_pa: float | None
) -> dict[tuple[str, str | None], tuple[Source, ...]]:
    """Every quantity against every reference that the sources allow."""
    table: dict[tuple[str, str | None], list[Source]] = {}
    for source in sources:
        held = source.held
        table.setdefault((held.quantity, held.reference), []).append(source)
        if held.quantity in PRESSURES and held.reference in ("atmosphere", "vacuum"):
            other = "vacuum" if held.reference == "atmosphere" else "atmosphere"
            moved = against(held, other, barometer_pa)
            if moved is not None:
                table.setdefault((held.quantity, other), []).append(replace(source, held=moved))
    _add_differentials(sources, table, barometer_pa)
    return {name: tuple(group) for name, group in table.items()}


def _add_differentials(
    sources: list[Source],
    table: dict[tuple[str, str | None], list[Source]],
    barometer_pa: float | None,
) -> None:
    oils = [s for s in sources if s.held.quantity == "oil-pressure"]
    crankcases = [s for s in sources if s.held.quantity == "crankcase-pressure"]
    for oil in oils:
        for crankcase in crankcases:
            if oil.held.reference == "crankcase":
                _add_gauge(oil, crankcase, table, barometer_pa)
            else:
                found = differential(oil, crankcase, barometer_pa)
                if found is not None:
                    table.setdefault(("oil-pressure", "crankcase"), []).append(found)


def _add_gauge(
    oil: Source,
    crankcase: Source,
    table: dict[tuple[str, str | None], list[Source]],
    barometer_pa: float | None,
) -> None:
    """A differential oil sensor plus the crankcase gives what a gauge outside would see."""
    other = against(crankcase.held, "atmosphere", barometer_pa)
    if other is None:
        return
    at = oil.held.level.speed_rpm if np.isfinite(other.level.scale[1, 1]) else None
    value, variance = other.level.at(at)
    scale = oil.held.level.scale.copy()
    scale[0, 0] += variance
    level = replace(oil.held.level, value=oil.held.level.value + value, scale=scale)
    held = replace(
        oil.held,
        reference="atmosphere",
        labels=(*oil.held.labels, *other.labels),
        level=level,
        gradient=plus(oil.held.gradient, other.gradient),
        flags=tuple(dict.fromkeys((*oil.held.flags, *other.flags))),
        bound=oil.held.bound or other.bound,
    )
    table.setdefault(("oil-pressure", "atmosphere"), []).append(replace(oil, held=held))
    absolute = against(held, "vacuum", barometer_pa)
    if absolute is not None:
        table.setdefault(("oil-pressure", "vacuum"), []).append(replace(oil, held=absolute))


def _warmed(situations: list[Situation]) -> list[Situation]:
    """Situations without a measured temperature get their nearest neighbour's, or none."""
    found = []
    for situation in situations:
        warmth = situation.warmth
        if not warmth.known:
            mates = [
                s
                for s in situations
                if (s.visit, s.state) == (situation.visit, situation.state) and s.warmth.known
            ]
            nearest = min(mates, key=lambda s: abs(s.mid_job_s - situation.mid_job_s), default=None)
            apart = 0.0 if nearest is None else (situation.mid_job_s - nearest.mid_job_s) / 60
            warmth = unknown_warmth(
                situation.visit,
                situation.mid_job_s / 60,
                None if nearest is None else nearest.warmth,
                apart,
            )
        found.append(replace(situation, warmth=warmth))
    return found


def chosen(case: Case, group: tuple[Held, ...]) -> tuple[Held | None, bool]:
    """The level that checks use: the only one, or the weighted mean of those that agree.

    Two instruments agree within twice the uncertainty of their difference; when they don't,
    there is no verdict and the second value is False.
    """
    if not group:
        return None, True
    group = tuple(h for h in group if h.level.has_interval) or group[:1]
    best = group[0]
    for other in group[1:]:
        if set(other.labels) & set(best.labels):
            continue
        if not _agree(case, best, other):
            return best, False
        best = _weighted(case, best, other)
    return best, True


def _agree(case: Case, one: Held, other: Held) -> bool:
    gradient = plus(one.gradient, other.gradient, -1.0)
    value, variance = _brought(other, one)
    spread = float(one.level.scale[0, 0]) + variance + case.book.between(gradient, gradient)
    return bool(abs(one.level.value - value) <= AGREEMENT * np.sqrt(spread))


def _brought(held: Held, to: Held) -> tuple[float, float]:
    speed = to.level.speed_rpm if np.isfinite(held.level.scale[1, 1]) else None
    return held.level.at(speed)


def _weighted(case: Case, one: Held, other: Held) -> Held:
    """The weighted mean of two instruments; their cycles' scatter is taken as common."""
    value, variance = _brought(other, one)
    own = float(one.level.scale[0, 0])
    first = own + case.book.between(one.gradient, one.gradient)
    second = variance + case.book.between(other.gradient, other.gradient)
    both = case.book.between(one.gradient, other.gradient)
    weight = float(np.clip((second - both) / max(first + second - 2 * both, 1e-30), 0.0, 1.0))
    scale = one.level.scale.copy()
    scale[0, 0] = (weight * np.sqrt(own) + (1 - weight) * np.sqrt(variance)) ** 2
    merged: Level = replace(
        one.level, value=weight * one.level.value + (1 - weight) * value, scale=scale
    )
    part = {name: weight * np.asarray(g) for name, g in one.gradient.items()}
    return replace(
        one,
        level=merged,
        labels=(*one.labels, *other.labels),
        gradient=plus(part, other.gradient, 1 - weight),
        flags=tuple(dict.fromkeys((*one.flags, *other.flags, "instruments-combined"))),
        bound=one.bound or other.bound,
    )
