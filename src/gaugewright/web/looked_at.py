"""A recording file looked at before it is kept: its columns, first rows, and how they run."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from markupsafe import Markup

from gaugewright.errors import InputError
from gaugewright.job.model import RecordingEntry
from gaugewright.recording import overview, reading
from gaugewright.recording.asked import TIME_NAMES
from gaugewright.recording.types import Column, Recorded
from gaugewright.web.guessing import Guess, guess

WIDE, HIGH, BINS = 220.0, 40.0, 110
FIRST = 5
ANY_RATE = "1 Hz"
NO_CLOCK = "-"
LONGEST_HEAD = 200


@dataclass(frozen=True)
class How:
    """How a file shall be read where the guesses are wrong; empty: as guessed.

    `time` names the column of the clock, or is `NO_CLOCK`; `header_row` counts lines from 1.
    """

    time: str = ""
    header_row: int | None = None
    decimal: str = ""

    @property
    def text(self) -> dict[str, Any]:
        """The keys of the entry's [text]."""
        row = {} if self.header_row is None else {"header_row": self.header_row}
        return row | ({"decimal": self.decimal} if self.decimal else {})

    @property
    def stated(self) -> bool:
        """Whether anything is overruled."""
        return bool(self.time or self.text)


def how_from(kept: Mapping[str, Any]) -> How:
    """How such a file was read before, from the mapping that was kept of it."""
    text = kept.get("text")
    known = dict(text) if isinstance(text, Mapping) else {}
    return How(str(kept.get("time", "")), known.get("header_row"), str(known.get("decimal", "")))


@dataclass(frozen=True)
class Seen:
    """One column: its name, the file's unit, its first values, its course, what it may be."""

    name: str
    unit: str
    first: tuple[str, ...]
    drawn: Markup
    guess: Guess


@dataclass(frozen=True)
class File:
    """One file: how long it is, whether it has a clock, what was guessed, its columns.

    `clocks` names the columns that may be the clock.
    """

    name: str
    rows: int
    seconds: float
    rate: str
    clocked: bool
    time: str
    guesses: tuple[str, ...]
    remarks: tuple[str, ...]
    columns: tuple[Seen, ...]
    remembered: bool
    clocks: tuple[str, ...]


def look_at(path: Path, sensors: Sequence[str], kept: Mapping[str, Any], how: How) -> File:
    """What this file seems to hold; `kept` is how such a file was mapped before.

    Raises InputError where it is no recording, read so.
    """
    recorded, clock = _read(path, str(kept.get("rate") or ANY_RATE), how)
    remembered = {s["column"]: s for s in kept.get("signal", ()) if isinstance(s, Mapping)}
    columns = tuple(
        _seen(column, sensors, remembered.get(name), bool(kept))
        for name, column in recorded.columns.items()
    )
    span = max((c.time_s[-1] - c.time_s[0] for c in recorded.columns.values()), default=0.0)
    return File(
        name=path.name,
        rows=recorded.rows,
        seconds=float(span),
        rate=str(kept.get("rate", "")) if clock is None else "",
        clocked=clock is not None,
        time=clock or "",
        guesses=recorded.guesses,
        remarks=tuple(note.text for note in recorded.notes),
        columns=columns,
        remembered=bool(kept),
        clocks=tuple(dict.fromkeys([*([clock] if clock else []), *recorded.columns])),
    )


def names_in(path: Path) -> list[str]:
    """The names of a file's columns, to know its logger again; else its first line."""
    with contextlib.suppress(InputError):
        return list(_read(path, ANY_RATE, How())[0].columns)
    with path.open("rb") as file:
        return ["", file.readline(LONGEST_HEAD).decode("utf-8", "replace").strip()]


def _read(path: Path, rate: str, how: How) -> tuple[Recorded, str | None]:
    """The file's numbers, and the column its clock was found in ("": the file says which).

    None: it has no clock of its own.
    """
    if how.time == NO_CLOCK:
        return reading.read(_entry(path, how, rate=rate), path.parent), None
    if how.time:
        return reading.read(_entry(path, how, time=how.time), path.parent), how.time
    try:
        return reading.read(_entry(path, how), path.parent), ""
    except InputError as error:
        why = error
    for name in TIME_NAMES:
        with contextlib.suppress(InputError):
            return reading.read(_entry(path, how, time=name), path.parent), name
    with contextlib.suppress(InputError):
        return reading.read(_entry(path, how, rate=rate), path.parent), None
    raise why


def _entry(path: Path, how: How, **stated: str) -> RecordingEntry:
    text = {"text": how.text} if how.text else {}
    return RecordingEntry.model_validate({"name": path.stem, "file": path.name, **text, **stated})


def _seen(
    column: Column, sensors: Sequence[str], kept: Mapping[str, Any] | None, known: bool
) -> Seen:
    unit = column.unit or ""
    if kept is not None:
        sensor = str(kept.get("sensor", ""))
        sensor = sensor if sensor in sensors else ""
        unit_kept, against = str(kept.get("unit", "")), str(kept.get("reference", ""))
        proposed = Guess(str(kept["quantity"]), unit_kept, sensor, True, against)
    else:
        proposed = Guess(unit=unit) if known else guess(column.name, unit or None, sensors)
    first = tuple(f"{value:g}".replace("-", "\N{MINUS SIGN}") for value in column.values[:FIRST])
    return Seen(column.name, unit, first, course(column), proposed)


def course(column: Column) -> Markup:
    """A column's whole course, small: mean line over its band from least to greatest."""
    time_s, values = column.time_s, column.values
    if len(time_s) < 2 or not np.isfinite(values).any():
        return Markup("")
    _, low, mean, high = overview.bins(time_s, values, time_s[0], time_s[-1], BINS)
    least, most = float(np.nanmin(low)), float(np.nanmax(high))
    room = (most - least) or 1.0

    def at(index: int, value: float) -> str:
        return (
            f"{WIDE * index / (BINS - 1):.1f} {HIGH - 2 - (HIGH - 4) * (value - least) / room:.1f}"
        )

    there = [i for i in range(BINS) if np.isfinite(mean[i])]
    band = [at(i, high[i]) for i in there] + [at(i, low[i]) for i in reversed(there)]
    line = "L".join(at(i, mean[i]) for i in there)
    return Markup(
        f'<svg class="course" viewBox="0 0 {WIDE:g} {HIGH:g}" aria-hidden="true">'
        f'<path class="band" d="M{"L".join(band)}Z"/><path class="mean" d="M{line}"/></svg>'
    )
