"""The one door to the database: an engine set up safely, and whole transactions."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.pool import ConnectionPoolEntry

from gaugewright.errors import InputError, OutputError, Problem

WAIT_S = 60
"""How long a write waits for others that are writing."""
CONNECTIONS = 40
"""Connections at a time; further threads wait for one."""


def engine_of(url: str) -> Engine:
    """An engine for this address; every save is on the disk before it returns.

    Raises InputError for an address that is none, or of a database that is not known here.
    """
    address = _address(url)
    pool: dict[str, Any] = {"pool_size": 5, "max_overflow": CONNECTIONS - 5, "pool_timeout": WAIT_S}
    if address.get_backend_name() == "postgresql":
        return create_engine(_with_driver(address), pool_pre_ping=True, **pool)
    engine = create_engine(address, connect_args={"timeout": WAIT_S}, **pool)
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return engine


def _address(url: str) -> URL:
    try:
        address = make_url(url.replace("postgres://", "postgresql://", 1))
        known = address.get_backend_name() in ("sqlite", "postgresql")
    except (ArgumentError, ValueError):
        known = False
    if not known or (address.get_backend_name() == "sqlite" and not address.database):
        found = "this is no address of a database that can be used"
        remedy = "write sqlite:///FILE or postgresql://USER@HOST/NAME"
        raise InputError(Problem("the store", "", found, remedy))
    return address


def _with_driver(address: URL) -> URL:
    try:
        import psycopg  # noqa: F401  (asked for so that its absence is told in a sentence)
    except ImportError as error:
        found = "the driver for PostgreSQL is not installed"
        remedy = 'install it with: pip install "gaugewright[server]"'
        raise InputError(Problem(said(address), "", found, remedy)) from error
    return address.set(drivername="postgresql+psycopg")


def said(address: URL) -> str:
    """An address as a message shows it: without its password."""
    return address.render_as_string(hide_password=True)


def file_of(engine: Engine) -> Path | None:
    """The file of an SQLite database, None for a server."""
    if engine.dialect.name != "sqlite" or not engine.url.database:
        return None
    return Path(engine.url.database)


def make_safe(path: Path) -> None:
    """Have a file's saves written beside it first, so that readers never wait for a writer.

    The mode stays with the file.  Raises InputError where the file is no database.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    until = time.monotonic() + WAIT_S
    while True:
        try:
            with closing(sqlite3.connect(path, timeout=WAIT_S)) as connection:
                connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise _trouble(str(path), error) from error
            time.sleep(0.05)
        except sqlite3.DatabaseError as error:
            raise _trouble(str(path), error) from error


def _set_up(connection: Any, _: ConnectionPoolEntry) -> None:
    connection.isolation_level = None
    for pragma in ("synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """One transaction that writes: all of it is kept, or none.

    Raises OutputError where the database refuses, InputError where it cannot be reached or read.
    """
    with _told(engine), engine.connect() as connection:
        connection.execution_options(writes=True)
        with connection.begin():
            yield connection


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """One transaction that only reads: it sees one state of the database.

    Raises InputError where the database cannot be reached or read.
    """
    with _told(engine), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def _told(engine: Engine) -> Iterator[None]:
    """What the database says no to, in one sentence."""
    try:
        yield
    except DBAPIError as error:
        raise _trouble(said(engine.url), error.orig or error) from error


def _trouble(where: str, error: BaseException) -> InputError | OutputError:
    text = " ".join(str(error).split())
    if "full" in text or "readonly" in text or "read-only" in text:
        found = f"the database cannot be written ({text})"
        return OutputError(Problem(where, "", found, "free some space, or make it writable"))
    found = f"the database cannot be used ({text})"
    remedy = "see that it is there, whole and of this program, and try again"
    return InputError(Problem(where, "", found, remedy))
