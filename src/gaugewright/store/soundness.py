"""The part of a job that can be analysed while the rest is still being written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import Job
from gaugewright.job.reading import job_from_tables
from gaugewright.store.changes import plain

INNER = ("condition", "signal")
"""Tables within a recording that can be left out alone."""
ROUNDS = 8


def sound_part(tables: Mapping[str, Any], problems: Sequence[Problem]) -> Job | None:
    """The job without the tables in which something is wrong or missing.

    Parameters: the document as plain `tables`; the `problems` it has, files that are not there
    among them.
    Returns the job, validated; None where nothing is left to analyse.
    """
    left: dict[str, Any] = plain(tables)
    for _ in range(ROUNDS):
        if not _without(left, problems):
            return None
        try:
            return job_from_tables(left)
        except InputError as error:
            problems = error.problems
    return None


def _without(left: dict[str, Any], problems: Sequence[Problem]) -> bool:
    """Take the tables the problems are about out; False where one is about the whole."""
    places = {_table(problem.path) for problem in problems}
    if () in places or any(place[0] in ("format", "title") for place in places):
        return False
    for place in sorted(places, key=lambda p: [str(s).zfill(6) for s in p], reverse=True):
        _drop(left, place)
    return True


def _table(path: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """The table that is left out for a problem at this path."""
    if len(path) > 3 and path[0] == "recording" and path[2] in INNER:
        return path[:4]
    if len(path) > 1 and isinstance(path[1], int):
        return path[:2]
    return path[:2] if path[:1] == ("vehicle",) else path[:1]


def _drop(left: dict[str, Any], place: tuple[str | int, ...]) -> None:
    here: Any = left
    try:
        for step in place[:-1]:
            here = here[step]
        del here[place[-1]]
    except (KeyError, IndexError, TypeError):
        left.clear()
