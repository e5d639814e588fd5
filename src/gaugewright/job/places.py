"""Where in a job file something stands, in the words a technician finds it by."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from gaugewright.errors import Problem

Path = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_\-. ]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_-]+(?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*=")


class Table(dict[str, Any]):
    """A table of the file that remembers its path, also after its neighbours are gone."""

    path: Path = ()


def mark(value: Any, path: Path = ()) -> Any:
    """The same data with every table a `Table` that knows its path."""
    if isinstance(value, Mapping):
        table = Table({key: mark(item, (*path, key)) for key, item in value.items()})
        table.path = path
        return table
    if isinstance(value, list | tuple):
        return [mark(item, (*path, number)) for number, item in enumerate(value)]
    return value


def find_lines(text: str) -> dict[Path, int]:
    """The line, counted from 1, on which each key and each table header of a TOML text stands.

    Good for headers and `key = value` lines, which is how job files are written; a key inside
    an inline table is found at the line of the key that holds it.
    """
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    inside: str | None = None
    for number, line in enumerate(text.splitlines(), 1):
        if inside is None:
            table = _note(line, number, table, found, counts)
        inside = _still_inside(line, inside)
    return found


def _note(
    line: str, number: int, table: Path, found: dict[Path, int], counts: dict[Path, int]
) -> Path:
    if header := _HEADER.match(line):
        table = _enter(header, counts)
        found.setdefault(table, number)
    elif key := _KEY.match(line):
        names = tuple(name.strip() for name in key.group(1).split("."))
        found.setdefault((*table, *names), number)
    return table


def _enter(header: re.Match[str], counts: dict[Path, int]) -> Path:
    path: Path = ()
    names = [name.strip() for name in header.group(2).split(".")]
    for name in names[:-1]:
        path = (*path, name)
        path = (*path, counts[path] - 1) if path in counts else path
    path = (*path, names[-1])
    if header.group(1) == "[[":
        counts[path] = counts.get(path, 0) + 1
        path = (*path, counts[path] - 1)
    return path


def _still_inside(line: str, inside: str | None) -> str | None:
    """Which multi-line string, if any, is open after this line."""
    for quotes in ('"""', "'''") if inside is None else (inside,):
        if line.count(quotes) % 2:
            return quotes if inside is None else None
    return inside


@dataclass(frozen=True)
class Source:
    """A job file as it was read: its name for messages, its tables, its lines."""

    file: str
    raw: Mapping[str, Any]
    lines: Mapping[Path, int] = field(default_factory=dict)

    def problem(self, path: Sequence[str | int], found: str, remedy: str) -> Problem:
        """One sentence about what stands at this path."""
        return Problem(self.file, self.place(tuple(path)), found, remedy, tuple(path))

    def place(self, path: Path) -> str:
        """A path in words: `recording "hot idle", signal 2, unit (line 41)`."""
        words, at, here = [], 0, self.raw
        while at < len(path):
            word, at, here = self._step(path, at, here)
            words.append(word)
        line = self._line(path)
        return ", ".join(words) + (f" (line {line})" if line and words else "")

    def _step(self, path: Path, at: int, here: Any) -> tuple[str, int, Any]:
        key = path[at]
        inner = _inner(here, key)
        if isinstance(key, int):
            return f"item {key + 1}", at + 1, inner
        if at + 1 < len(path) and isinstance(path[at + 1], int):
            number = int(path[at + 1])
            item = _inner(inner, number)
            if isinstance(item, Mapping):
                return f"{key} {_called(item, number)}", at + 2, item
        return str(key), at + 1, inner

    def _line(self, path: Path) -> int | None:
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None


def _called(item: Mapping[str, Any], number: int) -> str:
    name = item.get("name")
    return f'"{name}"' if isinstance(name, str) and name else str(number + 1)


def _inner(here: Any, key: str | int) -> Any:
    try:
        return here[key]
    except (KeyError, IndexError, TypeError):
        return None
