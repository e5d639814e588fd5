"""Columns made of a table and a clock: what is missing, carried forward, quantised."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import RecordingEntry
from gaugewright.quantities.catalogue import PULSES
from gaugewright.quantities.said import said
from gaugewright.recording import carried
from gaugewright.recording.clock import Clock
from gaugewright.recording.layout import Layout
from gaugewright.recording.spread import Rows
from gaugewright.recording.steps import step_of
from gaugewright.recording.tables import Stamps, Table, counted
from gaugewright.recording.types import Column, Floats, Note

_SPARSE = 0.5


@dataclass(frozen=True)
class Timed:
    """A clock, the columns read against it, and notes about its stamps."""

    clock: Clock
    values: Mapping[str, Floats]
    notes: tuple[Note, ...] = ()


def on_clock(entry: RecordingEntry, found: Mapping[str, int], clock: str) -> list[str]:
    """The job's names of the columns that a clock ("" is the recording's own) times."""
    if not entry.signals:
        return list(found) if clock == "" else []
    names: dict[str, None] = {}
    for signal in entry.signals:
        if (signal.time or "") == clock:
            names.update({n: None for n in (signal.column, signal.supply_column) if n})
    return list(names)


def refuse_bad_stamps(found: Stamps, table: Table, index: int, layout: Layout, file: str) -> None:
    """Complain of the first cell of a time column that is neither a stamp nor empty."""
    texts = table.texts.get(index)
    bad = [row for row in found[1] if texts is not None and texts[row].strip()]
    if not bad or texts is None:
        return
    more = f" (and at {len(bad) - 1} more rows)" if len(bad) > 1 else ""
    line = table.lines[bad[0]] if table.lines else layout.first_row + bad[0]
    raise InputError(
        Problem(
            file,
            f"line {line}, column '{layout.heads[index].name}'",
            f"'{texts[bad[0]]}' where a stamp of time belongs{more}",
            "write stamps like 11:53:32.5 or 2031-03-04T11:53:32.5",
        )
    )


def made(
    entry: RecordingEntry,
    layout: Layout,
    table: Table,
    found: Mapping[str, int],
    clocks: Mapping[str, Timed],
) -> dict[str, Column]:
    """All columns the job asks for, by the job's name for them."""
    columns: dict[str, Column] = {}
    problems: list[Problem] = []
    for name, timed in clocks.items():
        used = on_clock(entry, found, name)
        values = {c: _placed(table.numbers[found[c]], timed.clock) for c in used}
        slow = carried.find({c: v for c, v in values.items() if c not in _pulses(entry)})
        for column, numbers in values.items():
            try:
                columns[column] = _column(
                    numbers, timed, found[column], layout, table, slow.get(column), bool(name)
                )
            except _NothingError:
                problems.append(_all_missing(entry.file, column))
    if problems:
        raise InputError(problems)
    return columns


class _NothingError(Exception):
    """A column without a single number."""


def _placed(values: Floats, clock: Clock) -> Floats:
    return values if clock.rows is None else np.asarray(values[clock.rows])


def _pulses(entry: RecordingEntry) -> set[str]:
    return {signal.column for signal in entry.signals if signal.quantity in PULSES}


def _all_missing(file: str, column: str) -> Problem:
    return Problem(
        file, f"column '{column}'", "not a single number in it", "leave the signal out of the job"
    )


def _column(
    values: Floats,
    timed: Timed,
    index: int,
    layout: Layout,
    table: Table,
    slow: carried.Refreshes | None,
    own: bool,
) -> Column:
    notes = list(timed.clock.notes + timed.notes) if own else []
    time_s, values, interval = _kept(values, timed.clock, slow, notes)
    infinite = table.infinite.get(index, 0)
    if infinite:
        who = counted(infinite, "value is", "values are")
        text = said("{who} not finite and taken as missing", who=who)
        notes.append(Note("values-not-finite", text, infinite))
    head = layout.heads[index]
    unit = head.unit or table.glued.get(index)
    return Column(head.name, time_s, values, interval, step_of(values), unit, tuple(notes))


def _kept(
    values: Floats, clock: Clock, slow: carried.Refreshes | None, notes: list[Note]
) -> tuple[Floats, Floats, float]:
    """The instants at which the column was really measured; what is left out is said."""
    filled = _filled(values)
    if filled is None and slow is None:
        return clock.time_s, values, clock.interval_s
    filled = np.arange(values.size) if filled is None else filled
    if filled.size == 0:
        raise _NothingError
    if slow is not None:
        return _refreshed(values, clock, slow, filled.size, notes)
    if filled.size <= (1 - _SPARSE) * values.size:
        return _thin(values, clock, filled, notes)
    missing = values.size - filled.size
    who, lead = counted(missing, "value is", "values are"), int(filled[0])
    text = said("{who} missing", who=who)
    if lead:
        text = said("{who} missing, {lead} of them before the first value", who=who, lead=lead)
    notes.append(Note("values-missing", text, missing))
    return clock.time_s, values, clock.interval_s


def _refreshed(
    values: Floats, clock: Clock, slow: carried.Refreshes, filled: int, notes: list[Note]
) -> tuple[Floats, Floats, float]:
    time_s = clock.time_s[slow.rows]
    interval = float(np.median(np.diff(time_s)))
    count = filled - slow.rows.size
    text = said(
        "a new value comes only every {rows:.4g} rows (about every {interval:.3g} s); {count} "
        "rows only repeat the value before and are left out",
        rows=float(slow.period),
        interval=interval,
        count=count,
    )
    notes.append(Note("carried-forward", text, count))
    return time_s, values[slow.rows], interval


def _thin(
    values: Floats, clock: Clock, filled: Rows, notes: list[Note]
) -> tuple[Floats, Floats, float]:
    count = values.size - filled.size
    text = said(
        "a value stands in only {filled} of {rows} rows; the others are left out",
        filled=filled.size,
        rows=values.size,
    )
    notes.append(Note("sparse", text, count))
    time_s = clock.time_s[filled]
    interval = float(np.median(np.diff(time_s))) if filled.size > 1 else clock.interval_s
    return time_s, values[filled], interval


def _filled(values: Floats) -> Rows | None:
    """The rows that hold a number, or None where all do."""
    with np.errstate(invalid="ignore", over="ignore"):
        total = float(values.sum())
    return None if np.isfinite(total) else np.flatnonzero(~np.isnan(values))
