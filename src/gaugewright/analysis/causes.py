"""The causes of a job, put into its findings, or the reason why there are none."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from gaugewright.evidence.case import Case, GaugeZero
from gaugewright.evidence.results import Caveat, Findings
from gaugewright.job.model import Job
from gaugewright.quantities.said import said

if TYPE_CHECKING:
    from gaugewright.causes.odds import Table


def with_causes(
    findings: Findings,
    job: Job,
    case: Case,
    barometer_pa: float | None,
    table: Table | None = None,
    zeros: tuple[GaugeZero, ...] = (),
) -> Findings:
    """The findings with causes, severities, leaks and next tests.

    A job that asks nothing (no complaint, nothing observed, no limit) gets none, and neither does
    an engine that the virtual one cannot be; the warnings say so.  `table`: the odds before any
    evidence, None for the shipped ones; others are told in the warnings.  `zeros`: what the gauges
    of oil pressure showed with the engine off.
    """
    reason = _reason_against(job)
    if reason is not None:
        return replace(findings, warnings=(*findings.warnings, reason))
    from gaugewright.causes.judging import judged, race_of
    from gaugewright.causes.leaks import leaks
    from gaugewright.causes.next_test import advice

    race = race_of(job, case, barometer_pa, table, zeros)
    found, advised = judged(race), advice(race)
    return replace(
        findings,
        hypotheses=found.hypotheses,
        causes=found.causes,
        leaks=leaks(race),
        next_tests=advised.tests,
        stop_rule=advised.stop_rule,
        warnings=(*findings.warnings, *found.caveats, *_origin(table)),
    )


def _origin(table: Table | None) -> tuple[Caveat, ...]:
    """Whose odds they are, where they are not the shipped ones."""
    if table is None:
        return ()
    origin = table.origin or said("not those that ship with the program")
    text = said("the odds before any evidence are {origin}", origin=origin)
    return (Caveat("odds-replaced", text, said("causes")),)


def _reason_against(job: Job) -> Caveat | None:
    if job.vehicle.cycle != "four-stroke":
        return Caveat(
            "causes-other-engine",
            "the virtual engine that weighs the causes is a four-stroke; no cause is weighed",
            said("job.toml, vehicle"),
        )
    asked = job.complaint.text or job.complaint.codes or job.observations or job.limits
    if not asked:
        return Caveat(
            "causes-not-asked",
            "no complaint, observation or limit is stated, so there is nothing to find a cause for",
            "job.toml",
        )
    return None
