"""From a recording's entry in job.toml and its file to columns on the file's own clock."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import RecordingEntry, Text
from gaugewright.quantities.said import said
from gaugewright.recording import columns, parquet, source, text, times
from gaugewright.recording.asked import Asked, asked_of, names
from gaugewright.recording.clock import Clock, ClockError, settle
from gaugewright.recording.layout import Layout
from gaugewright.recording.spread import Rows
from gaugewright.recording.stamps import to_nanoseconds
from gaugewright.recording.tables import Table
from gaugewright.recording.types import Floats, Note, Recorded


def read(entry: RecordingEntry, folder: Path) -> Recorded:
    """Which numbers does this recording hold, on which clock, and what was wrong with it?

    Parameters: the recording's `entry`; the job's `folder`, to which its file is relative.
    Returns the columns the entry's signals name (all numeric ones if it names no signal) at the
    instants they were measured, in the file's own units and on the file's own clock
    (`clock_offset` is not applied), with what was guessed and what was counted.
    Raises InputError, one sentence for each thing that cannot be understood.
    """
    path = folder / entry.file
    try:
        before = _looked_at(path, entry.file)
        checksum = source.Checksum(path)
        recorded = _read(entry, path, checksum)
        if _stat(path) != before:
            raise InputError(_changed(entry.file))
    except OSError as error:
        raise InputError(_unreadable(entry.file, error)) from error
    return recorded


def _looked_at(path: Path, file: str) -> tuple[int, int]:
    if not path.exists():
        raise InputError(Problem(file, "", "no such file", "put it there or mend the name"))
    if path.is_dir():
        raise InputError(Problem(file, "", "a folder, not a file", "name the file in it"))
    found = _stat(path)
    if found[0] == 0:
        raise InputError(Problem(file, "", "the file is empty", "export the recording again"))
    return found


def _stat(path: Path) -> tuple[int, int]:
    found = os.stat(path)
    return found.st_size, found.st_mtime_ns


def _changed(file: str) -> Problem:
    return Problem(
        file, "", "the file changed while it was read", "wait until it is written, or copy it"
    )


def _unreadable(file: str, error: OSError) -> Problem:
    if isinstance(error, FileNotFoundError):
        return Problem(file, "", "the file was removed while it was read", "put it back")
    reason = error.strerror or str(error) or type(error).__name__
    return Problem(file, "", f"the file cannot be read ({reason})", "check its permissions")


def _read(entry: RecordingEntry, path: Path, checksum: source.Checksum) -> Recorded:
    overrules = entry.text or Text()
    ends = source.ends(path)
    if ends.head.startswith(parquet.MAGIC):
        layout, table, asked = _from_parquet(entry, path)
    else:
        _refuse_binary(ends, entry.file)
        layout, table, asked = _from_text(entry, path, ends, overrules)
    guesses = list(layout.guesses)
    clocks = _clocks(entry, layout, table, asked, guesses)
    made = columns.made(entry, layout, table, asked.columns, clocks)
    main = clocks.get("") or next(iter(clocks.values()))
    rate = entry.rate.si if asked.main is None and entry.rate else 1 / main.clock.interval_s
    notes = (*_name_notes(layout), *table.notes, *main.clock.notes, *main.notes)
    return Recorded(
        name=entry.name,
        visit=entry.visit or "",
        path=entry.file,
        sha256=checksum.result(),
        rows=table.rows,
        rate_hz=rate,
        columns=made,
        guesses=tuple(dict.fromkeys((*guesses, *main.clock.guesses))),
        notes=notes,
    )


def _refuse_binary(ends: source.Ends, file: str) -> None:
    what = source.binary(ends.head)
    if what:
        raise InputError(Problem(file, "", f"this is {what[0]}", what[1]))


def _name_notes(layout: Layout) -> tuple[Note, ...]:
    if not layout.twice:
        return ()
    names = ", ".join(f"'{name}'" for name in layout.twice)
    text = said(
        "several columns are called {names}; the later ones are known as '… (2)' and so on",
        names=names,
    )
    return (Note("names-repeated", text, len(layout.twice)),)


def _from_text(
    entry: RecordingEntry, path: Path, ends: source.Ends, overrules: Text
) -> tuple[Layout, Table, Asked]:
    layout = text.layout(ends, overrules, names(entry), entry.file)
    numeric = {
        i for i in range(len(layout.heads)) if not entry.signals and text.is_numeric(layout, i)
    }
    stamped = {i for i in range(len(layout.heads)) if text.is_stamped(layout, i)}
    asked = asked_of(entry, layout, stamped, numeric)
    clocks = {i for i in asked.clocks.values() if i is not None}
    textual = {i for i in clocks if i in stamped or entry.time_unit == "iso"}
    needed = {*asked.columns.values(), *clocks} - textual
    table = text.read(path, ends, layout, overrules, needed, textual, clocks, entry.file)
    return layout, table, asked


def _from_parquet(entry: RecordingEntry, path: Path) -> tuple[Layout, Table, Asked]:
    layout, kinds = parquet.layout(path, entry.file)
    stamped = {i for i, kind in kinds.items() if kind == "stamp"}
    numeric = {i for i, kind in kinds.items() if kind == "number" and not entry.signals}
    asked = asked_of(entry, layout, stamped, numeric)
    needed = {*asked.columns.values(), *(i for i in asked.clocks.values() if i is not None)}
    names = [head.raw for head in layout.heads]
    return layout, parquet.read(path, names, {i: kinds[i] for i in needed}, entry.file), asked


def _clocks(
    entry: RecordingEntry, layout: Layout, table: Table, asked: Asked, guesses: list[str]
) -> dict[str, columns.Timed]:
    """One clock for each time column, all counting from one zero."""
    zero: int | float | None = None
    made: dict[str, columns.Timed] = {}
    if asked.main is not None and not entry.time:
        guesses.append(
            said("time is taken from the column '{name}'", name=layout.heads[asked.main].name)
        )
    for name, index in asked.clocks.items():
        used = columns.on_clock(entry, asked.columns, name)
        values = {column: table.numbers[asked.columns[column]] for column in used}
        if index is None:
            if used:
                made[name] = columns.Timed(_even(entry, table.rows), {})
            continue
        found = _seconds(entry, layout, table, index, zero)
        zero = found.zero if zero is None else zero
        guesses.extend(g for g in found.guesses if g not in guesses)
        made[name] = _settled(found, values, entry.file, layout.heads[index].name)
    return made


def _even(entry: RecordingEntry, rows: int) -> Clock:
    if entry.rate is None or entry.rate.si <= 0:
        text = f"a rate of '{entry.rate.text}'" if entry.rate else "neither time nor rate"
        place = f"recording '{entry.name}'"
        raise InputError(Problem(entry.file, place, text, 'write rate = "1 kHz" or a time column'))
    return Clock(np.arange(rows) / entry.rate.si, None, 1 / entry.rate.si, ())


def _seconds(
    entry: RecordingEntry, layout: Layout, table: Table, index: int, zero: int | float | None
) -> times.Seconds:
    head = layout.heads[index]
    stated = entry.time_unit
    if index in table.stamps or index in table.texts:
        if stated not in (None, "iso"):
            raise times.mismatch(entry.file, head.name, str(stated), True)
        texts = table.texts.get(index)
        found = table.stamps[index] if texts is None else to_nanoseconds(texts)
        columns.refuse_bad_stamps(found, table, index, layout, entry.file)
        return times.from_stamps(found, texts, zero)
    if stated == "iso":
        raise times.mismatch(entry.file, head.name, "iso", False)
    latest = max((c.to.si for c in entry.conditions), default=None)
    return times.from_numbers(table.numbers[index], head, stated, latest, zero)


def _settled(
    found: times.Seconds, values: Mapping[str, Floats], file: str, name: str
) -> columns.Timed:
    """The clock of some columns; rows in which neither they nor it hold anything are none."""
    held = _held(found.time_s, values)
    used = {n: v[held] for n, v in values.items()} if held is not None else values
    try:
        clock = settle(found.time_s if held is None else found.time_s[held], used)
    except ClockError as error:
        problem = Problem(file, f"column '{name}'", str(error), "name the column that is the clock")
        raise InputError(problem) from error
    if held is not None:
        clock = replace(clock, rows=held if clock.rows is None else held[clock.rows])
    notes: tuple[Note, ...] = ()
    if found.midnights:
        notes = (Note("midnight", "time of day passes midnight", found.midnights),)
    return columns.Timed(clock, values, notes)


def _held(time_s: Floats, values: Mapping[str, Floats]) -> Rows | None:
    """The rows that hold a stamp or a value, or None where all do."""
    held = ~np.isnan(time_s)
    if held.all():
        return None
    for column in values.values():
        held |= ~np.isnan(column)
    return None if held.all() else np.flatnonzero(held)
