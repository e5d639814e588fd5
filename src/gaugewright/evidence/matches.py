"""Matches: two readings of one quantity brought to one speed and one oil temperature."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np

from gaugewright.evidence.case import Case, Situation, combined
from gaugewright.evidence.held import Held
from gaugewright.evidence.level import Level, coverage_factor
from gaugewright.evidence.pump import comparable, knee_between
from gaugewright.evidence.results import Caveat, Match, Quantified
from gaugewright.evidence.slopes import common_speed, together
from gaugewright.quantities.catalogue import PRESSURES, QUANTITIES
from gaugewright.quantities.said import said
from gaugewright.sensing.shared import plus

MATCHED = PRESSURES | {"air-flow", "fuel-trim-short", "fuel-trim-long"}
EXCURSIONS = frozenset({"snap", "cranking", "engine-off"})


@dataclass(frozen=True)
class Difference:
    """`to` minus `from` in house units, with u, its degrees of freedom and where it holds."""

    value: float
    u: float
    dof: float | None
    speed_rpm: float
    extrapolated: bool


def pairs(case: Case) -> Iterator[tuple[Situation, Situation]]:
    """Every condition with the first of its state, and equal names across states."""
    running = [s for s in case.situations if s.running and not EXCURSIONS & set(s.did)]
    for place, later in enumerate(running):
        state = [s for s in running if (s.visit, s.state) == (later.visit, later.state)]
        if state[0] is not later:
            yield state[0], later
        earlier = [s for s in running[:place] if s.condition == later.condition]
        if earlier:
            yield earlier[0], later
        if len(earlier) > 1:
            yield earlier[-1], later


def matches(
    case: Case, switches_rpm: tuple[float, float] | None
) -> tuple[list[Match], list[Caveat]]:
    """Every pair, every quantity both hold, against every reference both have."""
    found: list[Match] = []
    caveats: list[Caveat] = []
    for first, second in pairs(case):
        for quantity, reference in first.sources:
            if quantity not in MATCHED or (quantity, reference) not in second.sources:
                continue
            match = _match(case, first, second, quantity, reference, switches_rpm)
            if isinstance(match, Match):
                found.append(match)
            else:
                caveats.append(match)
    return found, caveats


def _match(
    case: Case,
    first: Situation,
    second: Situation,
    quantity: str,
    reference: str | None,
    switches_rpm: tuple[float, float] | None,
) -> Match | Caveat:
    where = said(
        "{visit}, {first} to {second}, {quantity}",
        visit=second.visit,
        first=first.condition,
        second=second.condition,
        quantity=said(quantity),
    )
    options = []
    refused = Caveat(
        "speed-unknown", "no engine speed is known for both readings: no match is made", where
    )
    for one, other in product(first.held(quantity, reference), second.held(quantity, reference)):
        reason = _unfit(one, other, switches_rpm, where)
        if reason is None:
            options.append((difference(case, first, one, second, other), one, other))
        elif reason.code != "speed-unknown":
            refused = reason
    if not options:
        return refused
    best, one, _ = min(options, key=lambda option: option[0].u)
    return _stated(best, first, second, one)


def _unfit(
    one: Held, other: Held, switches_rpm: tuple[float, float] | None, where: str
) -> Caveat | None:
    """Why two levels must not be matched; None where they may."""
    if one.level.speed_rpm is None or other.level.speed_rpm is None:
        return Caveat(
            "speed-unknown", "no engine speed is known for both readings: no match is made", where
        )
    if one.bound or other.bound:
        return Caveat(
            "at-stop", "a signal rests on its stop in one of the two: no match is made", where
        )
    if not (one.level.has_interval and other.level.has_interval):
        return _too_few(where)
    if one.quantity != "oil-pressure" or one.reference == "vacuum":
        return None
    return _between(one.level, other.level, switches_rpm, where)


def _too_few(where: str) -> Caveat:
    return Caveat("no-interval", "too few cycles to say how well these two readings match", where)


def _between(
    one: Level, other: Level, switches_rpm: tuple[float, float] | None, where: str
) -> Caveat | None:
    """Why two oil pressures must not be matched: a step or a knee lies between their speeds."""
    if not comparable(one, other, switches_rpm):
        return Caveat(
            "pump-stage-between",
            "the two stretches lie on different sides of the pump's switching speeds: "
            "no match is made across the step",
            where,
        )
    if knee_between(one, other):
        return Caveat(
            "knee-between",
            "pressure and speed of the two stretches do not lie on one course: the pump's step "
            "or the relief valve lies between them, and no match is made across it",
            where,
        )
    return None


def difference(
    case: Case, first: Situation, one: Held, second: Situation, other: Held
) -> Difference:
    """`other` minus `one` at their common speed and at the mean of their oil temperatures."""
    if one.quantity == "oil-pressure":
        degc = 0.5 * (first.warmth.degc + second.warmth.degc)
        if first.warmth.known != second.warmth.known:
            degc = first.warmth.degc if first.warmth.known else second.warmth.degc
        one = case.at_warmth(first, one, degc)
        other = case.at_warmth(second, other, degc)
    speed, extrapolated = common_speed([one.level, other.level])
    lift = (case.barometer_pa or 0.0) if one.reference == "vacuum" else 0.0
    values, own = together(one.quantity, [one.level, other.level], speed, lift)
    way = np.array([-1.0, 1.0])
    gradient = plus(other.gradient, one.gradient, -1.0)
    dof = _dof(own, (one.level.dof, other.level.dof))
    u, effective = combined(float(way @ own @ way), case.book.between(gradient, gradient), dof)
    return Difference(float(way @ values), u, effective, speed, extrapolated)


def _dof(
    own: np.ndarray[tuple[int, ...], np.dtype[np.float64]], dofs: tuple[float, float]
) -> float:
    """Welch-Satterthwaite over the two stretches' own noise."""
    total = float(own[0, 0] + own[1, 1])
    parts = own[0, 0] ** 2 / dofs[0] + own[1, 1] ** 2 / dofs[1]
    return total**2 / float(parts) if parts > 0 else 1e9


def _stated(found: Difference, first: Situation, second: Situation, one: Held) -> Match | Caveat:
    kind = QUANTITIES[one.quantity]
    factor = kind.findings_factor
    half = coverage_factor(found.dof) * found.u * factor
    value = found.value * factor
    if not np.isfinite(half):
        return _too_few(f"{second.visit}, {first.condition} to {second.condition}, {one.quantity}")
    unknown = not (first.warmth.known and second.warmth.known)
    flags = ["oil-temperature-unknown"] if unknown and one.quantity == "oil-pressure" else []
    return Match(
        visit=second.visit,
        quantity=one.quantity,
        reference=one.reference,
        from_=first.condition,
        to=second.condition,
        at={"engine-speed": Quantified(found.speed_rpm, "rpm")},
        extrapolated=found.extrapolated,
        unit=kind.findings_unit,
        difference=value,
        standard_uncertainty=found.u * factor,
        low=value - half,
        high=value + half,
        from_visit=first.visit if first.visit != second.visit else None,
        flags=tuple(flags),
    )
