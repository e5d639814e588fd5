"""Rows of the database as what the store hands out."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, select

from gaugewright.errors import InputError, Problem
from gaugewright.store.changes import Move, plain
from gaugewright.store.lines import EditLine, JobLine, Kept
from gaugewright.store.looks import look, missing_files, sound_of
from gaugewright.store.parts import parts_of
from gaugewright.store.schema import about, edits, jobs


def now() -> str:
    """This moment as an ISO text in UTC."""
    return dt.datetime.now(dt.UTC).isoformat(timespec="milliseconds")


def one_at_a_time(connection: Connection) -> None:
    """Wait until no other transaction holds the list, and hold it until this one ends."""
    connection.execute(select(about).where(about.c.key == "schema").with_for_update())


def row_of(connection: Connection, job: str, write: bool = False) -> Row[Any]:
    """The row of a job; with `write`, held against other writers until the transaction ends.

    Raises InputError where there is no such job.
    """
    query = select(jobs).where(jobs.c.id == job)
    row = connection.execute(query.with_for_update() if write else query).first()
    if row is None:
        raise InputError(Problem(f"job {job}", "", "no job of this id is kept", "open the list"))
    return row


def kept_of(row: Row[Any], place: Path) -> Kept:
    """A job's row as the job; `place` is the folder of all jobs' files."""
    folder = place / row.folder
    found = look(row.document)
    missing = missing_files(found, folder)
    problems = (*found.problems, *missing)
    sound = sound_of(row.document, missing)
    return Kept(
        id=row.id,
        number=row.number,
        version=row.version,
        document=row.document,
        tables=plain(found.tables),
        model=found.model,
        problems=problems,
        folder=folder,
        changed=row.changed,
        set_aside=row.set_aside,
        parts=parts_of(found.tables, not problems),
        sound=sound,
    )


def line_of(row: Row[Any]) -> JobLine:
    """A job's row as a line of the list."""
    return JobLine(
        id=row.id,
        number=row.number,
        title=row.title,
        vehicle=row.vehicle,
        changed=row.changed,
        version=row.version,
        visits=row.visits,
        parts=json.loads(row.parts),
        set_aside=row.set_aside,
    )


def columns_of(document: str) -> dict[str, Any]:
    """The columns of a job's row that follow from its document."""
    found = look(document)
    tables = found.tables
    vehicle = tables.get("vehicle") or {}
    return {
        "document": document,
        "title": str(tables.get("title", "")),
        "vehicle": str(vehicle.get("name", "")),
        "visits": max(1, len(tables.get("visit") or [])),
        "changed": now(),
        "parts": json.dumps(parts_of(tables, not found.problems)),
    }


def moves_text(moves: tuple[Move, ...]) -> str:
    """Moves as the database keeps them."""
    return json.dumps([[m.kind, list(m.path), m.before, m.after] for m in moves])


def moves_from(text: str) -> tuple[Move, ...]:
    """Moves as the database keeps them, read back."""
    return tuple(Move(kind, tuple(path), old, new) for kind, path, old, new in json.loads(text))


def edit_line(row: Row[Any]) -> EditLine:
    """A row of the history as its line."""
    places = tuple(dict.fromkeys(move.place for move in moves_from(row.moves)))
    return EditLine(row.version, row.at, row.kind, row.what, row.device, places, row.stands)


def edit_rows(connection: Connection, job: str, since: int = 0) -> list[Row[Any]]:
    """The history of a job after a version, oldest first."""
    query = select(edits).where(edits.c.job == job, edits.c.version > since)
    return list(connection.execute(query.order_by(edits.c.version)))
