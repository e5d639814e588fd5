"""The tables of the database, and the numbered steps that lead to them."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Connection,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

STEP = 1
"""The step of the schema that this version reads and writes."""

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
)

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


def prepare(connection: Connection) -> None:
    """Make the tables where there are none, and bring an older database to this step."""
    metadata.create_all(connection)
    stated = connection.execute(about.select().where(about.c.key == "schema")).first()
    if stated is None:
        connection.execute(about.insert().values(key="schema", value=str(STEP)))
