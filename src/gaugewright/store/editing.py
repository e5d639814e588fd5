"""Edits, undo and redo, each one transaction, merged with what others did meanwhile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, Row, func, select

from gaugewright.errors import EditedElsewhere, InputError, Problem
from gaugewright.store.changes import (
    END,
    Change,
    Move,
    at,
    carried_out,
    dotted,
    inverse,
    move_of,
    path_of,
    printable,
)
from gaugewright.store.document import after
from gaugewright.store.looks import look, still_missing
from gaugewright.store.merging import Step, carried
from gaugewright.store.rows import (
    columns_of,
    edit_rows,
    moves_from,
    moves_text,
    now,
    row_of,
)
from gaugewright.store.schema import edits, jobs

EDITS = ("edit", "taken-in")
"""The kinds of line that can be taken back."""
OWN = -1
"""Stands for the edit that is being made, which has no version yet."""
MOST = 1_000_000
"""Signs of a document: a quarter of the bytes up to which a job.toml is read."""
LONGEST = 8
"""Steps of a place: the deepest of a job has six."""


def edit(
    connection: Connection,
    job: str,
    changes: Sequence[Change],
    based_on: int,
    device: str,
    what: str,
) -> bool:
    """Carry out these changes as one edit; False where they change nothing."""
    row = row_of(connection, job, write=True)
    steps = _steps(connection, job, based_on)
    try:
        moves = _moves(changes, dict(look(row.document).tables), steps)
    except EditedElsewhere as error:
        last = edit_rows(connection, job)[-1]
        raise EditedElsewhere(error.place, error.now, row.version, last.device) from error
    if not moves:
        return False
    document = after(row.document, moves)
    if len(document) > MOST:
        found = f"the job would come to {len(document)} signs, more than {MOST}"
        raise InputError(Problem("job.toml", "", found, "keep long texts in files of their own"))
    _refuse_wrong(row.document, document, moves)
    said = what or ", ".join(dict.fromkeys(dotted(move.path) for move in moves))
    save(connection, row, document, "edit", tuple(moves), device, said)
    return True


def _moves(changes: Sequence[Change], tables: dict[str, Any], steps: Sequence[Step]) -> list[Move]:
    """The changes as moves on the job as it is now, those left out that change nothing.

    A place is meant on the job as it was looked at, after the changes before it: it is taken
    back through these, on through what others did, and through the same changes as done here.
    """
    there = carried_out(tables, _undone(steps))
    meant: list[Move] = []
    done: list[Move] = []
    for change in changes:
        path = _checked(change)
        own = (Step(OWN, inverse(meant)), *steps, Step(OWN, tuple(done)))
        carried_path = carried(path, own, change.insert) if steps else path
        if carried_path is None:
            raise EditedElsewhere(change.place, None)
        done.append(move_of(change, carried_path, tables))
        tables = carried_out(tables, done[-1:])
        if steps:
            meant.append(move_of(change, path, there, check=False))
            there = carried_out(there, meant[-1:])
    return [move for move in done if move.kind != "put" or move.before != move.after]


def _undone(steps: Sequence[Step]) -> list[Move]:
    return [move for step in reversed(steps) for move in inverse(step.moves)]


def _checked(change: Change) -> tuple[str | int, ...]:
    """The path a change names.  Raises InputError where a document cannot have it."""
    path = path_of(change.place)
    wrong = "" in path or END in path[:-1] or isinstance(path[0], int) or len(path) > LONGEST
    if wrong or path in (("id",), ("format",)):
        found = f'found the place "{change.place}"'
        raise InputError(Problem("job.toml", "", found, "name a key of the job, such as title"))
    return path


def _steps(connection: Connection, job: str, since: int) -> list[Step]:
    """What was done to a job after a version."""
    rows = edit_rows(connection, job, since)
    return [Step(_edit_of(row), moves_from(row.moves)) for row in rows]


def _edit_of(row: Row[Any]) -> int:
    return int(row.takes_back if row.takes_back is not None else row.version)


def _refuse_wrong(before: str, document: str, moves: Sequence[Move]) -> None:
    """Refuse an edit whose own values are wrong; what is still missing elsewhere is no reason."""
    known = {problem.sentence for problem in look(before).problems}
    found = look(document)
    wrong = [
        problem
        for problem in found.problems
        if problem.sentence not in known and _about(problem, moves, found.tables)
    ]
    if wrong:
        raise InputError(wrong)


def _about(problem: Problem, moves: Sequence[Move], tables: Any) -> bool:
    """Is the problem about a value that one of these moves wrote, and not about one to come?"""
    written = any(problem.path[: len(move.path)] == move.path for move in moves)
    return written and not still_missing(problem, tables)


def save(
    connection: Connection,
    row: Row[Any],
    document: str,
    kind: str,
    moves: tuple[Move, ...],
    device: str,
    what: str,
    takes_back: int | None = None,
) -> None:
    """Write the document and the line of the history that tells how it came about."""
    version = row.version + 1
    changed = jobs.update().where(jobs.c.id == row.id)
    connection.execute(changed.values(version=version, **columns_of(document)))
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
    line = {"job": job, "version": version, "at": now(), "kind": kind}
    line |= {"device": printable(device), "what": printable(what)}
    line |= {"moves": moves_text(moves), "takes_back": takes_back, "stands": True}
    connection.execute(edits.insert().values(**line))


def undo(connection: Connection, job: str, based_on: int, device: str) -> None:
    """Take back the latest edit that stands and had been seen."""
    row_of(connection, job, write=True)
    rows = edit_rows(connection, job)
    standing = [r for r in rows if r.kind in EDITS and r.stands and r.version <= based_on]
    if not standing:
        raise InputError(Problem("job.toml", "", "there is nothing to undo", "go on"))
    _take_back(connection, job, standing[-1], "undo", device)


def ways(connection: Connection, job: str) -> tuple[bool, bool]:
    """Whether anything can be undone, and whether anything can be done again."""
    lines = connection.execute(
        select(edits.c.version, edits.c.kind).where(edits.c.job == job, edits.c.stands)
    ).all()
    last = select(func.max(edits.c.version)).where(edits.c.job == job, edits.c.kind.in_(EDITS))
    edited = connection.execute(last).scalar() or 0
    undone = any(line.kind == "undo" and line.version > edited for line in lines)
    return any(line.kind in EDITS for line in lines), undone


def take_back(connection: Connection, job: str, version: int, device: str) -> None:
    """Take back any edit of the history that stands."""
    row_of(connection, job, write=True)
    rows = [r for r in edit_rows(connection, job) if r.version == version and r.kind in EDITS]
    if not rows or not rows[0].stands:
        found = f"version {version} is no edit that can be taken back"
        raise InputError(Problem("job.toml", "", found, "choose one of the history that stands"))
    _take_back(connection, job, rows[0], "undo", device)


def redo(connection: Connection, job: str, device: str) -> None:
    """Do again what the latest undo took back, as long as nothing was edited since."""
    row_of(connection, job, write=True)
    rows = edit_rows(connection, job)
    edited = max((r.version for r in rows if r.kind in EDITS), default=0)
    undone = [r for r in rows if r.kind == "undo" and r.stands and r.version > edited]
    if not undone:
        raise InputError(Problem("job.toml", "", "there is nothing to redo", "go on"))
    _take_back(connection, job, undone[-1], "redo", device)


def _take_back(connection: Connection, job: str, taken: Row[Any], kind: str, device: str) -> None:
    """Do the opposite of a line of the history, wherever its places are now.

    The line stands no more; the edit it did or undid stands again, or no more.
    """
    row = row_of(connection, job, write=True)
    steps = _steps(connection, job, taken.version)
    try:
        moves = _opposite(taken, dict(look(row.document).tables), steps)
    except EditedElsewhere as error:
        last = edit_rows(connection, job)[-1]
        raise EditedElsewhere(error.place, error.now, row.version, last.device) from error
    document = after(row.document, moves)
    origin = _edit_of(taken)
    save(connection, row, document, kind, tuple(moves), device, taken.what, origin)
    _set_stands(connection, job, taken.version, False)
    _set_stands(connection, job, origin, kind == "redo")


def _opposite(taken: Row[Any], tables: dict[str, Any], steps: Sequence[Step]) -> list[Move]:
    """The opposite of a line's moves, on the job as it is now.

    Each must find what the line left there.  Its path holds before the line's later moves.
    """
    were, origin = moves_from(taken.moves), _edit_of(taken)
    done: list[Move] = []
    for number, move in enumerate(inverse(were)):
        later = len(were) - number
        since = (
            Step(origin, were[later:], later, len(were)),
            *steps,
            Step(origin, tuple(done), 0, len(were)),
        )
        path = carried(move.path, since, gap=move.kind == "insert")
        there = None if path is None else at(tables, path)
        if path is None or (move.kind != "insert" and there != move.before):
            raise EditedElsewhere(move.place, there)
        done.append(replace(move, path=path))
        tables = carried_out(tables, done[-1:])
    return done


def _set_stands(connection: Connection, job: str, version: int, stands: bool) -> None:
    where = (edits.c.job == job) & (edits.c.version == version)
    connection.execute(edits.update().where(where).values(stands=stands))
