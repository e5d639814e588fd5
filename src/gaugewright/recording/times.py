"""A time column to seconds on the file's own clock: its unit, its zero, its stamps."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugewright.errors import InputError, Problem
from gaugewright.quantities.said import said
from gaugewright.recording import stamps
from gaugewright.recording.layout import Head
from gaugewright.recording.tables import Stamps
from gaugewright.recording.types import Floats

CALENDAR_S = 1e8
_SCALE = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0, "h": 3600.0, "ns": 1e-9}
_WORDS = {
    "s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s",
    "ms": "ms", "msec": "ms", "millis": "ms", "milliseconds": "ms",
    "us": "us", "µs": "us", "μs": "us", "usec": "us", "micros": "us", "microseconds": "us",
    "ns": "ns", "min": "min", "minutes": "min", "h": "h", "hours": "h",
}  # fmt: skip
_ENDING = re.compile(r"(?:^|[\s_/])([A-Za-zµμ]+)$")
_LONGEST_S = 6 * 3600.0
_SLOWEST_S = 5.0
_FASTEST_S = 2e-7


@dataclass(frozen=True)
class Seconds:
    """Seconds (n,), NaN where a stamp is missing; the guesses made; unit and zero for others."""

    time_s: Floats
    guesses: tuple[str, ...] = ()
    unit: str | None = None
    zero: int | float | None = None
    midnights: int = 0


def from_stamps(found: Stamps, texts: Sequence[str] | None, zero: int | float | None) -> Seconds:
    """Seconds since the first stamp (or since `zero`, in nanoseconds, of another column)."""
    nanoseconds, bad, of_day = found
    good = np.ones(nanoseconds.size, dtype=bool)
    good[bad] = False
    if not good.any():
        return Seconds(np.full(nanoseconds.size, np.nan))
    readable, midnights = nanoseconds[good], 0
    if of_day:
        readable, midnights = stamps.unwrapped(readable)
    start = int(readable[0]) if zero is None else zero
    time_s = np.full(nanoseconds.size, np.nan)
    time_s[good] = stamps.seconds(readable, int(start))
    first = texts[int(np.flatnonzero(good)[0])].strip() if texts else _spelt(readable[0], of_day)
    guess = (
        (said("time counts from the first stamp, {first}", first=first),) if zero is None else ()
    )
    return Seconds(time_s, guess, "iso", start, midnights)


def _spelt(nanoseconds: int, of_day: bool) -> str:
    moment = dt.datetime(1970, 1, 1) + dt.timedelta(microseconds=int(nanoseconds) // 1000)
    return moment.time().isoformat() if of_day else moment.isoformat(" ")


def from_numbers(
    raw: Floats, head: Head, stated: str | None, latest_s: float | None, zero: int | float | None
) -> Seconds:
    """Seconds from a numeric column.

    Parameters: `raw` (n,); the column's `head`; the unit the job states; `latest_s` the end of
    the job's last condition; `zero` seconds that another calendar column counts from.
    Returns seconds; a count since a far date is made to begin at its first stamp.
    """
    unit, guesses = (stated, ()) if stated else _unit(raw, head, latest_s)
    scale = _SCALE[unit or "s"]
    time_s = raw if scale == 1.0 else raw * scale
    start = _first(time_s)
    if start < CALENDAR_S:
        return Seconds(time_s, guesses, unit, None)
    start = start if zero is None else zero
    guess = said("time counts from the first stamp, {start:.6f} s", start=float(start))
    return Seconds(time_s - start, (*guesses, guess), unit, start)


def _first(time_s: Floats) -> float:
    if time_s.size and not np.isnan(time_s[0]):
        return float(time_s[0])
    good = np.flatnonzero(~np.isnan(time_s))
    return float(time_s[good[0]]) if good.size else 0.0


def _unit(raw: Floats, head: Head, latest_s: float | None) -> tuple[str, tuple[str, ...]]:
    """The unit the header states, else the first one that makes a plausible recording."""
    written = _written(head)
    if written:
        return written, (said("time is in {unit}, as the header says", unit=said(_name(written))),)
    first, last, interval = _first(raw), _first(raw[::-1]), _interval(raw)
    for unit in ("s", "ms", "us"):
        if _plausible((last - first) * _SCALE[unit], interval * _SCALE[unit], latest_s):
            break
    else:
        unit = "s"
    guess = said(
        "time is taken to be in {unit}: rows then come every {interval:.3g} s",
        unit=said(_name(unit)),
        interval=interval * _SCALE[unit],
    )
    return unit, (guess,)


def _written(head: Head) -> str | None:
    if head.unit and head.unit.casefold() in _WORDS:
        return _WORDS[head.unit.casefold()]
    ending = _ENDING.search(head.name)
    if ending and ending.group(1) != head.name:
        return _WORDS.get(ending.group(1).casefold())
    return None


def _interval(raw: Floats) -> float:
    spacing = np.diff(raw[:100_000])
    rising = spacing[spacing > 0]
    return float(np.median(rising)) if rising.size else 0.0


def _plausible(span_s: float, interval_s: float, latest_s: float | None) -> bool:
    likely = span_s <= _LONGEST_S and _FASTEST_S <= interval_s <= _SLOWEST_S
    return likely and (latest_s is None or span_s >= 0.5 * latest_s)


def _name(unit: str) -> str:
    names = {"s": "seconds", "ms": "milliseconds", "us": "microseconds", "ns": "nanoseconds"}
    return names.get(unit, {"min": "minutes", "h": "hours"}.get(unit, unit))


def mismatch(file: str, column: str, stated: str, stamped: bool) -> InputError:
    """The complaint when the stated time unit does not fit what the column holds."""
    found = "stamps like a clock shows" if stamped else "plain numbers"
    remedy = 'write time_unit = "iso"' if stamped else 'write time_unit = "s", "ms" or "us"'
    text = f'time_unit = "{stated}" is stated, but the column holds {found}'
    return InputError(Problem(file, f"column '{column}'", text, f"{remedy}, or leave it out"))
