"""The store: every job of the workshop, at one address."""

from __future__ import annotations

import threading
import time
import uuid
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from gaugewright.errors import InputError, Problem
from gaugewright.job.dump import toml_of
from gaugewright.store import editing, place, taking
from gaugewright.store.bags import sweep
from gaugewright.store.cards import Cards
from gaugewright.store.changes import Change, cleaned
from gaugewright.store.database import engine_of, file_of, make_safe, reading, writing
from gaugewright.store.devices import Devices
from gaugewright.store.document import typed
from gaugewright.store.findings import Analyses, Bench
from gaugewright.store.layouts import Layouts
from gaugewright.store.lines import EditLine, JobLine, Kept, TakenIn
from gaugewright.store.looks import look
from gaugewright.store.originals import RECORDINGS
from gaugewright.store.recordings import Tell, silent
from gaugewright.store.rows import edit_line, edit_rows, kept_of, line_of, row_of
from gaugewright.store.schema import jobs
from gaugewright.store.steps import backed_up, prepare

if TYPE_CHECKING:
    from gaugewright.analysis.outcome import Outcome
    from gaugewright.causes.odds import Table
    from gaugewright.store.lane import StoredLane, StoredRecording

HERE = "this machine"
POLL_S = 0.25
"""How often a waiting `changes_since` looks for edits of other processes."""


def open_store(url: str | None = None, folder: Path | None = None) -> Store:
    """The store at this address.

    Parameters: `url` of the database (None: SQLite in the data folder); `folder` for the
    recordings (None: the user's data folder).  Both are made where they are missing, and an older
    database is brought up to date; a copy of an SQLite file is kept beside it before that.
    Raises InputError when the database is of a later version or cannot be used, OutputError
    when the folder cannot be made.
    """
    return Store(url, folder)


class Store:
    """All jobs; every method is safe to call from several threads and processes.

    `cards` are the workshop's sensors, `layouts` the mappings of its loggers, `devices` those
    let in with a code.
    """

    def __init__(self, url: str | None = None, folder: Path | None = None) -> None:
        self.folder = folder or place.data_folder()
        self.places = place.made(self.folder / "jobs")
        self.engine = engine_of(url or place.default_url(self.folder))
        self.analyses = Analyses()
        self._news = threading.Condition()
        file = file_of(self.engine)
        if file is not None:
            make_safe(file)
            backed_up(file)
        with writing(self.engine) as connection:
            prepare(connection, str(file or self.engine.url.database))
        self.cards = Cards(self.engine)
        self.layouts = Layouts(self.engine)
        self.devices = Devices(self.engine)
        sweep(self.places)

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    # -- the list and single jobs ------------------------------------------------------------

    def jobs(self, set_aside: bool = False) -> tuple[JobLine, ...]:
        """The jobs on the list, the last changed first; with `set_aside`, those put away."""
        query = select(jobs).where(jobs.c.set_aside == set_aside)
        with reading(self.engine) as connection:
            rows = list(connection.execute(query.order_by(jobs.c.changed.desc(), jobs.c.number)))
        return tuple(line_of(row) for row in rows)

    def new_job(
        self,
        title: str,
        cylinders: int,
        cycle: str = "four-stroke",
        *,
        complaint: str = "",
        device: str = HERE,
        **vehicle: Any,
    ) -> Kept:
        """A new job; `vehicle` gives further keys of its vehicle (`name`, `oil_grade`, ...).

        Raises InputError when a value cannot be used.
        """
        ours = uuid.uuid4().hex
        tables: dict[str, Any] = {"format": 1, "title": title, "id": ours}
        tables["vehicle"] = {"cylinders": cylinders, "cycle": cycle, **vehicle}
        if complaint:
            tables["complaint"] = {"text": complaint}
        document = toml_of(typed(cleaned(tables, "")))
        if wrong := [problem for problem in look(document).problems if problem.path]:
            raise InputError(wrong)
        folder = uuid.uuid4().hex
        (self.places / folder / RECORDINGS).mkdir(parents=True)
        with writing(self.engine) as connection:
            taking.add_job(connection, ours, folder, document, "new", device)
        return self.told(ours)

    def job(self, job: str) -> Kept:
        """The job as it is now.  Raises InputError where no job has this id."""
        with reading(self.engine) as connection:
            row = row_of(connection, job)
        return kept_of(row, self.places)

    def version(self, job: str) -> int:
        """The version of a job now, 0 where there is none: a look that costs nearly nothing."""
        with reading(self.engine) as connection:
            query = select(jobs.c.version).where(jobs.c.id == job)
            return int(connection.execute(query).scalar() or 0)

    def told(self, job: str) -> Kept:
        """The job after a change, those who wait for one woken."""
        with self._news:
            self._news.notify_all()
        return self.job(job)

    # -- edits -------------------------------------------------------------------------------

    def edit(
        self,
        job: str,
        change: Change | Sequence[Change],
        based_on: int,
        device: str = HERE,
        what: str = "",
    ) -> Kept:
        """Change one or several places as one edit, which is one step of undo.

        Parameters: `based_on` is the version that was looked at: places mean the job as it was
        then, and edits made since at other places merge.  `what` says in a few words what was
        done (for the history).
        Raises EditedElsewhere when the very place was changed since, InputError when a new value
        cannot be used; nothing is written then.
        """
        changes = (change,) if isinstance(change, Change) else tuple(change)
        with writing(self.engine) as connection:
            editing.edit(connection, job, changes, based_on, device, what)
        return self.told(job)

    def undo(self, job: str, based_on: int, device: str = HERE) -> Kept:
        """Take back the latest edit up to version `based_on`.

        Raises InputError when there is none, EditedElsewhere when what it wrote was changed.
        """
        with writing(self.engine) as connection:
            editing.undo(connection, job, based_on, device)
        return self.told(job)

    def redo(self, job: str, based_on: int = 0, device: str = HERE) -> Kept:  # noqa: ARG002
        """Do again what the latest undo took back.

        Raises InputError when there is none or something was edited since.
        """
        with writing(self.engine) as connection:
            editing.redo(connection, job, device)
        return self.told(job)

    def take_back(self, job: str, version: int, device: str = HERE) -> Kept:
        """Take back any edit of the history, by the version it made.

        Raises as `undo` does.
        """
        with writing(self.engine) as connection:
            editing.take_back(connection, job, version, device)
        return self.told(job)

    def ways(self, job: str) -> tuple[bool, bool]:
        """Whether anything can be undone, and whether anything can be done again."""
        with reading(self.engine) as connection:
            return editing.ways(connection, job)

    def history(self, job: str) -> tuple[EditLine, ...]:
        """Everything that was done to a job, the latest first."""
        with reading(self.engine) as connection:
            row_of(connection, job)
            return tuple(edit_line(row) for row in reversed(edit_rows(connection, job)))

    def changes_since(self, job: str, version: int, timeout: float = 0.0) -> tuple[EditLine, ...]:
        """What was done to a job after this version, oldest first; waits up to `timeout` s."""
        until = time.monotonic() + timeout
        while self.version(job) <= version and time.monotonic() < until:
            with self._news:
                self._news.wait(min(POLL_S, max(0.0, until - time.monotonic())))
        with reading(self.engine) as connection:
            return tuple(edit_line(row) for row in edit_rows(connection, job, version))

    def set_aside(self, job: str) -> None:
        """Put a job away from the list; nothing of it is deleted."""
        self._put_aside(job, True)

    def bring_back(self, job: str) -> None:
        """Put a job back on the list."""
        self._put_aside(job, False)

    def _put_aside(self, job: str, aside: bool) -> None:
        with writing(self.engine) as connection:
            row_of(connection, job, write=True)
            connection.execute(jobs.update().where(jobs.c.id == job).values(set_aside=aside))

    # -- exchange ----------------------------------------------------------------------------

    def take_in(self, path: Path, device: str = HERE) -> TakenIn:
        """Take in a job folder, its job.toml or a bundle; nothing is ever written there.

        A job that is known, by its id or because the same folder came in before, is not touched:
        `TakenIn.state` says whether there is something new, and `accept_update` takes that over.
        Raises InputError with every value that is wrong and every file that is missing.
        """
        return taking.take_in(self, Path(path), device)

    def accept_update(self, job: str, path: Path, based_on: int, device: str = HERE) -> Kept:
        """Make the job what the folder or bundle says, as one edit that can be undone.

        Raises EditedElsewhere when the job is no longer at version `based_on`, InputError as
        `take_in` does.
        """
        return taking.accept_update(self, job, Path(path), based_on, device)

    def export(self, job: str, path: Path, bundle: bool = False) -> Path:
        """Write a new job folder (or bundle) with the originals byte for byte.

        Raises OutputError when something stands at `path` already or it cannot be written,
        InputError when an original is damaged.
        """
        return taking.export(self, job, Path(path), bundle)

    # -- recordings and what they say -----------------------------------------------------------

    def add_recording(
        self,
        job: str,
        name: str,
        file: Path,
        mapping: Mapping[str, Any],
        based_on: int,
        *,
        filename: str | None = None,
        device: str = HERE,
        progress: Tell = silent,
    ) -> Kept:
        """Keep a recording's file untouched, read it, and add its entry to the document.

        Parameters: `mapping` holds the further keys of the [[recording]] entry (`visit`, `time`
        or `rate`, `text`, `signal`, ...); `filename` the name to keep it under (None: the
        file's own); `progress` is told what is being done.
        Raises InputError when a key is wrong or the file cannot be read that way.
        """
        from gaugewright.store.adding import add_recording

        named = filename or Path(file).name
        add_recording(self, job, name, Path(file), named, mapping, based_on, device, progress)
        return self.told(job)

    def bench(self, job: str) -> Bench:
        """A job's recordings and stages: `recordings.numbers` is the maker of its lanes for an
        analysis, `stages` its memory."""
        return self.analyses.bench(self.job(job))

    def lanes(self, job: str, recording: int, progress: Tell = silent) -> StoredRecording:
        """A recording (by its number in the document) as lanes to draw, in house units.

        The first time it is imported, which takes as long as it takes.
        Raises InputError where there is none or its file cannot be read.
        """
        kept = self.job(job)
        recordings = self.analyses.bench(kept).recordings
        return recordings.lanes(self._entry(kept, recording), kept.model, progress)

    def speed(self, job: str, recording: int, progress: Tell = silent) -> StoredLane | None:
        """The engine speed of each cycle as a lane, None where no pulses or speed tell it."""
        kept = self.job(job)
        return self.analyses.speed(kept, self._entry(kept, recording), progress)

    def _entry(self, kept: Kept, recording: int) -> Any:
        stated = (kept.tables.get("recording") or [])[recording : recording + 1]
        found = [e for e in kept.model.recordings if stated and e.file == stated[0].get("file")]
        same = [e for e in found if e.name == stated[0].get("name")]
        if not same:
            text = f"recording {recording + 1} is not there, or its entry is not complete"
            raise InputError(Problem("job.toml", "recording", text, "load the job again"))
        return same[0]

    def check(self, job: str) -> tuple[Problem, ...]:
        """What is wrong with the files of a job: every one is compared with its checksum."""
        kept = self.job(job)
        return self.analyses.bench(kept).recordings.damage(kept.model)

    def findings(
        self,
        job: str,
        causes: bool = True,
        progress: Callable[[str], None] = silent,
        table: Table | None = None,
    ) -> Outcome:
        """What the job says at its version now, from the lanes on disk; worked out once.

        What is not complete yet is left out, and a warning says so.  Without `causes` none are
        weighed: that takes the seconds away.  `table` holds the odds before any evidence (None:
        the shipped ones).
        Raises InputError with the job's problems where there is nothing to analyse.
        """
        return self.analyses.findings(self.job(job), causes, progress, table)

    def forget(self) -> None:
        """Let go of everything kept in memory; what is on disk stays."""
        self.analyses = Analyses()
