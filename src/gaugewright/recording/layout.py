"""How a delimited text is laid out, and how a column is found in it by its name."""

from __future__ import annotations

import csv
from dataclasses import dataclass, field

WORDS = {",": "commas", ";": "semicolons", "\t": "tabs", " ": "blanks", "|": "upright strokes"}


@dataclass(frozen=True)
class Head:
    """One column as the file names it: `name` as used, `raw` as written, `unit` or None."""

    name: str
    raw: str
    unit: str | None = None

    @property
    def plain(self) -> str:
        """The name without its unit and without differences of case and blanks."""
        return " ".join(self.name.casefold().split())


@dataclass(frozen=True)
class Split:
    """How lines fall into cells."""

    delimiter: str
    decimal: str
    quoted: bool = False

    def cells(self, line: str) -> list[str]:
        """The cells of one line, without the blanks around them."""
        if self.delimiter == " ":
            return line.split()
        if self.quoted and '"' in line:
            cells = next(csv.reader([line], delimiter=self.delimiter, skipinitialspace=True), [])
        else:
            cells = line.split(self.delimiter)
        return [cell.strip() for cell in cells]


@dataclass(frozen=True)
class Layout:
    """Everything that has to be known before the numbers can be read.

    `width` counts the fields of a line, an empty one after a trailing delimiter included.
    Lines count from 1.  `skipped` holds the lines above the first row, to know them again.
    """

    encoding: str
    newline: str
    split: Split
    width: int
    first_row: int
    header_row: int | None
    units_row: int | None
    heads: tuple[Head, ...]
    skipped: frozenset[str] = frozenset()
    guesses: tuple[str, ...] = ()
    twice: tuple[str, ...] = ()
    sample: tuple[tuple[str, ...], ...] = field(default=(), repr=False)

    def find(self, name: str) -> int | None:
        """The index of the column of this name; exact spelling first, then the plain name."""
        for spell in (_raw, _name, _plain, _plain_raw):
            wanted = " ".join(name.casefold().split()) if spell in (_plain, _plain_raw) else name
            for index, head in enumerate(self.heads):
                if spell(head) == wanted:
                    return index
        return None

    def listed(self, most: int = 20) -> str:
        """The columns that are there, for an error message."""
        names = [f"'{head.name}'" for head in self.heads]
        more = f" and {len(names) - most} more" if len(names) > most else ""
        return ", ".join(names[:most]) + more


def _raw(head: Head) -> str:
    return head.raw


def _name(head: Head) -> str:
    return head.name


def _plain(head: Head) -> str:
    return head.plain


def _plain_raw(head: Head) -> str:
    return " ".join(head.raw.casefold().split())
