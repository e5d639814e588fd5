"""Readings as the findings state them."""

from __future__ import annotations

import numpy as np

from gaugewright.evidence.case import Case, Situation, chosen
from gaugewright.evidence.held import Held
from gaugewright.evidence.level import coverage_factor
from gaugewright.evidence.results import Caveat, Quantified, Reading
from gaugewright.evidence.warmth import Warmth
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.said import said


def readings(case: Case) -> tuple[list[Reading], list[Caveat]]:
    """One reading for every source, and one combined where several instruments agree."""
    found: list[Reading] = []
    caveats: list[Caveat] = []
    for situation in case.situations:
        for quantity, reference in situation.sources:
            group = situation.held(quantity, reference)
            found += [reading_of(case, situation, held) for held in group]
            best, agree = chosen(case, group)
            if best is not None and "instruments-combined" in best.flags:
                found.append(reading_of(case, situation, best))
            if not agree:
                caveats.append(_disagreement(situation, quantity, reference))
    return found, caveats


def _disagreement(situation: Situation, quantity: str, reference: str | None) -> Caveat:
    word = QUANTITIES[quantity].word
    return Caveat(
        "instruments-disagree",
        said(
            "two instruments differ on {what} by more than twice the uncertainty of their "
            "difference: no verdict is drawn from it until one of them is checked",
            what=said(word),
        ),
        said(
            "{visit}, {condition}, {quantity} against {reference}",
            visit=situation.visit,
            condition=situation.condition,
            quantity=said(quantity),
            reference=said(str(reference)),
        ),
    )


def reading_of(case: Case, situation: Situation, held: Held) -> Reading:
    """One level as a reading in the findings' units, with its 95 % interval."""
    kind = QUANTITIES[held.quantity]
    factor = kind.findings_factor
    u, dof = case.uncertainty(held)
    value, u = held.level.value * factor, u * factor
    half = coverage_factor(dof) * u
    known = bool(np.isfinite(half))
    level = held.level
    return Reading(
        visit=held.visit,
        condition=held.condition,
        quantity=held.quantity,
        reference=held.reference,
        signals=held.labels,
        unit=kind.findings_unit,
        value=value,
        standard_uncertainty=u if known else None,
        dof=dof,
        low=value - half if known and held.bound != "at most" else None,
        high=value + half if known and held.bound != "at least" else None,
        bound=held.bound,
        cycles=level.cycles if held.turning and not held.by_hand else None,
        speed=None if level.speed_rpm is None else Quantified(level.speed_rpm, "rpm"),
        oil_temperature=_temperature(case, situation.warmth),
        behaviour=None if held.by_hand else level.behaviour,
        flags=held.flags if known else (*held.flags, "no-interval"),
    )


def _temperature(case: Case, warmth: Warmth) -> Quantified | None:
    if not warmth.known:
        return None
    shared = case.book.between(warmth.gradient, warmth.gradient)
    degc = warmth.degc + case.book.correction(warmth.gradient)
    return Quantified(degc, "degC", float(np.sqrt(warmth.variance + shared)))
