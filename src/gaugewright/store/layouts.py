"""How the workshop's loggers lay out their files: mappings remembered by the header."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Engine, select

from gaugewright.store.changes import cleaned, printable
from gaugewright.store.database import reading, writing
from gaugewright.store.rows import now, one_at_a_time
from gaugewright.store.schema import layouts


@dataclass(frozen=True)
class LoggerLayout:
    """A remembered mapping: what the logger is called, and the keys of its [[recording]]."""

    signature: str
    name: str
    mapping: Mapping[str, Any]
    used: str


def signature(columns: Sequence[str]) -> str:
    """What a logger's files are known by: their columns' names in order, case and blanks aside."""
    names = [" ".join(name.casefold().split()) for name in columns]
    return hashlib.sha256(json.dumps(names, ensure_ascii=False).encode()).hexdigest()


@dataclass(frozen=True)
class Layouts:
    """The remembered layouts of a store."""

    engine: Engine

    def remember(self, columns: Sequence[str], mapping: Mapping[str, Any], name: str = "") -> None:
        """Remember how a file with these columns was mapped; the last mapping counts.

        `mapping` holds the keys of the [[recording]] entry that go with the logger (`time`,
        `rate`, `time_unit`, `text`, `signal`), as they shall be offered the next time.
        """
        known = signature(columns)
        kept = json.dumps(cleaned(mapping, "recording"))
        line = {"name": printable(name), "mapping": kept, "used": now()}
        with writing(self.engine) as connection:
            one_at_a_time(connection)
            changed = connection.execute(
                layouts.update().where(layouts.c.signature == known).values(**line)
            )
            if not changed.rowcount:
                connection.execute(layouts.insert().values(signature=known, **line))

    def recall(self, columns: Sequence[str]) -> LoggerLayout | None:
        """The mapping that a file with these columns had the last time, None for a new one."""
        query = select(layouts).where(layouts.c.signature == signature(columns))
        with reading(self.engine) as connection:
            row = connection.execute(query).first()
        return None if row is None else _layout(row)

    def all(self) -> tuple[LoggerLayout, ...]:
        """Every remembered layout, the last used first."""
        with reading(self.engine) as connection:
            rows = list(connection.execute(select(layouts).order_by(layouts.c.used.desc())))
        return tuple(_layout(row) for row in rows)


def _layout(row: Any) -> LoggerLayout:
    return LoggerLayout(row.signature, row.name, json.loads(row.mapping), row.used)
