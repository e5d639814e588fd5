"""Edits, undo and redo, each one transaction."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Row

from gaugewright.errors import EditedElsewhere, InputError, Problem
from gaugewright.job.dump import toml_of
from gaugewright.job.reading import as_far_as_read
from gaugewright.store.changes import Change, Move, at, carried_out, dotted, inverse, moves_of
from gaugewright.store.rows import (
    columns_of,
    edit_rows,
    moves_from,
    moves_text,
    now,
    row_of,
    tables_of,
)
from gaugewright.store.schema import edits, jobs


def edit(
    connection: Connection,
    job: str,
    changes: Sequence[Change],
    based_on: int,
    device: str,
    what: str,
) -> None:
    """Carry out these changes as one edit."""
    row = row_of(connection, job, write=True)
    tables = tables_of(row.document)
    moves: list[Move] = []
    for change in changes:
        move = _move(connection, row, change, tables)
        moves.append(move)
        tables = carried_out(tables, [move])
    _refuse_wrong(row.document, toml_of(tables), moves)
    said = what or ", ".join(dict.fromkeys(dotted(move.path) for move in moves))
    save(connection, row, "edit", tuple(moves), device, said)


def _move(connection: Connection, row: Row[Any], change: Change, tables: dict[str, Any]) -> Move:
    try:
        return moves_of(change, tables)
    except EditedElsewhere as error:
        last = edit_rows(connection, row.id)[-1]
        raise EditedElsewhere(error.place, error.now, row.version, last.device) from error


def _refuse_wrong(before: str, after: str, moves: Sequence[Move]) -> None:
    """Refuse an edit whose own values are wrong; what is still missing elsewhere is no reason."""
    known = {problem.sentence for problem in as_far_as_read(before)[1]}
    tables = tables_of(after)
    wrong = [
        problem
        for problem in as_far_as_read(after)[1]
        if problem.sentence not in known and _about(problem, moves, tables)
    ]
    if wrong:
        raise InputError(wrong)


def _about(problem: Problem, moves: Sequence[Move], tables: dict[str, Any]) -> bool:
    standing = at(tables, problem.path)
    if standing is None or isinstance(standing, dict):
        return False
    return any(problem.path[: len(move.path)] == move.path for move in moves)


def save(
    connection: Connection,
    row: Row[Any],
    kind: str,
    moves: tuple[Move, ...],
    device: str,
    what: str,
    takes_back: int | None = None,
) -> None:
    """Write the document after these moves and the line of the history that tells of them."""
    document = toml_of(carried_out(tables_of(row.document), moves))
    version = row.version + 1
    connection.execute(
        jobs.update().where(jobs.c.id == row.id).values(version=version, **columns_of(document))
    )
    note(connection, row.id, version, kind, moves, device, what, takes_back)


def note(
    connection: Connection,
    job: str,
    version: int,
    kind: str,
    moves: tuple[Move, ...],
    device: str,
    what: str,
    takes_back: int | None = None,
) -> None:
    """Write one line of the history."""
    connection.execute(
        edits.insert().values(
            job=job,
            version=version,
            at=now(),
            device=device,
            kind=kind,
            what=what,
            moves=moves_text(moves),
            takes_back=takes_back,
            stands=True,
        )
    )


def undo(connection: Connection, job: str, based_on: int, device: str) -> None:
    """Take back the latest edit that stands."""
    row = row_of(connection, job, write=True)
    rows = edit_rows(connection, job)
    standing = [r for r in rows if r.kind in ("edit", "taken-in") and r.stands]
    if not standing:
        raise InputError(Problem("job.toml", "", "there is nothing to undo", "go on"))
    _take_back(connection, row, standing[-1], "undo", device)


def redo(connection: Connection, job: str, based_on: int, device: str) -> None:
    """Bring back what the latest undo took, as long as nothing was edited since."""
    row = row_of(connection, job, write=True)
    rows = edit_rows(connection, job)
    edited = max((r.version for r in rows if r.kind in ("edit", "taken-in")), default=0)
    undone = [r for r in rows if r.kind == "undo" and r.stands and r.version > edited]
    if not undone:
        raise InputError(Problem("job.toml", "", "there is nothing to redo", "go on"))
    latest = undone[-1]
    _take_back(connection, row, latest, "redo", device)
    _set_stands(connection, job, latest.takes_back, True)


def _take_back(
    connection: Connection, row: Row[Any], taken: Row[Any], kind: str, device: str
) -> None:
    moves = inverse(moves_from(taken.moves))
    save(connection, row, kind, moves, device, taken.what, taken.version)
    _set_stands(connection, row.id, taken.version, False)


def _set_stands(connection: Connection, job: str, version: int, stands: bool) -> None:
    where = (edits.c.job == job) & (edits.c.version == version)
    connection.execute(edits.update().where(where).values(stands=stands))
