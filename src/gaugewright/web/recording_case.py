"""What the recordings of a job say, kept between two edits: the evidence that a page shows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from gaugewright.analysis.clocks import aligned
from gaugewright.analysis.lanes import Lanes, Maker, Memory, lanes_of
from gaugewright.analysis.questions import (
    barometer_of,
    hand_values,
    oils_of,
    questions_of,
    with_instruments,
)
from gaugewright.analysis.zeros import with_zeros
from gaugewright.errors import InputError, Problem
from gaugewright.evidence.case import Case, build_case
from gaugewright.evidence.cycles import Sensed, Span
from gaugewright.evidence.gather import gather
from gaugewright.evidence.limits import limit_checks
from gaugewright.evidence.matches import matches
from gaugewright.evidence.readings import readings
from gaugewright.evidence.results import Findings
from gaugewright.evidence.weigh import Questions, with_common_blocks
from gaugewright.job.model import Job, RecordingEntry
from gaugewright.web.recording_tracks import COVERED

DRAFT = "\x00set out"
"""The name of the stretch that is being set out; no condition can have it."""


@dataclass(frozen=True)
class Setout:
    """A stretch that is being set out, on the page's clock."""

    from_s: float
    to_s: float
    did: tuple[str, ...]


@dataclass(frozen=True)
class Read:
    """A job's recordings as quantities, under the conditions of the job as it is now."""

    job: Job
    lanes: Lanes

    def of_visit(self, visit: str | None) -> tuple[Sensed, ...]:
        """The recordings of one visit, in the order of the job."""
        return tuple(sensed for sensed in self.lanes.sensed if sensed.visit == visit)

    def sensed(self, entry: RecordingEntry) -> Sensed:
        """One recording.  Raises InputError where its entry is not complete yet."""
        for sensed in self.lanes.sensed:
            if (sensed.visit, sensed.name) == (entry.visit, entry.name):
                return sensed
        place, found = f'recording "{entry.name}"', "what it says of its columns is not complete"
        raise InputError(Problem("job.toml", place, found, "complete it on the job's page"))

    def under(self, job: Job) -> Read:
        """The same recordings under the conditions of this job."""
        spans = {(e.visit, e.name): spans_of(e) for e in job.recordings}
        sensed = tuple(
            replace(s, spans=spans.get((s.visit, s.name), ())) for s in self.lanes.sensed
        )
        return Read(job, replace(self.lanes, sensed=sensed))


def read_job(
    job: Job,
    folder: Path,
    memory: Memory,
    tell: Callable[[str], None],
    maker: Maker | None = None,
) -> Read:
    """Import, sensing and rotation of all recordings of a job that have signals."""
    whole = tuple(entry for entry in job.recordings if entry.signals)
    job = job.model_copy(update={"recordings": whole})
    lanes, _ = aligned(lanes_of(job, folder, memory, tell, maker), job)
    return Read(job, lanes)


def spans_of(entry: RecordingEntry) -> tuple[Span, ...]:
    """The conditions of a recording as the evidence takes them."""
    return tuple(Span(c.name, c.did, c.from_.si, c.to.si) for c in entry.conditions)


def weighed(read: Read, main: Sensed, setout: Setout | None = None) -> tuple[Findings, Case]:
    """Readings, matches and limit checks of one visit, a stretch that is being set out among them.

    Zeros of all visits are used, as the whole analysis does.
    """
    job, lanes = read.job, read.lanes
    barometer_pa, barometer_error = barometer_of(job)
    book = with_instruments(lanes.book, job)
    visits = tuple(visit.name for visit in job.visits)
    book = with_common_blocks(book, visits, barometer_error)
    book, _ = with_zeros(book, lanes.sensed, barometer_pa)
    sensed = read.of_visit(main.visit)
    if setout is not None:
        sensed = tuple(_with_setout(one, main, setout) for one in sensed)
    by_hand = tuple(value for value in hand_values(job) if value.visit == main.visit)
    asked = questions_of(job)
    gathered = gather(sensed, by_hand)
    case = build_case(gathered, book, barometer_pa, oils_of(job), asked.noted_degc or {})
    return _seen(case, asked), case


def _seen(case: Case, asked: Questions) -> Findings:
    """What the page shows of a case: no reference check, no switch, no cause."""
    return Findings(
        format=1,
        job=asked.title,
        readings=tuple(readings(case)[0]),
        matches=tuple(matches(case, asked.pump_switches_rpm)[0]),
        limit_checks=tuple(limit_checks(case, asked.limits, asked.pump_switches_rpm)[0]),
    )


def shift_s(one: Sensed, main: Sensed) -> float:
    """What is added to an instant on `one`'s clock to have it on `main`'s."""
    return one.offset_s - main.offset_s


def extent(sensed: Sensed) -> tuple[float, float]:
    """First and last instant of a recording on its own clock; (0, 0) for an empty one."""
    ends = [(s.time_s[0], s.time_s[-1]) for s in sensed.signals if len(s.time_s)]
    if sensed.rotation is not None and len(sensed.rotation.edges_s) > 1:
        ends.append((sensed.rotation.edges_s[0], sensed.rotation.edges_s[-1]))
    if not ends:
        return 0.0, 0.0
    return float(min(e[0] for e in ends)), float(max(e[1] for e in ends))


def _with_setout(one: Sensed, main: Sensed, setout: Setout) -> Sensed:
    shift = shift_s(one, main)
    begin, finish = (t + shift for t in extent(one))
    shared = min(finish, setout.to_s) - max(begin, setout.from_s)
    if shared < COVERED * (setout.to_s - setout.from_s):
        return one
    span = Span(DRAFT, setout.did, setout.from_s - shift, setout.to_s - shift)
    return replace(one, spans=(*one.spans, span))
