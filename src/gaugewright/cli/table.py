"""A table for the terminal as data: title, heads, groups of rows and a note."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

Row = tuple[str, ...]
NO_VALUE = "\u2013"


@dataclass(frozen=True)
class Table:
    """One part of what the terminal shows: its title, column heads, groups of rows and a note.

    Each group is a heading (which may be empty) and its rows.  Columns whose number stands in
    `figures` are set flush right and broken last.
    """

    title: str
    heads: Row
    groups: tuple[tuple[str, tuple[Row, ...]], ...]
    figures: frozenset[int] = frozenset()
    note: str = ""

    @property
    def rows(self) -> tuple[Row, ...]:
        """The rows of all groups."""
        return tuple(row for _, rows in self.groups for row in rows)


def grouped(pairs: Iterable[tuple[str, Row]]) -> tuple[tuple[str, tuple[Row, ...]], ...]:
    """Rows with their headings, in groups of neighbours that share one."""
    groups: list[tuple[str, list[Row]]] = []
    for heading, row in pairs:
        if not groups or groups[-1][0] != heading:
            groups.append((heading, []))
        groups[-1][1].append(row)
    return tuple((heading, tuple(rows)) for heading, rows in groups)
