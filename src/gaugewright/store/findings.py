"""What the jobs of the store say: analysed once for each version, from the lanes on disk."""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from gaugewright.analysis.progress import silent
from gaugewright.errors import InputError
from gaugewright.evidence.results import Caveat
from gaugewright.job.model import RecordingEntry
from gaugewright.quantities.said import said
from gaugewright.store.bags import sweep
from gaugewright.store.imports import LANES
from gaugewright.store.lines import Kept
from gaugewright.store.originals import RECORDINGS
from gaugewright.store.recordings import Recordings
from gaugewright.store.stages import STAGES, Stages

if TYPE_CHECKING:
    from gaugewright.analysis.outcome import Outcome
    from gaugewright.causes.odds import Table
    from gaugewright.store.lane import StoredLane

MOST_OUTCOMES = 16
"""Outcomes kept in memory, those last asked for."""
MOST_JOBS = 4
"""Jobs whose signals are kept in memory between two analyses."""


@dataclass
class Bench:
    """One job's recordings and stages, both safe to use from several threads.

    Who asks for much at once holds `lock`, so that nothing is done twice; weighing the causes
    takes seconds and has a lock of its own, so that nobody else waits for it.
    """

    recordings: Recordings
    stages: Stages
    lock: threading.RLock = field(default_factory=threading.RLock)
    weighing: threading.RLock = field(default_factory=threading.RLock)


@dataclass
class Analyses:
    """The benches of the jobs last analysed, and the outcomes last asked for."""

    benches: OrderedDict[str, Bench] = field(default_factory=OrderedDict)
    outcomes: OrderedDict[tuple[str, str, bool], Outcome] = field(default_factory=OrderedDict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def bench(self, kept: Kept) -> Bench:
        """The bench of a job."""
        with self.lock:
            if kept.id not in self.benches:
                for name in (RECORDINGS, LANES, STAGES):
                    sweep(kept.folder / name)
                stages = Stages(folder=kept.folder / STAGES)
                self.benches[kept.id] = Bench(Recordings(kept.folder), stages)
            self.benches.move_to_end(kept.id)
            while len(self.benches) > MOST_JOBS:
                self.benches.popitem(last=False)
            return self.benches[kept.id]

    def findings(
        self,
        kept: Kept,
        causes: bool,
        progress: Callable[[str], None] = silent,
        table: Table | None = None,
    ) -> Outcome:
        """The outcome of this version; see `Store.findings`."""
        if kept.sound is None:
            raise InputError(kept.problems)
        bench = self.bench(kept)
        key = _key(kept, table)
        with bench.weighing if causes else bench.lock:
            found = self._known(kept.id, key, causes)
            if found is None:
                found = _analysed(bench, kept, causes, progress, table)
                self._keep(kept.id, key, causes, found)
            return found

    def speed(
        self, kept: Kept, entry: RecordingEntry, progress: Callable[[str], None] = silent
    ) -> StoredLane | None:
        """The engine speed of a recording's cycles as a lane; see `Store.speed`."""
        from gaugewright.analysis.lanes import turned
        from gaugewright.store.lanes import speed_lane

        bench = self.bench(kept)
        recorded = bench.recordings.numbers(entry, progress)
        found = turned(recorded, entry, kept.model.vehicle, bench.stages)
        return None if found.rotation is None else speed_lane(found.rotation)

    def _known(self, job: str, key: str, causes: bool) -> Outcome | None:
        """What was found already; an outcome with its causes serves where none are asked for."""
        with self.lock:
            for full in (True, causes):
                if (job, key, full) in self.outcomes:
                    self.outcomes.move_to_end((job, key, full))
                    return self.outcomes[job, key, full]
        return None

    def _keep(self, job: str, key: str, causes: bool, found: Outcome) -> None:
        with self.lock:
            self.outcomes[job, key, causes] = found
            while len(self.outcomes) > MOST_OUTCOMES:
                self.outcomes.popitem(last=False)


def _key(kept: Kept, table: Table | None) -> str:
    """What the findings of a version follow from: an undo finds those from before."""
    text = repr((kept.sound, [problem.sentence for problem in kept.problems], table))
    return hashlib.sha256(text.encode()).hexdigest()


def _analysed(
    bench: Bench,
    kept: Kept,
    causes: bool,
    progress: Callable[[str], None],
    table: Table | None,
) -> Outcome:
    from gaugewright.analysis.analyse import analyse

    assert kept.sound is not None
    outcome = analyse(
        kept.sound,
        kept.folder,
        progress,
        bench.stages,
        table,
        maker=lambda entry: bench.recordings.numbers(entry, progress),
        causes=causes,
    )
    bench.stages.forget()
    left = tuple(
        Caveat(
            "left-out",
            said("left out until it is complete: {why}", why=problem.sentence),
            problem.place,
        )
        for problem in kept.problems
    )
    warnings = (*outcome.findings.warnings, *left)
    return replace(outcome, findings=replace(outcome.findings, warnings=warnings))
