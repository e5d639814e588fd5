"""The tests that were looked at: what each showed, and where it stands in the document."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from gaugewright.job.words import TESTED
from gaugewright.report import causes, phrases
from gaugewright.web.fields import Field, field
from gaugewright.web.parts.gaps import rows, visit_of, visits


@dataclass(frozen=True)
class Looked:
    """One test with its outcome: its place in the document, and the fields to change it by."""

    place: str
    row: Mapping[str, Any]
    title: str
    saw: Field
    note: Field


def looked(tables: Mapping[str, Any]) -> tuple[Looked, ...]:
    """What the tests on the car as it came in have shown, in the order they were noted."""
    first = visits(tables)[0]
    return tuple(
        Looked(
            f"observation.{i}",
            row,
            phrases.capital(causes.test_name(row["what"])),
            field(tables, f"observation.{i}.saw"),
            field(tables, f"observation.{i}.note"),
        )
        for i, row in enumerate(rows(tables, "observation"))
        if row.get("what") in TESTED and visit_of(tables, row) == first
    )
