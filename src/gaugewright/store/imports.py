"""A recording that was read once, kept as lanes on disk: the store's maker of recordings.

The columns are kept as they come from the import, float32 where that loses nothing and float64
elsewhere, so that findings made from them are the same to the last bit.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from gaugewright import METHOD_VERSION
from gaugewright.job.model import RecordingEntry
from gaugewright.quantities.catalogue import PULSES
from gaugewright.quantities.said import packed, unpacked
from gaugewright.recording.types import Column, Floats, Note, Recorded
from gaugewright.store import bags, overview
from gaugewright.store.bags import Array, Bag

LANES = "lanes"
STORED = 1
"""Raised when lanes are stored another way: those stored before are then made anew."""


def key_of(entry: RecordingEntry, sha256: str) -> str:
    """Under which name the lanes of an entry lie: the file's bytes and how they are read."""
    columns = sorted((s.column, s.time or "", s.supply_column or "") for s in entry.signals)
    pulses = sorted({s.column for s in entry.signals if s.quantity in PULSES})
    rate = None if entry.rate is None else entry.rate.si
    read_as = (entry.time, rate, entry.time_unit, repr(entry.text), columns, pulses)
    text = repr((METHOD_VERSION, STORED, sha256, read_as))
    return hashlib.sha256(text.encode()).hexdigest()[:40]


def save(folder: Path, recorded: Recorded) -> Bag:
    """Keep what an import gave, with an overview beside each lane, as a bag in this folder."""
    arrays: dict[str, Array] = {}
    clocks: dict[int, str] = {}
    columns = []
    for number, (name, column) in enumerate(recorded.columns.items()):
        clock = clocks.setdefault(id(column.time_s), f"time {len(clocks)}")
        values = narrow(column.values)
        arrays[f"lane {number}"] = values
        arrays[f"overview {number}"] = overview.build(values).table
        columns.append(_about(name, column, number, clock))
        if clock not in arrays:
            arrays[clock] = column.time_s
    even = {clock: rate for clock in clocks.values() if (rate := _even(arrays[clock]))}
    stored = {name: array for name, array in arrays.items() if name not in even}
    return bags.write(folder, stored, {**_of_file(recorded), "columns": columns, "clocks": even})


def narrow(values: Floats) -> Array:
    """The values as float32 where every one survives it, else as they are."""
    with np.errstate(over="ignore"):
        small = values.astype(np.float32)
    return small if np.array_equal(small, values, equal_nan=True) else values


def _even(time_s: Array) -> list[float] | None:
    """Rate and count of a clock that is exactly its row number over a whole rate, from zero."""
    if len(time_s) < 2 or time_s[0] != 0.0 or not time_s[-1] > 0.0:
        return None
    rate = float(np.round((len(time_s) - 1) / time_s[-1], 6))
    if rate <= 0.0 or not np.array_equal(time_s, np.arange(len(time_s)) / rate):
        return None
    return [rate, len(time_s)]


def _about(name: str, column: Column, number: int, clock: str) -> dict[str, Any]:
    return {
        "asked": name,
        "name": column.name,
        "number": number,
        "clock": clock,
        "interval_s": column.interval_s,
        "step": column.step,
        "unit": column.unit,
        "notes": _notes(column.notes),
    }


def _of_file(recorded: Recorded) -> dict[str, Any]:
    return {
        "path": recorded.path,
        "sha256": recorded.sha256,
        "rows": recorded.rows,
        "rate_hz": recorded.rate_hz,
        "guesses": [packed(guess) for guess in recorded.guesses],
        "notes": _notes(recorded.notes),
    }


def load(bag: Bag, entry: RecordingEntry) -> Recorded:
    """The import as it was saved, under the entry's name and visit.

    Raises DamagedError.
    """
    about = bag.about
    clocks = {name: clock_of(bag, name) for name in {c["clock"] for c in about["columns"]}}
    return Recorded(
        name=entry.name,
        visit=entry.visit or "",
        path=entry.file,
        sha256=about["sha256"],
        rows=about["rows"],
        rate_hz=about["rate_hz"],
        columns={c["asked"]: _column(bag, c, clocks[c["clock"]]) for c in about["columns"]},
        guesses=tuple(unpacked(guess) for guess in about["guesses"]),
        notes=notes_from(about["notes"]),
    )


def clock_of(bag: Bag, name: str) -> Floats:
    """The instants of a clock (n,) in seconds."""
    if name in bag.about["clocks"]:
        rate, count = bag.about["clocks"][name]
        return np.asarray(np.arange(int(count)) / rate, dtype=np.float64)
    return bag.array(name)


def _column(bag: Bag, about: Mapping[str, Any], time_s: Floats) -> Column:
    return Column(
        name=about["name"],
        time_s=time_s,
        values=np.asarray(bag.array(f"lane {about['number']}"), dtype=np.float64),
        interval_s=about["interval_s"],
        step=about["step"],
        unit=about["unit"],
        notes=notes_from(about["notes"]),
    )


def _notes(notes: tuple[Note, ...]) -> list[list[Any]]:
    return [[note.code, packed(note.text), note.count] for note in notes]


def notes_from(stated: list[list[Any]]) -> tuple[Note, ...]:
    """Notes as a manifest keeps them."""
    return tuple(Note(code, unpacked(text), count) for code, text, count in stated)
