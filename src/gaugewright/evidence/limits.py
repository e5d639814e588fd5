"""Limit checks: the maker's own by the gauge first, then what the bearings get.

The gauge check is the maker's.  The bearings' check is the differential against the limit less
the crankcase pressure of a sound engine; it explains and never acquits.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from gaugewright.evidence.case import Case, Situation, chosen, combined
from gaugewright.evidence.conformity import chance_of_meeting, guard_band, verdict_of
from gaugewright.evidence.held import Held
from gaugewright.evidence.results import Caveat, LimitCheck, Quantified
from gaugewright.evidence.slopes import together
from gaugewright.evidence.visiting import Bounds, visits
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.said import said

UNKNOWN_K = 10.0
USUAL_CRANKCASE_PA = -4000.0
UNKNOWN_SPEED_SHARE = 0.04
"""Standard doubt of an oil pressure whose speed nobody knows, as a share of it (J)."""


@dataclass(frozen=True)
class Judged:
    """A value brought to the limit's state, with u and degrees of freedom, house units."""

    value: float
    u: float
    dof: float | None
    speed_rpm: float | None
    oil_degc: float | None
    bound: str | None
    shift_k: float
    """Change of the value for the temperatures that an unknown one may have, 0 if known."""


def limit_checks(
    case: Case, limits: Iterable[Bounds], switches_rpm: tuple[float, float] | None
) -> tuple[list[LimitCheck], list[Caveat]]:
    """Every limit against every condition that visited its state."""
    found: list[LimitCheck] = []
    caveats: list[Caveat] = []
    names = {situation.condition for situation in case.situations}
    for limit in limits:
        visiting = [
            s for s in case.situations if visits(s, limit, switches_rpm, named=limit.name in names)
        ]
        checks = [c for s in visiting for c in _checks(case, s, limit, caveats)]
        found += checks or [_not_measured(limit)]
    return found, caveats


def _checks(
    case: Case, situation: Situation, limit: Bounds, caveats: list[Caveat]
) -> list[LimitCheck]:
    gauge, agree = chosen(case, situation.held(limit.quantity, limit.reference))
    assert gauge is not None
    checks = [_check(case, situation, limit, gauge, agree, "gauge", 0.0)]
    if limit.quantity != "oil-pressure" or limit.reference != "atmosphere":
        return checks
    bearings, both = chosen(case, situation.held("oil-pressure", "crankcase"))
    if bearings is None:
        caveats.append(_no_crankcase(situation, limit))
        return checks
    sound = limit.crankcase_pa or 0.0
    check = _check(case, situation, limit, bearings, agree and both, "bearings", sound)
    if limit.crankcase_pa is None:
        usual = _check(
            case, situation, limit, bearings, agree and both, "bearings", USUAL_CRANKCASE_PA
        )
        if usual.verdict != check.verdict:
            check = _flagged(check, "crankcase-of-a-sound-engine-unknown")
    return [*checks, check]


def _no_crankcase(situation: Situation, limit: Bounds) -> Caveat:
    return Caveat(
        "crankcase-not-measured",
        "crankcase pressure was not read in this condition, so what the bearings get is not known",
        said(
            "{visit}, {condition}, limit {limit}",
            visit=situation.visit,
            condition=situation.condition,
            limit=limit.name,
        ),
    )


def _flagged(check: LimitCheck, flag: str) -> LimitCheck:
    return replace(check, flags=(*check.flags, flag))


def at_limit(case: Case, situation: Situation, limit: Bounds, held: Held) -> Judged:
    """The level at the limit's speed and, where it states one, oil temperature."""
    warmth = situation.warmth
    shift = 0.0
    degc = warmth.degc if warmth.known else None
    if limit.oil_degc is not None and held.quantity == "oil-pressure":
        if warmth.known:
            held = case.at_warmth(situation, held, limit.oil_degc)
            degc = limit.oil_degc
        else:
            shift = UNKNOWN_K
    level = held.level
    speed = limit.speed_rpm
    value, own = level.value, float(level.scale[0, 0])
    if speed is not None and level.speed_rpm is not None and level.has_interval:
        lift = (case.barometer_pa or 0.0) if held.reference == "vacuum" else 0.0
        values, variances = together(held.quantity, [level], speed, lift)
        value, own = float(values[0]), float(variances[0, 0])
    else:
        if speed is not None and held.quantity == "oil-pressure":
            own += (UNKNOWN_SPEED_SHARE * value) ** 2
        speed = level.speed_rpm
    shared = case.book.between(held.gradient, held.gradient)
    u, dof = combined(own, shared, level.dof)
    return Judged(value, u, dof, speed, degc, held.bound, shift)


def _check(
    case: Case,
    situation: Situation,
    limit: Bounds,
    held: Held,
    agree: bool,
    seen_by: str,
    sound_pa: float,
) -> LimitCheck:
    judged = at_limit(case, situation, limit, held)
    least, most = limit.lowered(sound_pa)
    verdict, chances, flags = _verdict(case, situation, limit, judged, least, most)
    if judged.shift_k:
        judged = _widened(case, situation, limit, judged)
    if limit.speed_rpm is not None and judged.speed_rpm is None:
        flags = (*flags, "speed-unknown")
    if not agree:
        verdict, flags = "too close to call", (*flags, "instruments-disagree")
    kind = QUANTITIES[limit.quantity]
    factor = kind.findings_factor
    u = judged.u * factor if np.isfinite(judged.u) else None
    band = None if u is None else guard_band(judged.u, judged.dof) * factor
    return LimitCheck(
        limit=limit.name,
        quantity=limit.quantity,
        seen_by=seen_by,
        condition=situation.condition,
        at=_state(judged),
        limit_value=_ends(least, most, factor),
        unit=kind.findings_unit,
        value=judged.value * factor,
        standard_uncertainty=u,
        guard_band=band,
        probability_of_meeting=chances[0] if chances[0] == chances[1] else None,
        verdict=verdict,
        visit=situation.visit,
        probability_low=None if chances[0] == chances[1] else chances[0],
        probability_high=None if chances[0] == chances[1] else chances[1],
        flags=flags,
    )


def _verdict(
    case: Case,
    situation: Situation,
    limit: Bounds,
    judged: Judged,
    least: float | None,
    most: float | None,
) -> tuple[str, tuple[float, float], tuple[str, ...]]:
    """Verdict, the probability of meeting (both ends of it), and flags."""
    if judged.bound:
        chances = _one_sided(judged, least, most)
        return _if_both_agree(judged, least, most), chances, ("at-stop",)
    chance = chance_of_meeting(judged.value, judged.u, judged.dof, least, most)
    verdict = verdict_of(judged.value, judged.u, judged.dof, least, most)
    if judged.shift_k == 0.0:
        flags = () if limit.oil_degc is None else situation.warmth.flags
        return verdict, (chance, chance), flags
    values = _either_side(case, situation, limit, judged)
    verdicts = {verdict, *(verdict_of(v, judged.u, judged.dof, least, most) for v in values)}
    settled = verdict if len(verdicts) == 1 else "too close to call"
    wide = _widened(case, situation, limit, judged)
    chance = chance_of_meeting(wide.value, wide.u, wide.dof, least, most)
    return settled, (chance, chance), ("oil-temperature-unknown",)


def _widened(case: Case, situation: Situation, limit: Bounds, judged: Judged) -> Judged:
    """The value with the doubt of a temperature that may be 10 K off either way (rectangular)."""
    cool, warm = _either_side(case, situation, limit, judged)
    half = 0.5 * abs(cool - warm)
    return replace(judged, u=float(np.hypot(judged.u, half / np.sqrt(3.0))))


def _either_side(
    case: Case, situation: Situation, limit: Bounds, judged: Judged
) -> tuple[float, float]:
    """The value were the oil 10 K cooler or warmer than the limit's temperature."""
    from gaugewright.evidence.warmth import EXPONENT

    oil, target = case.oils[situation.visit], float(limit.oil_degc or 0.0)
    base = situation.base_pa
    moved = [
        base * ((oil(target) / oil(target + off)) ** EXPONENT - 1.0)
        for off in (-judged.shift_k, judged.shift_k)
    ]
    return judged.value + moved[0], judged.value + moved[1]


def _one_sided(judged: Judged, least: float | None, most: float | None) -> tuple[float, float]:
    """The least and the greatest probability of meeting that a stopped signal leaves open."""
    here = chance_of_meeting(judged.value, judged.u, judged.dof, least, most)
    beyond = 0.0
    if judged.bound == "at least":
        beyond = 1.0 if most is None else 0.0
    elif judged.bound == "at most":
        beyond = 1.0 if least is None else 0.0
    passing = 1.0 if judged.bound == "at least" and least is not None and most is not None else here
    return min(here, beyond, passing), max(here, beyond, passing)


def _if_both_agree(judged: Judged, least: float | None, most: float | None) -> str:
    here = verdict_of(judged.value, judged.u, judged.dof, least, most)
    if judged.bound == "at least":
        beyond = "meets" if most is None else "exceeds"
    else:
        beyond = "meets" if least is None else "falls short"
    return here if here == beyond else "too close to call"


def _state(judged: Judged) -> dict[str, Quantified]:
    at = {}
    if judged.speed_rpm is not None:
        at["engine-speed"] = Quantified(judged.speed_rpm, "rpm")
    if judged.oil_degc is not None:
        at["oil-temperature"] = Quantified(judged.oil_degc, "degC")
    return at


def _ends(least: float | None, most: float | None, factor: float) -> dict[str, float]:
    ends = {"min": least, "max": most}
    return {name: end * factor for name, end in ends.items() if end is not None}


def _not_measured(limit: Bounds) -> LimitCheck:
    kind = QUANTITIES[limit.quantity]
    at = {}
    if limit.speed_rpm is not None:
        at["engine-speed"] = Quantified(limit.speed_rpm, "rpm")
    if limit.oil_degc is not None:
        at["oil-temperature"] = Quantified(limit.oil_degc, "degC")
    return LimitCheck(
        limit=limit.name,
        quantity=limit.quantity,
        seen_by="gauge",
        condition=None,
        at=at,
        limit_value=_ends(limit.least, limit.most, kind.findings_factor),
        unit=kind.findings_unit,
        value=None,
        standard_uncertainty=None,
        guard_band=None,
        probability_of_meeting=None,
        verdict="not measured",
    )
