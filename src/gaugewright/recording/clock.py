"""A strictly increasing clock from the stamps as they stand, and what was wrong with them.

What is done, in this order (each counted and said):
missing stamps between good ones are put evenly between them, others leave out their row; a
single stamp far off its neighbours is replaced; times of day are carried past midnight before
they come here; local disorder is sorted; a larger step backward is a clock set anew, and what
follows is put one interval after what came before; equal stamps are spread evenly over the
clock's resolution where the clock is coarse, else rows that repeat the row before are left out
and the others are spread.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from gaugewright.quantities.said import said
from gaugewright.recording.spread import Rows, separated, usual_interval
from gaugewright.recording.tables import counted
from gaugewright.recording.types import Floats, Note

GAP = 5.0
_LOCAL_ROWS = 50
_BLOCK = 1 << 15
_ENOUGH = 200_000


class ClockError(ValueError):
    """The stamps do not make a clock; the text says why."""


@dataclass(frozen=True)
class Clock:
    """Rows of the file in order of time (None: all as they stand), and their instants."""

    time_s: Floats
    rows: Rows | None
    interval_s: float
    notes: tuple[Note, ...]
    guesses: tuple[str, ...] = ()


def settle(time_s: Floats, values: Mapping[str, Floats]) -> Clock:
    """Make a strictly increasing clock from the stamps `time_s` (n,) in seconds, NaN if missing.

    `values` are the columns read with them, (n,) each; they decide whether a row with an equal
    stamp merely repeats the row before.  Raises ClockError where time does not increase.
    """
    least, most = _extremes(time_s)
    if least > 0:
        some = np.arange(0, time_s.size - 1, max(1, time_s.size // _ENOUGH))
        interval = float(np.median(time_s[some + 1] - time_s[some]))
        notes = () if most <= GAP * interval else _gaps(time_s, np.diff(time_s), interval)
        return Clock(time_s, None, interval, notes)
    return _repaired(time_s, values)


def _extremes(time_s: Floats) -> tuple[float, float]:
    """The least and the greatest spacing, worked out block by block; NaN where one is missing."""
    if time_s.size < 2:
        return np.nan, np.nan
    least, most = np.inf, -np.inf
    for start in range(0, time_s.size - 1, _BLOCK):
        spacing = np.diff(time_s[start : start + _BLOCK + 1])
        least, most = min(least, spacing.min()), max(most, spacing.max())
        if not spacing.min() > 0:
            return np.nan, np.nan
    return float(least), float(most)


def _median(spacing: Floats) -> float:
    return float(np.median(spacing[:: max(1, spacing.size // _ENOUGH)]))


def _gaps(time_s: Floats, spacing: Floats, interval: float) -> tuple[Note, ...]:
    longest = int(spacing.argmax())
    if spacing[longest] <= GAP * interval:
        return ()
    count = int((spacing > GAP * interval).sum())
    text = said(
        "{gaps} of more than {usual:g} usual intervals, the longest {long:.3g} s at {at:.6g} s",
        gaps=counted(count, "gap", "gaps"),
        usual=GAP,
        long=float(spacing[longest]),
        at=float(time_s[longest]),
    )
    return (Note("gaps", text, count),)


def _repaired(time_s: Floats, values: Mapping[str, Floats]) -> Clock:
    notes: list[Note] = []
    time_s, rows = _filled(time_s, notes)
    if time_s.size < 2:
        raise ClockError(f"only {time_s.size} row{'s' * (time_s.size != 1)} with a time stamp")
    _refuse_still_or_falling(time_s)
    time_s = _without_strays(time_s, notes)
    time_s, rows = _ordered(time_s, rows, notes)
    time_s, rows, guesses = separated(time_s, rows, values, notes)
    spacing = np.diff(time_s)
    if spacing.size == 0 or spacing.min() <= 0:
        raise ClockError("time stamps do not increase")
    interval = _median(spacing)
    notes.extend(_gaps(time_s, spacing, interval))
    return Clock(time_s, rows, interval, tuple(notes), guesses)


def _refuse_still_or_falling(time_s: Floats) -> None:
    spacing = np.diff(time_s)
    if not np.any(spacing > 0):
        what = "stays at the same stamp" if not np.any(spacing) else "runs backward"
        raise ClockError(f"time {what} from the first row to the last")
    if np.mean(spacing < 0) > 0.3:
        raise ClockError(
            f"time runs backward at {int((spacing < 0).sum())} of {spacing.size} rows, "
            "which is no clock"
        )


def _filled(time_s: Floats, notes: list[Note]) -> tuple[Floats, Rows]:
    """Put missing stamps evenly between their neighbours where that agrees with the rate."""
    good = np.flatnonzero(~np.isnan(time_s))
    if good.size == time_s.size:
        return time_s, good
    if good.size < 2:
        raise ClockError("no two rows with a time stamp")
    usual = usual_interval(time_s[good])
    holes = np.diff(good) > 1
    per_row = np.diff(time_s[good]) / np.diff(good)
    fits = holes & (per_row > 0.3 * usual) & (per_row < 3 * usual)
    keep = ~np.isnan(time_s)
    for left, right in zip(good[:-1][fits], good[1:][fits], strict=True):
        keep[left:right] = True
    filled = np.interp(np.arange(time_s.size), good, time_s[good])
    placed, dropped = int(keep.sum() - good.size), int((~keep).sum())
    if placed:
        who = counted(placed, "row without a time stamp is", "rows without a time stamp are")
        text = said("{who} put evenly between the rows around", who=who)
        notes.append(Note("stamps-missing", text, placed))
    if dropped:
        who = counted(dropped, "row without a time stamp is", "rows without a time stamp are")
        text = said("{who} left out, for nothing tells where they belong", who=who)
        notes.append(Note("rows-without-time", text, dropped))
    rows = np.flatnonzero(keep)
    return filled[rows], rows


def _without_strays(time_s: Floats, notes: list[Note]) -> Floats:
    """Replace single stamps far off their neighbours where these leave room for just one row.

    Neighbours that follow each other without room mean a row written late, which is sorted.
    """
    if time_s.size < 4:
        return time_s
    usual = usual_interval(time_s)
    around = time_s[2:] - time_s[:-2]
    before, after = time_s[1:-1] - time_s[:-2], time_s[2:] - time_s[1:-1]
    far = np.maximum(np.abs(before), np.abs(after)) > GAP * usual
    in_place = (around > 1.5 * usual) & (around < 2.5 * usual)
    stray = far & in_place & ((before < 0) | (after < 0))
    count = int(stray.sum())
    if not count or count > 0.01 * time_s.size + 1:
        return time_s
    mended = time_s.copy()
    at = np.flatnonzero(stray) + 1
    mended[at] = (time_s[at - 1] + time_s[at + 1]) / 2
    who = counted(count, "time stamp is", "time stamps are")
    text = said("{who} far off the stamps around and put between them", who=who)
    notes.append(Note("stamps-damaged", text, count))
    return mended


def _ordered(time_s: Floats, rows: Rows, notes: list[Note]) -> tuple[Floats, Rows]:
    """Sort local disorder; put what follows a larger step backward after what came before."""
    spacing = np.diff(time_s)
    back = np.flatnonzero(spacing < 0)
    if not back.size:
        return time_s, rows
    usual = usual_interval(time_s)
    time_s, jumps = _joined(time_s, back, usual)
    if jumps:
        text = said(
            "the clock was set back {times}; what follows is put one interval after what came "
            "before",
            times=counted(jumps, "time", "times"),
        )
        notes.append(Note("clock-jumped", text, jumps))
    local = int((np.diff(time_s) < 0).sum())
    if local:
        order = np.argsort(time_s, kind="stable")
        time_s, rows = time_s[order], rows[order]
        where = counted(local, "place", "places")
        text = said(
            "rows stood out of order at {where} and are sorted by their stamps", where=where
        )
        notes.append(Note("rows-out-of-order", text, local))
    return time_s, rows


def _joined(time_s: Floats, back: Rows, usual: float) -> tuple[Floats, int]:
    """Put each stretch after a larger step backward one interval after the stretch before."""
    steps = np.zeros(time_s.size)
    jumps, start, top = 0, 0, -np.inf
    for at in back:
        top = max(top, float(time_s[start : at + 1].max()))
        start = int(at) + 1
        ahead = time_s[start : start + _LOCAL_ROWS]
        if top - time_s[start] <= _LOCAL_ROWS * usual and np.any(ahead > time_s[at]):
            continue
        steps[start] = top - time_s[start] + usual
        jumps, top = jumps + 1, -np.inf
    return (time_s + np.cumsum(steps) if jumps else time_s), jumps
