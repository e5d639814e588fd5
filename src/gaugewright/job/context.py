"""What the checks look things up in: where a table stood, which names exist."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from gaugewright.errors import Problem
from gaugewright.job.model import Job, Part
from gaugewright.job.places import Path, Source, Table

FIRST = "first"
"""Name of the visit that is supplied where a job has none."""


@dataclass(frozen=True)
class Context:
    """The file, the path of every table read from it, and the folder its recordings lie in."""

    source: Source
    paths: Mapping[int, Path]
    folder: FilePath | None = None
    names: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def problem(self, part: Part, key: str, found: str, remedy: str) -> Problem:
        """A sentence about one key of one table (`key` empty: the table as a whole)."""
        path = self.paths.get(id(part), ())
        return self.source.problem((*path, key) if key else path, found, remedy)

    def written(self, part: Part, *keys: str) -> bool:
        """Whether the file holds one of the keys in this table, even where it was refused."""
        here: Any = self.source.raw
        for step in self.path(part):
            here = here[step]
        return any(key in here for key in keys)

    def path(self, part: Part) -> Path:
        """Where a table stands in the file."""
        return self.paths.get(id(part), ())


def context_of(job: Job, kept: Table, source: Source, folder: FilePath | None) -> Context:
    """The context of a job read from `kept`, the tables that survived, out of `source`."""
    paths: dict[int, Path] = {}
    _walk(job, kept, paths)
    names = {key: _names(source.raw, key) for key in ("visit", "sensor", "instrument")}
    names["visit"] = names["visit"] or (FIRST,)
    return Context(source, paths, folder, names)


def _walk(part: Part, table: Any, paths: dict[int, Path]) -> None:
    if not isinstance(table, Table):
        return
    paths[id(part)] = table.path
    for name, info in type(part).model_fields.items():
        value, written = getattr(part, name), table.get(info.alias or name)
        if isinstance(value, Part):
            _walk(value, written, paths)
        elif isinstance(value, tuple) and isinstance(written, list):
            for item, entry in zip(value, written, strict=False):
                if isinstance(item, Part):
                    _walk(item, entry, paths)


def _names(raw: Mapping[str, Any], key: str) -> tuple[str, ...]:
    entries = raw.get(key)
    tables = entries if isinstance(entries, list) else []
    found = [entry.get("name") for entry in tables if isinstance(entry, Mapping)]
    return tuple(name for name in found if isinstance(name, str))
