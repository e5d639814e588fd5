"""The tables of the database as this version reads and writes them.

How older databases come to them stands in `steps`.  Lists and tables within a cell are JSON.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

metadata = MetaData()

about = Table(
    "about",
    metadata,
    Column("key", String(40), primary_key=True),
    Column("value", Text, nullable=False),
)
"""Facts about the database: `schema`, the step it is at."""

jobs = Table(
    "job",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("number", Integer, nullable=False, unique=True),
    Column("folder", String(32), nullable=False, unique=True),
    Column("version", BigInteger, nullable=False),
    Column("document", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("vehicle", Text, nullable=False),
    Column("visits", Integer, nullable=False),
    Column("changed", String(32), nullable=False),
    Column("set_aside", Boolean, nullable=False),
    Column("parts", Text, nullable=False, server_default="{}"),
)
"""Every job at its newest version; `folder` is where its files lie."""

edits = Table(
    "edit",
    metadata,
    Column("job", String(64), ForeignKey("job.id"), primary_key=True),
    Column("version", BigInteger, primary_key=True, autoincrement=False),
    Column("at", String(32), nullable=False),
    Column("device", Text, nullable=False),
    Column("kind", String(16), nullable=False),
    Column("what", Text, nullable=False),
    Column("moves", Text, nullable=False),
    Column("takes_back", BigInteger, nullable=True),
    Column("stands", Boolean, nullable=False),
)
"""The history: each line one version; `takes_back` the edit that an undo or redo is about."""

exchanges = Table(
    "exchange",
    metadata,
    Column("job", String(64), ForeignKey("job.id"), primary_key=True),
    Column("digest", String(64), primary_key=True),
    Column("version", BigInteger, nullable=False),
    Column("at", String(32), nullable=False),
)
"""Job folders that came in or went out, by what they held; `version` the job's at that time."""

layouts = Table(
    "layout",
    metadata,
    Column("signature", String(64), primary_key=True),
    Column("name", Text, nullable=False),
    Column("mapping", Text, nullable=False),
    Column("used", String(32), nullable=False),
)
"""How a logger's columns were mapped, by the signature of its header."""

cards = Table(
    "card",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("name", Text, nullable=False),
    Column("card", Text, nullable=False),
    Column("version", BigInteger, nullable=False),
    Column("changed", String(32), nullable=False),
    Column("set_aside", Boolean, nullable=False),
)
"""The workshop's sensor cards: each the tables of a [[sensor]]."""

devices = Table(
    "device",
    metadata,
    Column("token", String(64), primary_key=True),
    Column("name", Text, nullable=False),
    Column("let_in", String(32), nullable=False),
    Column("let_out", String(32), nullable=True),
)
"""Devices let in with a pairing code, by the hash of their token."""
