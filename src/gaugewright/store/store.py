"""The store: every job of the workshop, at one address."""

from __future__ import annotations

import threading
import time
import uuid
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, select

from gaugewright.job.dump import toml_of
from gaugewright.job.reading import job_from_bytes  # noqa: F401  (take_in, next)
from gaugewright.store import editing, place
from gaugewright.store.changes import Change
from gaugewright.store.database import engine_of, reading, writing
from gaugewright.store.lines import EditLine, JobLine, Kept, TakenIn
from gaugewright.store.rows import columns_of, edit_line, edit_rows, kept_of, line_of, row_of
from gaugewright.store.schema import jobs, prepare

HERE = "this machine"
POLL_S = 0.25


def open_store(url: str | None = None, folder: Path | None = None) -> Store:
    """The store at this address.

    Parameters: `url` of the database (None: SQLite in the data folder); `folder` for the
    recordings (None: the user's data folder).  Both are made where they are missing.
    Raises InputError when the database is of a later version or cannot be reached.
    """
    return Store(url, folder)


class Store:
    """All jobs; every method is safe to call from several threads and processes."""

    def __init__(self, url: str | None = None, folder: Path | None = None) -> None:
        self.folder = folder or place.data_folder()
        (self.folder / "jobs").mkdir(parents=True, exist_ok=True)
        self.engine = engine_of(url or place.default_url(self.folder))
        self._news = threading.Condition()
        with writing(self.engine) as connection:
            prepare(connection)

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    @property
    def _jobs(self) -> Path:
        return self.folder / "jobs"

    # -- the list and single jobs ------------------------------------------------------------

    def jobs(self, set_aside: bool = False) -> tuple[JobLine, ...]:
        """The jobs on the list, the last changed first; with `set_aside`, those put away."""
        query = select(jobs).where(jobs.c.set_aside == set_aside).order_by(jobs.c.changed.desc())
        with reading(self.engine) as connection:
            rows = list(connection.execute(query))
        return tuple(line_of(row, self._jobs) for row in rows)

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
        with writing(self.engine) as connection:
            self._add(connection, ours, toml_of(tables), "new", device)
        return self.job(ours)

    def _add(
        self, connection: Connection, ours: str, document: str, kind: str, device: str
    ) -> None:
        last = connection.execute(select(func.max(jobs.c.number))).scalar()
        folder = uuid.uuid4().hex
        (self._jobs / folder / "recordings").mkdir(parents=True)
        row = {"id": ours, "number": (last or 0) + 1, "folder": folder, "version": 1}
        connection.execute(jobs.insert().values(**row, set_aside=False, **columns_of(document)))
        editing.note(connection, ours, 1, kind, (), device, "")

    def job(self, job: str) -> Kept:
        """The job as it is now.  Raises InputError where no job has this id."""
        with reading(self.engine) as connection:
            return kept_of(row_of(connection, job), self._jobs)

    def version(self, job: str) -> int:
        """The version of a job now: a look that costs nearly nothing."""
        with reading(self.engine) as connection:
            query = select(jobs.c.version).where(jobs.c.id == job)
            return int(connection.execute(query).scalar() or 0)

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

        Parameters: `based_on` is the version that was looked at; edits made since then at other
        places merge.  `what` says in a few words what was done (for the history).
        Raises EditedElsewhere when the very place was changed since, InputError when a new value
        cannot be used; nothing is written then.
        """
        changes = (change,) if isinstance(change, Change) else tuple(change)
        with writing(self.engine) as connection:
            editing.edit(connection, job, changes, based_on, device, what)
        return self._told(job)

    def undo(self, job: str, based_on: int, device: str = HERE) -> Kept:
        """Take back the latest edit.  Raises InputError when there is none."""
        with writing(self.engine) as connection:
            editing.undo(connection, job, based_on, device)
        return self._told(job)

    def redo(self, job: str, based_on: int, device: str = HERE) -> Kept:
        """Do again what the latest undo took back.  Raises InputError when there is none."""
        with writing(self.engine) as connection:
            editing.redo(connection, job, based_on, device)
        return self._told(job)

    def _told(self, job: str) -> Kept:
        with self._news:
            self._news.notify_all()
        return self.job(job)

    def history(self, job: str) -> tuple[EditLine, ...]:
        """Everything that was done to a job, the latest first."""
        with reading(self.engine) as connection:
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
        """Take in a job folder, its job.toml or a bundle; never written to.

        A job that is known by its id is not touched: `TakenIn.state` says whether there is
        something new in it, and `accept_update` takes that over.
        Raises InputError with every problem of the job.
        """
        from gaugewright.store.exchange import take_in

        return take_in(self, Path(path), device)

    def accept_update(self, job: str, path: Path, based_on: int, device: str = HERE) -> Kept:
        """Make the job what the folder or bundle says, as one edit that can be undone."""
        raise NotImplementedError

    def export(self, job: str, path: Path, bundle: bool = False) -> Path:
        """Write a new job folder (or bundle) with the originals byte for byte.

        Raises OutputError when something stands at `path` already or it cannot be written.
        """
        raise NotImplementedError

    # -- recordings --------------------------------------------------------------------------

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
    ) -> Kept:
        """Keep a recording's file untouched and add its entry to the document.

        Parameters: `mapping` holds the further keys of the [[recording]] entry (`time` or
        `rate`, `text`, `signal`, `visit`, ...); `filename` the name to keep it under (None: the
        file's own).
        Raises InputError when the file cannot be read that way or the name is taken.
        """
        raise NotImplementedError
