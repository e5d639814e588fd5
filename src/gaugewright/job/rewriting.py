"""The checker's complaints about single keys, said in our sentences; and what survives them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from gaugewright.errors import Problem
from gaugewright.job import model
from gaugewright.job.fields import FieldError, offer, said
from gaugewright.job.places import Path, Source
from gaugewright.quantities.units import UnitError

TABLES: dict[str, type[model.Part]] = {
    "vehicle": model.Vehicle,
    "complaint": model.Complaint,
    "place": model.Place,
    "visit": model.Visit,
    "observation": model.Observation,
    "limit": model.Limit,
    "switch": model.Switch,
    "sensor": model.Sensor,
    "instrument": model.Instrument,
    "recording": model.RecordingEntry,
    "text": model.Text,
    "signal": model.SignalEntry,
    "hose": model.Hose,
    "condition": model.Condition,
    "reading": model.HandReading,
    "work": model.Work,
}
"""Name of a table in job.toml -> what it may hold."""

SINGLE = ("vehicle", "complaint", "place", "text", "hose")
"""Tables written with single brackets, because there is one."""
REPEATED = tuple(name for name in TABLES if name not in SINGLE)
"""Tables written with double brackets, because there may be several."""

_NEEDED = {
    "format": "format = 1",
    "title": 'title = "Tick at hot idle"',
    "vehicle": "a table [vehicle] with cylinders and cycle",
    "cylinders": "cylinders = 4",
    "cycle": 'cycle = "four-stroke"',
    "name": 'name = "…"',
    "quantity": 'quantity = "oil-pressure"',
    "column": 'column = "…", the name of a column of the file',
    "file": 'file = "recordings/….csv"',
    "from": 'from = "5 s"',
    "to": 'to = "35 s"',
    "points": 'points = [["0.5 V", "0 bar"], ["4.5 V", "10 bar"]]',
    "closes_below": 'closes_below = "0.35 bar"',
    "value": 'value = "-2.5 inHg"',
    "what": 'what = "oil-level"',
    "saw": 'saw = "below minimum"',
    "text": 'text = "…"',
}
_KINDS = {
    "int": "a whole number, without quotes",
    "float": "a number, without quotes",
    "bool": "true or false, without quotes",
    "string": "a text in quotes",
}


def keys_of(part: type[model.Part]) -> tuple[str, ...]:
    """The keys a table may hold, as written in job.toml."""
    return tuple(field.alias or name for name, field in part.model_fields.items())


def rewrite(error: ValidationError, source: Source) -> Iterator[Problem]:
    """Every complaint of the checker as a problem with file, place, found and remedy."""
    for detail in error.errors(include_url=False):
        path, found, remedy = _said(detail)
        yield source.problem(path, found, remedy)


def _said(detail: ErrorDetails) -> tuple[Path, str, str]:
    path: Path = tuple(detail["loc"])
    cause = (detail.get("ctx") or {}).get("error")
    if isinstance(cause, FieldError | UnitError):
        return path, cause.found, cause.remedy
    kind = detail["type"]
    for family, rule in _RULES:
        if re.match(family, kind):
            return rule(path, detail)
    return path, f"found {said(detail['input'])}, which cannot be used", detail["msg"]


def _unknown_key(path: Path, _: ErrorDetails) -> tuple[Path, str, str]:
    key, owner = str(path[-1]), _owner(path[:-1])
    known = keys_of(owner)
    near = difflib.get_close_matches(key, known, n=1, cutoff=0.6)
    remedy = f'write "{near[0]}"' if near else f"use one of its keys: {', '.join(known)}"
    return path, f'found the key "{key}", which is not known', remedy


def _owner(path: Path) -> type[model.Part]:
    names = [key for key in path if isinstance(key, str)]
    return TABLES[names[-1]] if names else model.Job


def _absent(path: Path, detail: ErrorDetails) -> tuple[Path, str, str]:
    if isinstance(path[-1], int):
        return _pair(path[:-1], detail)
    key = str(path[-1])
    return path[:-1], f'the key "{key}" is missing', f"add {_NEEDED.get(key, key)}"


def _pair(path: Path, detail: ErrorDetails) -> tuple[Path, str, str]:
    given = detail["input"]
    while path and isinstance(path[-1], int) and not isinstance(given, list | tuple):
        path = path[:-1]
    return path, f"found {said(given)}, where two values belong", 'write two, ["…", "…"]'


def _word(path: Path, detail: ErrorDetails) -> tuple[Path, str, str]:
    if path == ("format",):
        remedy = "write format = 1, the one this version reads"
        return path, f"found format {said(detail['input'])}", remedy
    words = tuple(re.findall(r"'([^']*)'", (detail.get("ctx") or {}).get("expected", "")))
    given = detail["input"]
    return path, f"found {said(given)}, which is not a word for this key", offer(given, words)


def _kind(path: Path, detail: ErrorDetails) -> tuple[Path, str, str]:
    kind = detail["type"].split("_")[0]
    return path, f"found {said(detail['input'])}", f"write {_KINDS[kind]}"


def _table(path: Path, detail: ErrorDetails) -> tuple[Path, str, str]:
    named = next((key for key in reversed(path) if isinstance(key, str)), "")
    remedy = f"write [[{named}]]" if named in REPEATED else f"write [{named}]"
    if named == "hose":
        remedy = 'write hose = { length = "1 m", bore = "4 mm", holds = "air" }'
    if isinstance(detail["input"], list):
        return path, "found several tables where one belongs", remedy
    return path, f"found {said(detail['input'])} where a table belongs", remedy


def _list(path: Path, detail: ErrorDetails) -> tuple[Path, str, str]:
    named = str(path[-1])
    if named in REPEATED:
        found = "found a single value where one table for each belongs"
        return path, found, f"write [[{named}]] with double brackets"
    return path, f"found {said(detail['input'])} where a list belongs", 'write a list, ["…"]'


def _size(path: Path, detail: ErrorDetails) -> tuple[Path, str, str]:
    context = detail.get("ctx") or {}
    bounds = {"ge": "at least", "le": "at most", "gt": "more than", "lt": "less than"}
    words = [f"{bounds[key]} {value}" for key, value in context.items() if key in bounds]
    return path, f"found {said(detail['input'])}", f"write {' and '.join(words) or 'less'}"


def _empty(path: Path, _: ErrorDetails) -> tuple[Path, str, str]:
    return path, "found an empty text", "write something, or delete what needs no name"


_RULES = (
    ("extra_forbidden", _unknown_key),
    ("missing", _absent),
    ("literal_error", _word),
    ("string_too_short", _empty),
    ("(int|float|bool|string)_", _kind),
    ("model_|dict_", _table),
    ("too_long", _pair),
    ("tuple_|list_", _list),
    ("greater_|less_", _size),
)


STAND_INS: dict[str, Any] = {
    "format": 1,
    "title": "?",
    "vehicle": {"cylinders": 4, "cycle": "four-stroke"},
}


def prune(raw: dict[str, Any], error: ValidationError) -> None:
    """Take out of `raw` what the checker refused, so that the rest can still be checked.

    A refused key goes; a table that lacks a key it needs goes whole; the three keys no job
    can do without get a stand-in.
    """
    doomed: list[tuple[list[Any], Any]] = []
    for detail in error.errors(include_url=False):
        _drop(raw, tuple(detail["loc"]), detail["type"] == "missing", doomed)
    for items, item in doomed:
        items[:] = [kept for kept in items if kept is not item]


def _drop(
    raw: dict[str, Any], path: Path, absent: bool, doomed: list[tuple[list[Any], Any]]
) -> None:
    if path[0] in STAND_INS and (len(path) == 1 or absent or path[-1] in ("cylinders", "cycle")):
        raw[str(path[0])] = STAND_INS[str(path[0])]
        return
    if absent and isinstance(path[-1], str):
        path = path[:-1]
    if len(path) > 1 and isinstance(path[-1], int) and path[-2] in REPEATED:
        items = _at(raw, path[:-1])
        doomed.append((items, items[path[-1]]))
        return
    while isinstance(path[-1], int):
        path = path[:-1]
    _at(raw, path[:-1]).pop(path[-1], None)


def _at(here: Any, path: Path) -> Any:
    for key in path:
        here = here[key]
    return here
