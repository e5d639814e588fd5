"""What a document says, worked out once for each text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from gaugewright.errors import Problem
from gaugewright.job.model import Job
from gaugewright.job.reading import as_far_as_read
from gaugewright.job.rewriting import REPEATED, SINGLE
from gaugewright.store.changes import at, tables_of
from gaugewright.store.soundness import sound_part

REMEMBERED = 128
"""Texts whose reading is remembered, the last asked for."""


@dataclass(frozen=True)
class Look:
    """A document read: its tables (not to be changed), its model, what is wrong or missing."""

    tables: Mapping[str, Any]
    model: Job
    problems: tuple[Problem, ...]


@lru_cache(maxsize=REMEMBERED)
def look(document: str) -> Look:
    """The reading of a document; its files are not looked for."""
    model, problems = as_far_as_read(document)
    return Look(tables_of(document), model, problems)


def missing_files(found: Look, folder: Path) -> tuple[Problem, ...]:
    """A problem for each recording whose file is not in the folder."""
    entries = found.tables.get("recording") or []
    named = {(k, entry.get("file")) for k, entry in enumerate(entries) if isinstance(entry, dict)}
    return tuple(
        Problem(
            "job.toml",
            f'recording "{entries[k].get("name", k + 1)}", file',
            f'the file "{file}" is not there',
            "bring it in again from where it came",
            ("recording", k, "file"),
        )
        for k, file in sorted(named, key=lambda pair: pair[0])
        if isinstance(file, str) and not (folder / file).is_file()
    )


def sound_of(document: str, missing: tuple[Problem, ...]) -> Job | None:
    """The part of a document that can be analysed, None where there is none."""
    found = look(document)
    if not found.problems and not missing:
        return found.model
    return _sound(document, tuple(problem.path for problem in missing))


@lru_cache(maxsize=REMEMBERED)
def _sound(document: str, missing: tuple[tuple[str | int, ...], ...]) -> Job | None:
    found = look(document)
    gone = tuple(Problem("job.toml", "", "not there", "", path) for path in missing)
    return sound_part(found.tables, (*found.problems, *gone))


def still_missing(problem: Problem, tables: Any) -> bool:
    """Is a problem only that something is not stated yet?  Then the job can be kept so."""
    standing = at(tables, problem.path)
    if standing is None or problem.path == ():
        return True
    if not isinstance(standing, dict):
        return False
    last = problem.path[-1]
    return last in SINGLE or (isinstance(last, int) and problem.path[-2] in REPEATED)
