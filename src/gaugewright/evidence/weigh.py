"""All evidence of one job, from its sensed recordings to the findings' lists."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gaugewright.evidence.case import Case, build_case
from gaugewright.evidence.cycles import Sensed
from gaugewright.evidence.gather import HandValue, gather
from gaugewright.evidence.limits import limit_checks
from gaugewright.evidence.matches import matches
from gaugewright.evidence.readings import readings
from gaugewright.evidence.reference import reference_checks
from gaugewright.evidence.results import Caveat, Findings
from gaugewright.evidence.sources import BAROMETER
from gaugewright.evidence.switches import LampSwitch, switch_checks
from gaugewright.evidence.visiting import Bounds
from gaugewright.evidence.warmth import (
    ABOVE_COOLANT_ERROR,
    COOLANT_BLOCK,
    EXPONENT_BLOCK,
    EXPONENT_ERROR,
    MOST_UNKNOWN,
    RATE_ERROR,
    Viscosity,
    rate_block,
    visit_block,
)
from gaugewright.sensing.shared import SharedErrors


@dataclass(frozen=True)
class Questions:
    """What the job asks of its recordings, in house units."""

    title: str
    limits: tuple[Bounds, ...] = ()
    switches: tuple[LampSwitch, ...] = ()
    lamp_seen: frozenset[str] = frozenset()
    oil_pump: str | None = None
    pump_switches_rpm: tuple[float, float] | None = None
    noted_degc: Mapping[tuple[str, str], list[float]] | None = None


def with_common_blocks(
    book: SharedErrors, visits: tuple[str, ...], barometer_error_pa: float | None
) -> SharedErrors:
    """The book with what all readings share beside their sensors."""
    if barometer_error_pa is not None and BAROMETER not in book.blocks:
        book = book.with_block(BAROMETER, barometer_error_pa**2)
    book = book.with_block(EXPONENT_BLOCK, EXPONENT_ERROR**2)
    book = book.with_block(COOLANT_BLOCK, ABOVE_COOLANT_ERROR**2)
    for visit in visits:
        book = book.with_block(rate_block(visit), RATE_ERROR**2)
        book = book.with_block(visit_block(visit), 0.5 * MOST_UNKNOWN**2)
    return book


def weigh(
    recordings: tuple[Sensed, ...],
    by_hand: tuple[HandValue, ...],
    book: SharedErrors,
    barometer_pa: float | None,
    oils: Mapping[str, Viscosity],
    questions: Questions,
) -> tuple[Findings, Case]:
    """Readings, matches and checks, and the case they come from; causes are left empty."""
    gathered = gather(recordings, by_hand)
    case = build_case(gathered, book, barometer_pa, oils, questions.noted_degc or {})
    return findings_of(case, questions), case


def findings_of(case: Case, questions: Questions) -> Findings:
    """The findings of a built case."""
    switches_rpm = questions.pump_switches_rpm
    found, caveats = readings(case)
    matched, more = matches(case, switches_rpm)
    limits, unmeasured = limit_checks(case, questions.limits, switches_rpm)
    checks, doubts = reference_checks(case, questions.oil_pump, limits)
    empty = [
        Caveat(
            "no-whole-cycle",
            "the marked stretch holds no whole cycle of this recording",
            f"{recording.name}, {condition}",
        )
        for recording, condition in case.gathered.empty
    ]
    return Findings(
        format=1,
        job=questions.title,
        readings=tuple(found),
        matches=tuple(matched),
        reference_checks=tuple(checks),
        limit_checks=tuple(limits),
        switch_checks=tuple(switch_checks(case, questions.switches, questions.lamp_seen)),
        warnings=tuple(dict.fromkeys([*caveats, *more, *unmeasured, *doubts, *empty])),
    )
