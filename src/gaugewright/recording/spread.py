"""Rows that share one stamp: parted by spreading, or left out where they only repeat."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from gaugewright.quantities.said import said
from gaugewright.recording.tables import counted
from gaugewright.recording.types import Floats, Note

COARSE_SHARE = 0.1
Rows = npt.NDArray[np.intp]


def separated(
    time_s: Floats, rows: Rows, values: Mapping[str, Floats], notes: list[Note]
) -> tuple[Floats, Rows, tuple[str, ...]]:
    """Part equal stamps: by spreading, or by leaving out rows that only repeat."""
    equal = np.diff(time_s) == 0
    count = int(equal.sum())
    if not count:
        return time_s, rows, ()
    if count > COARSE_SHARE * equal.size:
        return _spread_coarse(time_s, rows, count, notes)
    same = equal & _same_rows(rows, values)
    repeats = int(same.sum())
    if repeats:
        keep = np.concatenate([[True], ~same])
        time_s, rows = time_s[keep], rows[keep]
        who = counted(repeats, "row repeats", "rows repeat")
        text = said("{who} the row before, stamp and values; left out", who=who)
        notes.append(Note("rows-repeated", text, repeats))
    if count > repeats:
        time_s = _spread(time_s, usual_interval(time_s))
        who = counted(count - repeats, "row shares", "rows share")
        text = said("{who} the stamp of the row before; spread evenly", who=who)
        notes.append(Note("stamps-repeated", text, count - repeats))
    return time_s, rows, ()


def _spread_coarse(
    time_s: Floats, rows: Rows, count: int, notes: list[Note]
) -> tuple[Floats, Rows, tuple[str, ...]]:
    rising = np.diff(time_s)
    tick = float(np.quantile(rising[rising > 0], 0.05))
    per_tick = time_s.size / (time_s.size - count)
    note = Note(
        "stamps-coarse",
        said(
            "the clock shows only steps of {tick:.3g} s: {count} rows share the stamp before them",
            tick=tick,
            count=count,
        ),
        count,
    )
    guess = said(
        "about {rows:.1f} rows share each stamp of {tick:.3g} s; they are taken as spread evenly "
        "within it",
        rows=per_tick,
        tick=tick,
    )
    notes.append(note)
    spread = _spread(time_s, tick)
    _place_ends(spread, time_s, tick)
    return spread, rows, (guess,)


def _place_ends(spread: Floats, time_s: Floats, tick: float) -> None:
    """Put the rows of a first and last stamp that are fewer than usual where rows are due.

    The recording began late in its first tick and ended early in its last one.
    """
    starts = np.flatnonzero(np.concatenate([[True], np.diff(time_s) > 0]))
    sizes = np.diff(np.append(starts, time_s.size))
    usual = float(np.median(sizes))
    first, last = int(sizes[0]), int(sizes[-1])
    if first < usual:
        spread[:first] = time_s[0] + tick * (1 - (first - np.arange(first)) / usual)
    if last < usual:
        spread[-last:] = time_s[-1] + tick * np.arange(last) / usual


def _spread(time_s: Floats, longest: float) -> Floats:
    """Spread equal stamps evenly up to the next stamp, at most over `longest` seconds."""
    starts = np.flatnonzero(np.concatenate([[True], np.diff(time_s) > 0]))
    sizes = np.diff(np.append(starts, time_s.size))
    room = np.minimum(np.diff(np.append(time_s[starts], np.inf)), longest)
    within = np.arange(time_s.size) - np.repeat(starts, sizes)
    return np.asarray(time_s + within * np.repeat(room / sizes, sizes))


def _same_rows(rows: Rows, values: Mapping[str, Floats]) -> npt.NDArray[np.bool_]:
    """Whether each row holds the same values as the one before it, missing ones included."""
    same = np.ones(rows.size - 1, dtype=bool)
    for column in values.values():
        left, right = column[rows[:-1]], column[rows[1:]]
        same &= (left == right) | (np.isnan(left) & np.isnan(right))
    return same


def usual_interval(time_s: Floats) -> float:
    """The usual interval between rows, robust against repeats and jumps."""
    span = np.diff(time_s)
    rising = span[span > 0]
    share = rising.size / max(span.size, 1)
    return float(np.median(rising)) * (share if share < 1 - COARSE_SHARE else 1.0)
