"""The one path from a job to its findings."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import gaugewright
from gaugewright.analysis.causes import with_causes
from gaugewright.analysis.clocks import aligned
from gaugewright.analysis.lanes import Lanes, Maker, Memory, lanes_of, notes_of
from gaugewright.analysis.material import files, instruments, pictures
from gaugewright.analysis.outcome import Outcome
from gaugewright.analysis.progress import Progress, silent
from gaugewright.analysis.questions import (
    barometer_of,
    hand_values,
    oils_of,
    questions_of,
    with_instruments,
)
from gaugewright.analysis.zeros import ZeroNote, with_zeros
from gaugewright.evidence.case import GaugeZero
from gaugewright.evidence.cycles import Sensed
from gaugewright.evidence.offers import offered
from gaugewright.evidence.results import Caveat, Findings
from gaugewright.evidence.stretch import Kept
from gaugewright.evidence.weigh import weigh, with_common_blocks
from gaugewright.job.model import Job
from gaugewright.quantities.said import joined, said
from gaugewright.sensing.shared import SharedErrors

if TYPE_CHECKING:
    from gaugewright.causes.odds import Table


def analyse(
    job: Job,
    folder: Path,
    progress: Progress | None = None,
    memory: Memory | None = None,
    table: Table | None = None,
    maker: Maker | None = None,
    causes: bool = True,
) -> Outcome:
    """What do this job's recordings and hand readings say?

    Parameters: a validated `job` and the `folder` its files lie in; `progress` is told each
    stage; a `memory` that is handed in again spares what has not changed; `table` holds the odds
    of the causes before any evidence (None: the shipped ones); `maker` gives the recordings'
    numbers (None: their files in `folder` are imported); without `causes` none are weighed, which
    takes seconds: everything else is the same.
    Returns the findings (every ± a 95 % interval) with the material of both pages.
    Raises InputError with one sentence for everything that cannot be used.
    """
    tell = progress or silent
    lanes, told = aligned(lanes_of(job, folder, memory, tell, maker), job)
    barometer_pa, barometer_error = barometer_of(job)
    book = with_instruments(lanes.book, job)
    visits = tuple(visit.name for visit in job.visits)
    book = with_common_blocks(book, visits, barometer_error)
    book, zeros = with_zeros(book, lanes.sensed, barometer_pa)
    tell("weighing the evidence")
    findings, case = weigh(
        lanes.sensed, hand_values(job), book, barometer_pa, oils_of(job), questions_of(job)
    )
    findings = replace(
        findings,
        method_version=gaugewright.METHOD_VERSION,
        warnings=(*findings.warnings, *_caveats(lanes, zeros, barometer_pa)),
    )
    if causes:
        tell("weighing the causes")
        findings = with_causes(findings, job, case, barometer_pa, table, _gauge_zeros(zeros))
    tell("drawing")
    return _outcome(job, lanes, book, zeros, findings, dict(told), case.gathered.stretches)


def _gauge_zeros(zeros: tuple[ZeroNote, ...]) -> tuple[GaugeZero, ...]:
    """What the gauges of oil pressure showed with the engine off, for the causes to weigh."""
    return tuple(
        GaugeZero(zero.label, zero.off, zero.variance, zero.used)
        for zero in zeros
        if zero.quantity == "oil-pressure" and not any(n.code == "zero-at-stop" for n in zero.notes)
    )


def _outcome(
    job: Job,
    lanes: Lanes,
    book: SharedErrors,
    zeros: tuple[ZeroNote, ...],
    findings: Findings,
    told: dict[str, str],
    stretches: tuple[Kept, ...],
) -> Outcome:
    return Outcome(
        job=job,
        findings=findings,
        pictures=pictures(lanes, stretches),
        instruments=instruments(job, lanes, book, zeros),
        files=files(job, lanes.recorded, told),
        method=said(
            "gaugewright {version}, method {method}",
            version=gaugewright.__version__,
            method=gaugewright.METHOD_VERSION,
        ),
    )


def _caveats(lanes: Lanes, zeros: tuple[ZeroNote, ...], barometer_pa: float | None) -> list[Caveat]:
    """What was noticed before the evidence: in files, signals, rotation, zeros, place."""
    found = [Caveat(note.code, note.text, where) for where, note in notes_of(lanes)]
    found += [
        Caveat(note.code, note.text, f"{zero.visit}, {zero.condition}, {zero.label}")
        for zero in zeros
        for note in zero.notes
    ]
    found += [_offer(sensed) for sensed in lanes.sensed if not sensed.spans]
    if barometer_pa is None and _absolute(lanes):
        found.append(
            Caveat(
                "barometer-unknown",
                "neither barometer nor altitude is stated: absolute sensors are not compared with "
                "the outside air",
                said("job.toml, place"),
            )
        )
    if lanes.sensed and all(s.rotation is None for s in lanes.sensed):
        found.append(
            Caveat(
                "no-speed",
                "no recording holds a speed signal: readings stand without speed, and no match "
                "is made",
                ", ".join(sensed.name for sensed in lanes.sensed),
            )
        )
    return list(dict.fromkeys(found))


def _absolute(lanes: Lanes) -> bool:
    """Is any pressure measured against a vacuum?"""
    return any(s.reference == "vacuum" for sensed in lanes.sensed for s in sensed.signals)


def _offer(sensed: Sensed) -> Caveat:
    """What a recording without a marked condition offers to mark."""
    found = [
        said("{begin:.1f} s to {end:.1f} s", begin=float(begin), end=float(end))
        for begin, end in offered(sensed)
    ]
    held = said("none looks held")
    if found:
        held = said("these stretches look held one way: {stretches}", stretches=joined(found))
    return Caveat(
        "no-condition",
        said("no condition is marked in this recording, so it gives no reading; {held}", held=held),
        sensed.name,
    )
