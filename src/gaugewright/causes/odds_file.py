"""The table of odds and a shop's closed jobs as files: read, checked, written."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from gaugewright.causes.catalogue import KINDS, NAMES
from gaugewright.causes.odds import COLUMNS, Column, Table
from gaugewright.errors import InputError, Problem

FORMAT = 1
SHARES = ("two_faults", "consequences")
KIND_WORDS: Mapping[str, tuple[str, ...]] = {
    "ventilation": ("regulator", "orifice", "valve", "open"),
    "oil_pump": ("fixed", "two-stage", "variable", "controlled"),
    "fuel": ("petrol", "diesel", "gas"),
}
ODDS = "give a number above 0; what never happened yet gets a small one"
SHARE = "give a share above 0 and below 1"


@cache
def shipped() -> Table:
    """The table that comes with the program: all of it judgement."""
    text = resources.files(__package__).joinpath("odds.toml").read_text(encoding="utf-8")
    return _table(_parsed(text, "odds.toml"), "odds.toml")


def read(path: Path) -> Table:
    """The table of odds in this file, of the form of the shipped odds.toml.

    Raises InputError with everything that is wrong, each in one sentence with file and key.
    """
    return _table(_parsed(_text(path), str(path)), str(path))


def read_closed(path: Path) -> dict[Column, dict[tuple[str, ...], float]]:
    """A shop's closed jobs: kind of job -> causes found -> how many.

    The file holds `format = 1` and tables [[closed]] with `causes` (one or two), `count` (silent:
    1) and `column` (silent: "lamp").
    Raises InputError with everything that is wrong, each in one sentence with file and key.
    """
    raw, file = _parsed(_text(path), str(path)), str(path)
    problems = [*_format(raw, file), *_unknown(raw, ("format", "closed"), file, "")]
    rows = raw.get("closed", [])
    if not isinstance(rows, list):
        found = "found something else than tables [[closed]]"
        raise InputError([*problems, Problem(file, "closed", found, "head each with [[closed]]")])
    for number, row in enumerate(rows, 1):
        problems += _closed_problems(row, file, f"closed {number}")
    if problems:
        raise InputError(problems)
    counts: dict[Column, dict[tuple[str, ...], float]] = {column: {} for column in COLUMNS}
    for row in rows:
        of, causes = counts[row.get("column", "lamp")], tuple(row["causes"])
        of[causes] = of.get(causes, 0.0) + float(row.get("count", 1))
    return counts


def written(table: Table) -> str:
    """The text of a file that `read` reads back as this table."""
    lines = [f"format = {FORMAT}", *(f"{key} = {getattr(table, key):.6g}" for key in SHARES)]
    for kind, shares in table.kinds.items():
        lines += ["", f"[kinds.{kind}]", *(f"{word} = {n:.6g}" for word, n in shares.items())]
    for column, odds in table.columns.items():
        lines += ["", f"[{column}]", *(f"{name} = {n:.6g}" for name, n in odds.items())]
    return "\n".join(lines) + "\n"


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as why:
        said = why.strerror if isinstance(why, OSError) else "it is not UTF-8"
        problem = Problem(str(path), "", f"it cannot be read ({said})", "name a readable TOML file")
        raise InputError(problem) from why


def _parsed(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as why:
        raise InputError(Problem(file, "", f"not TOML ({why})", "correct this line")) from why


def _table(raw: Mapping[str, Any], file: str) -> Table:
    problems = list(_problems(raw, file))
    if problems:
        raise InputError(problems)
    return Table(
        columns={column: {name: float(raw[column][name]) for name in NAMES} for column in COLUMNS},
        two_faults=float(raw["two_faults"]),
        consequences=float(raw["consequences"]),
        kinds={
            kind: {word: float(raw["kinds"][kind][word]) for word in KIND_WORDS[kind]}
            for kind in KINDS
        },
    )


def _problems(raw: Mapping[str, Any], file: str) -> Iterator[Problem]:
    yield from _format(raw, file)
    yield from _unknown(raw, ("format", "kinds", *SHARES, *COLUMNS), file, "")
    for key in SHARES:
        if not _between(raw.get(key), 1.0):
            yield Problem(file, key, _found(raw.get(key)), SHARE)
    for column in COLUMNS:
        yield from _numbers(raw.get(column), NAMES, file, column, ODDS)
    kinds = raw.get("kinds")
    if not isinstance(kinds, Mapping):
        yield Problem(file, "kinds", _found(kinds), "give tables [kinds.ventilation] and so on")
        return
    yield from _unknown(kinds, KINDS, file, "kinds.")
    for kind in KINDS:
        yield from _numbers(kinds.get(kind), KIND_WORDS[kind], file, f"kinds.{kind}", SHARE, 1.0)


def _numbers(
    table: Any, names: tuple[str, ...], file: str, place: str, remedy: str, most: float = math.inf
) -> Iterator[Problem]:
    if not isinstance(table, Mapping):
        yield Problem(file, place, _found(table), f"give a table [{place}]")
        return
    yield from _unknown(table, names, file, f"{place}.")
    for name in names:
        if not _between(table.get(name), most):
            yield Problem(file, f"{place}.{name}", _found(table.get(name)), remedy)


def _between(value: Any, most: float) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and 0.0 < value < most


def _found(value: Any) -> str:
    return "nothing is stated" if value is None else f"found {value!r}"


def _format(raw: Mapping[str, Any], file: str) -> Iterator[Problem]:
    if raw.get("format") != FORMAT:
        yield Problem(file, "format", _found(raw.get("format")), f"write format = {FORMAT}")


def _unknown(
    table: Mapping[str, Any], known: tuple[str, ...], file: str, before: str
) -> Iterator[Problem]:
    for key in table:
        if key not in known:
            use = f"use one of {', '.join(known)}"
            yield Problem(file, f"{before}{key}", "the key is not known", use)


def _closed_problems(row: Any, file: str, place: str) -> Iterator[Problem]:
    if not isinstance(row, Mapping):
        yield Problem(file, place, _found(row), "give a table [[closed]]")
        return
    yield from _unknown(row, ("causes", "count", "column"), file, f"{place}, ")
    causes = row.get("causes")
    if (
        not isinstance(causes, list)
        or len(causes) not in (1, 2)
        or len({*map(str, causes)}) < len(causes)
    ):
        yield Problem(file, f"{place}, causes", _found(causes), "give a list of one or two causes")
    else:
        for name in causes:
            if name not in NAMES:
                known = f"use one of {', '.join(NAMES)}"
                yield Problem(file, f"{place}, causes", f"found {name!r}, no known cause", known)
    if not _between(row.get("count", 1), math.inf):
        found = _found(row["count"])
        yield Problem(file, f"{place}, count", found, "give a number of jobs above 0")
    if row.get("column", "lamp") not in COLUMNS:
        found = _found(row["column"])
        yield Problem(file, f"{place}, column", found, f"use one of {', '.join(COLUMNS)}")
