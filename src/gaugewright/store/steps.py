"""The numbered steps of the schema: an older database is brought to this version's, whole or not.

A step is never changed once it has been released; a new table or column is a new step.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, inspect, text

from gaugewright.errors import InputError, Problem
from gaugewright.store.parts import parts_of
from gaugewright.store.schema import metadata

LOCK = 4_711_001
"""The number under which processes that open one PostgreSQL database wait for each other."""


def backed_up(file: Path) -> None:
    """Copy an SQLite database that is at an earlier step, before it is taken further.

    The copy lies beside it, `.step-N` after its name, and is made once.
    """
    import sqlite3

    with closing(sqlite3.connect(file)) as connection:
        try:
            query = "SELECT value FROM about WHERE key = 'schema'"
            step = int(connection.execute(query).fetchone()[0])
        except (sqlite3.Error, TypeError, ValueError):
            return
        copy = file.with_name(f"{file.name}.step-{step}")
        if step < NEWEST and not copy.exists():
            connection.execute("VACUUM INTO ?", (str(copy),))


def prepare(connection: Connection, name: str) -> None:
    """Make the tables where there are none, and take an older database up to this step.

    Raises InputError where the database is of a later version, or of another program.
    """
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
    there = set(inspect(connection).get_table_names())
    if "about" not in there and "job" not in there:
        metadata.create_all(connection)
        _note(connection, NEWEST, new=True)
        return
    step = step_of(connection, name)
    for number in range(step + 1, NEWEST + 1):
        STEPS[number](connection)
        _note(connection, number)


def step_of(connection: Connection, name: str) -> int:
    """The step a database is at.  Raises InputError where it is none that can be read."""
    there = set(inspect(connection).get_table_names())
    stated = None
    if "about" in there:
        stated = connection.execute(text("SELECT value FROM about WHERE key = 'schema'")).scalar()
    if stated is None or not str(stated).isdecimal():
        found = "it holds tables of another program"
        raise InputError(Problem(name, "", found, "name an empty database, or a file to be made"))
    if int(stated) > NEWEST:
        found = f"it is at step {stated} of the schema, this version knows {NEWEST}"
        remedy = "use the newer version of gaugewright that wrote it"
        raise InputError(Problem(name, "", found, remedy))
    return int(stated)


def _note(connection: Connection, step: int, new: bool = False) -> None:
    insert = "INSERT INTO about (key, value) VALUES ('schema', :step)"
    update = "UPDATE about SET value = :step WHERE key = 'schema'"
    connection.execute(text(insert if new else update), {"step": str(step)})


def _second(connection: Connection) -> None:
    """Parts in the list, exchanges, layouts, sensor cards, devices; a redo names its edit."""
    for sentence in (
        "ALTER TABLE job ADD COLUMN parts TEXT DEFAULT '{}' NOT NULL",
        "CREATE TABLE exchange (job VARCHAR(64) NOT NULL REFERENCES job (id),"
        " digest VARCHAR(64) NOT NULL, version BIGINT NOT NULL, at VARCHAR(32) NOT NULL,"
        " PRIMARY KEY (job, digest))",
        "CREATE TABLE layout (signature VARCHAR(64) NOT NULL PRIMARY KEY, name TEXT NOT NULL,"
        " mapping TEXT NOT NULL, used VARCHAR(32) NOT NULL)",
        "CREATE TABLE card (id VARCHAR(32) NOT NULL PRIMARY KEY, name TEXT NOT NULL,"
        " card TEXT NOT NULL, version BIGINT NOT NULL, changed VARCHAR(32) NOT NULL,"
        " set_aside BOOLEAN NOT NULL)",
        "CREATE TABLE device (token VARCHAR(64) NOT NULL PRIMARY KEY, name TEXT NOT NULL,"
        " let_in VARCHAR(32) NOT NULL, let_out VARCHAR(32))",
        "UPDATE edit SET takes_back = (SELECT undone.takes_back FROM edit AS undone"
        " WHERE undone.job = edit.job AND undone.version = edit.takes_back)"
        " WHERE kind = 'redo'",
    ):
        connection.execute(text(sentence))
    _fill_parts(connection)


def _fill_parts(connection: Connection) -> None:
    from gaugewright.store.looks import look

    for job, document in connection.execute(text("SELECT id, document FROM job")).all():
        found = look(document)
        parts = json.dumps(parts_of(found.tables, not found.problems))
        update = text("UPDATE job SET parts = :parts WHERE id = :job")
        connection.execute(update, {"parts": parts, "job": job})


STEPS: dict[int, Callable[[Connection], None]] = {2: _second}
"""Step number -> what takes a database there from the step before."""

NEWEST = max(STEPS)
"""The step of the schema that this version reads and writes."""
