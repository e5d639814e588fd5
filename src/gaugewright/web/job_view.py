"""A job as its page shows it: every part with its state, its words and what is missing in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from fastapi import Request
from markupsafe import Markup

from gaugewright.job.words import OBSERVATIONS
from gaugewright.report.svg import COLOUR_OF
from gaugewright.store.lines import PARTS, Kept
from gaugewright.web.answers import sentences
from gaugewright.web.bay import bay_of
from gaugewright.web.fields import CHOICES, field
from gaugewright.web.parts.gaps import gaps, measured, next_part, rows, visit_of, visits
from gaugewright.web.parts.lines import line_of
from gaugewright.web.templating import fragment, lenient

FOLDS = ("complaint", "limits", "instruments")
"""Parts that fold once they are done and something was measured: nothing more is typed there."""


@dataclass(frozen=True)
class Part:
    """One part of the page: its state, the line beside its head, what is missing."""

    name: str
    state: str
    line: str
    gaps: tuple[str, ...]
    folds: bool


def main_of(request: Request, kept: Kept) -> Markup:
    """The inner part of a job's page."""
    tables = kept.tables
    found = gaps(tables)
    words = bay_of(request).words
    told = tuple(
        Part(
            name,
            kept.parts.get(name, "waiting"),
            line_of(name, tables, words),
            found[name],
            name in FOLDS and kept.parts.get(name) == "done" and measured(tables),
        )
        for name in PARTS
    )
    back, again = bay_of(request).store.ways(kept.id)
    return fragment(
        request,
        "job/main.html",
        kept=kept,
        back=back,
        again=again,
        tables=lenient(tables),
        parts={part.name: part for part in told},
        goes_on=next_part(kept.parts, found),
        f=partial(field, tables),
        rows=partial(_numbered, tables),
        of_visit=partial(_of_visit, tables),
        visits=visits(tables),
        last_visit=visits(tables)[-1],
        problems=sentences(kept.problems) if measured(tables) else [],
        choices=CHOICES,
        observed=OBSERVATIONS,
        ink=COLOUR_OF,
        said_of=partial(_said, tables),
    )


def _numbered(tables: Mapping[str, Any], name: str) -> list[tuple[int, Any]]:
    return [(i, lenient(row)) for i, row in enumerate(rows(tables, name))]


def _of_visit(tables: Mapping[str, Any], name: str, visit: str) -> list[tuple[int, Any]]:
    return [(i, row) for i, row in _numbered(tables, name) if visit_of(tables, row) == visit]


def _said(tables: Mapping[str, Any], *path: str) -> str:
    """What stands at a path of single tables, as text; empty where nothing does."""
    here: Any = tables
    for step in path:
        here = here.get(step) if isinstance(here, Mapping) else None
    return "" if here is None else str(here)
