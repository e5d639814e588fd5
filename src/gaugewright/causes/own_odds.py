"""The workshop's own odds: a table of its own, its closed jobs, or both."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from gaugewright.causes.odds import Table, followed
from gaugewright.causes.odds_file import read, read_closed, shipped
from gaugewright.quantities.said import said


def own_table(odds: Path | None, closed: Path | None) -> Table | None:
    """The odds before any evidence as these files have them; None where neither is named.

    Parameters: `odds`, a file of the form of the shipped odds.toml; `closed`, a file of closed
    jobs that moves either that table or the shipped one.
    Returns a table whose `origin` says which files it comes from.
    Raises InputError with everything that is wrong in a file, each in one sentence.
    """
    if odds is None and closed is None:
        return None
    table, origin = _base(odds)
    if closed is not None:
        counts = read_closed(closed)
        table = followed(table, counts)
        jobs = sum(sum(column.values()) for column in counts.values())
        origin = said(
            "{before}, moved by {jobs:g} closed jobs of {file}",
            before=origin,
            jobs=float(jobs),
            file=closed.name,
        )
    return replace(table, origin=origin)


def _base(odds: Path | None) -> tuple[Table, str]:
    if odds is None:
        return shipped(), said("those that ship with the program")
    return read(odds), said("those of {file}", file=odds.name)
