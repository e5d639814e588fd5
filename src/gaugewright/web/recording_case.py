"""What the recordings of a job hold, kept between two edits, and what the evidence says of them."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from gaugewright.analysis.clocks import aligned
from gaugewright.analysis.lanes import Lanes, Memory, lanes_of
from gaugewright.analysis.questions import (
    barometer_of,
    hand_values,
    oils_of,
    questions_of,
    with_instruments,
)
from gaugewright.analysis.zeros import with_zeros
from gaugewright.errors import InputError
from gaugewright.evidence.case import Case, build_case
from gaugewright.evidence.cycles import Sensed, Span
from gaugewright.evidence.gather import gather
from gaugewright.evidence.limits import limit_checks
from gaugewright.evidence.matches import matches
from gaugewright.evidence.readings import readings
from gaugewright.evidence.results import Findings
from gaugewright.evidence.weigh import Questions, with_common_blocks
from gaugewright.job.model import Job, RecordingEntry

if TYPE_CHECKING:
    from gaugewright.store.lines import Kept

DRAFT = "\x00set out"
"""The name of the stretch that is being set out; no condition can have it."""
COVERED = 0.9
"""Another recording takes part in a stretch when it covers this share of it."""


@dataclass(frozen=True)
class Setout:
    """A stretch that is being set out, on the page's clock."""

    from_s: float
    to_s: float
    did: tuple[str, ...]


@dataclass(frozen=True)
class Read:
    """A job's recordings as quantities, at one version of everything but its conditions."""

    job: Job
    lanes: Lanes

    def of_visit(self, visit: str) -> tuple[Sensed, ...]:
        """The recordings of one visit, in the order of the job."""
        return tuple(sensed for sensed in self.lanes.sensed if sensed.visit == visit)

    def sensed(self, entry: RecordingEntry) -> Sensed:
        """One recording.  Raises KeyError where it was not read."""
        for sensed in self.lanes.sensed:
            if (sensed.visit, sensed.name) == (entry.visit, entry.name):
                return sensed
        raise KeyError(entry.name)


@dataclass
class Reader:
    """Reads the recordings of one job in the background, and keeps what it read.

    `stage` says how far it is; `failed` why it could not.
    """

    memory: Memory = field(default_factory=Memory)
    lock: threading.Lock = field(default_factory=threading.Lock)
    key: str = ""
    read: Read | None = None
    stage: str = ""
    failed: InputError | None = None
    thread: threading.Thread | None = None

    def now(self, kept: Kept) -> Read | None:
        """What the recordings hold, or None while they are being read.

        Raises InputError where they cannot be read.
        """
        key = _key(kept)
        with self.lock:
            if key != self.key and not (self.thread and self.thread.is_alive()):
                self._start(kept, key)
            if self.failed is not None and key == self.key:
                raise self.failed
            if self.read is None or key != self.key or (self.thread and self.thread.is_alive()):
                return None
            return _with_conditions(self.read, kept.model)

    def wait(self, kept: Kept, seconds: float = 600.0) -> Read:
        """The same, waited for.  Raises InputError as `now` does, TimeoutError after `seconds`."""
        while (found := self.now(kept)) is None:
            thread = self.thread
            if thread is not None:
                thread.join(seconds)
                if thread.is_alive():
                    raise TimeoutError("reading the recordings takes too long")
        return found

    def _start(self, kept: Kept, key: str) -> None:
        self.key, self.read, self.failed, self.stage = key, None, None, ""
        work: Callable[[], None] = lambda: self._work(kept.model, kept.folder)  # noqa: E731
        self.thread = threading.Thread(target=work, daemon=True, name="reading recordings")
        self.thread.start()

    def _work(self, job: Job, folder: Path) -> None:
        try:
            self.read = read_job(job, folder, self.memory, self._tell)
        except InputError as error:
            self.failed = error
        except KeyError as missing:
            from gaugewright.errors import Problem

            self.failed = InputError(
                Problem("job.toml", "", f"{missing} is not stated", "complete the mapping")
            )

    def _tell(self, stage: str) -> None:
        self.stage = stage


def read_job(job: Job, folder: Path, memory: Memory, tell: Callable[[str], None]) -> Read:
    """Import, sensing and rotation of all recordings of a job that have signals."""
    whole = tuple(entry for entry in job.recordings if entry.signals)
    job = job.model_copy(update={"recordings": whole})
    lanes, _ = aligned(lanes_of(job, folder, memory, tell), job)
    return Read(job, lanes)


def _key(kept: Kept) -> str:
    """What reading depends on: everything but conditions, limits and words."""
    job = kept.model
    entries = [entry.model_copy(update={"conditions": ()}) for entry in job.recordings]
    text = repr((job.vehicle, job.sensors, entries, str(kept.folder)))
    return hashlib.sha256(text.encode()).hexdigest()


def _with_conditions(read: Read, job: Job) -> Read:
    """The same recordings under the conditions of the job as it is now."""
    spans = {(e.visit, e.name): spans_of(e) for e in job.recordings}
    sensed = tuple(replace(s, spans=spans.get((s.visit, s.name), ())) for s in read.lanes.sensed)
    return Read(job, replace(read.lanes, sensed=sensed))


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


def covers(one: Sensed, main: Sensed, from_s: float, to_s: float) -> bool:
    """Whether a recording was running during this stretch of `main`'s clock."""
    begin, finish = (t + shift_s(one, main) for t in extent(one))
    shared = min(finish, to_s) - max(begin, from_s)
    return shared >= COVERED * (to_s - from_s)


def _with_setout(one: Sensed, main: Sensed, setout: Setout) -> Sensed:
    if not covers(one, main, setout.from_s, setout.to_s):
        return one
    shift = shift_s(one, main)
    span = Span(DRAFT, setout.did, setout.from_s - shift, setout.to_s - shift)
    return replace(one, spans=(*one.spans, span))
