"""The recordings of a visit as a page draws them: their lanes on disk, on one clock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import RecordingEntry
from gaugewright.store.lane import StoredLane, StoredRecording
from gaugewright.store.lines import Kept

COVERED = 0.9
"""Another recording takes part in a stretch when it covers this share of it."""


@dataclass(frozen=True)
class Track:
    """One recording: its number in the document, its lanes, and its place on the job's clock."""

    number: int
    entry: RecordingEntry
    stored: StoredRecording
    speed: StoredLane | None
    offset_s: float

    @property
    def begin_s(self) -> float:
        """The first instant on its own clock."""
        return self.stored.begin_s

    @property
    def end_s(self) -> float:
        """The last instant on its own clock."""
        return self.stored.end_s

    def shift_to(self, main: Track) -> float:
        """What is added to an instant on this clock to have it on `main`'s."""
        return self.offset_s - main.offset_s

    def shared(self, main: Track, from_s: float, to_s: float) -> float:
        """For how long it ran within a stretch of `main`'s clock."""
        shift = self.shift_to(main)
        return min(self.end_s + shift, to_s) - max(self.begin_s + shift, from_s)

    def covers(self, main: Track, from_s: float, to_s: float) -> bool:
        """Whether it was running during this stretch of `main`'s clock."""
        return self.shared(main, from_s, to_s) >= COVERED * (to_s - from_s)


def numbered(kept: Kept) -> Iterator[tuple[int, RecordingEntry]]:
    """The recordings of a job that can be read, with their numbers in the document."""
    rows = kept.tables.get("recording") or []
    entries = list(kept.model.recordings)
    for number, row in enumerate(rows):
        for entry in entries:
            if isinstance(row, Mapping) and _same(row, entry):
                entries.remove(entry)
                yield number, entry
                break


def _same(row: Mapping[str, Any], entry: RecordingEntry) -> bool:
    return (row.get("name"), row.get("file")) == (entry.name, entry.file)


def entry_of(kept: Kept, place: str) -> tuple[int, RecordingEntry]:
    """A recording by its number in the document, or by its name.

    Raises InputError where there is none.
    """
    known = list(numbered(kept))
    for number, entry in known:
        if place in (str(number), entry.name):
            return number, entry
    have = ", ".join(entry.name for _, entry in known) or "none"
    raise InputError(
        Problem(
            f"job {kept.number}",
            f"recording {place}",
            f"there is no recording {place}",
            f"there are: {have}",
        )
    )


def visit_entries(kept: Kept, visit: str | None) -> list[tuple[int, RecordingEntry]]:
    """The recordings of a visit that have signals, with their numbers."""
    return [(k, e) for k, e in numbered(kept) if e.visit == visit and e.signals]
