"""Stamps of time as text, turned to seconds: dates with times, times of day, minutes."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaugewright.recording.tables import Stamps
from gaugewright.recording.types import Floats

_DAY = 86_400_000_000_000
_1970 = dt.date(1970, 1, 1).toordinal()
_FORM = re.compile(
    r"\s*(?:(?P<y>\d{4})[-/](?P<m>\d{1,2})[-/](?P<d>\d{1,2})"
    r"|(?P<a>\d{1,2})(?P<sep>[./-])(?P<b>\d{1,2})[./-](?P<c>\d{2,4}))?"
    r"[T\s]*(?:(?P<h>\d{1,4}):(?P<min>\d{2})(?::(?P<s>\d{2}))?(?:(?P<mark>[.,: ])(?P<f>\d+))?)?"
    r"\s*(?P<ampm>[AaPp][Mm])?\s*(?:Z|(?P<zone>[+-]\d{2}:?\d{2}))?\s*"
)


def to_nanoseconds(texts: Sequence[str]) -> Stamps:
    """Turn stamps to whole nanoseconds.

    Returns the nanoseconds (0 where unreadable), the indices of unreadable ones (empty cells
    among them), and whether they are times of day only.
    """
    plain = _plain_times(texts)
    if plain is not None:
        return plain, [], True
    out = np.zeros(len(texts), dtype=np.int64)
    bad: list[int] = []
    known: dict[str, int] = {}
    of_day = True
    for row, text in enumerate(texts):
        value = known.get(text)
        if value is None:
            found = _one(text)
            if found is None:
                bad.append(row)
                continue
            value, dated = found
            of_day = of_day and not dated
            known[text] = value
        out[row] = value
    return out, bad, of_day


def _plain_times(texts: Sequence[str]) -> npt.NDArray[np.int64] | None:
    """All stamps as hh:mm:ss.fff of one length, read at once; None if they are not."""
    if not texts or not re.fullmatch(r"\d\d:\d\d:\d\d(\.\d{1,9})?", texts[0]):
        return None
    length = len(texts[0])
    try:
        raw = np.array(texts, dtype="S")
    except UnicodeEncodeError:
        return None
    if raw.dtype.itemsize != length:
        return None
    digits = raw.view(np.uint8).reshape(len(texts), length)
    marks = [2, 5] + ([8] if length > 8 else [])
    if not all((digits[:, i] == ord(texts[0][i])).all() for i in marks):
        return None
    value = digits.astype(np.int64) - 48
    places = [i for i in range(length) if i not in marks]
    if value[:, places].min() < 0 or value[:, places].max() > 9:
        return None
    weights = [36000, 3600, 600, 60, 10, 1]
    scale = [w * 10**9 for w in weights] + [10 ** (8 - k) for k in range(length - 9)]
    return np.asarray(value[:, places] @ np.array(scale, dtype=np.int64))


def _one(text: str) -> tuple[int, bool] | None:
    match = _FORM.fullmatch(text.strip().strip('"'))
    if not match or not (match["h"] or match["y"] or match["c"]):
        return None
    try:
        day = _date(match)
    except ValueError:
        return None
    return (day or 0) * _DAY + _clock(match), day is not None


def _date(match: re.Match[str]) -> int | None:
    if match["y"]:
        return dt.date(int(match["y"]), int(match["m"]), int(match["d"])).toordinal() - _1970
    if not match["c"]:
        return None
    first, second, year = int(match["a"]), int(match["b"]), int(match["c"])
    if second > 12 or (match["sep"] == "/" and match["ampm"] and first <= 12):
        first, second = second, first
    return dt.date(year + 2000 * (year < 100), second, first).toordinal() - _1970


def _clock(match: re.Match[str]) -> int:
    if not match["h"]:
        return 0
    hours, minutes, seconds = int(match["h"]), int(match["min"]), int(match["s"] or 0)
    fraction = _fraction(match["mark"], match["f"])
    if match["s"] is None and match["f"]:
        hours, minutes, seconds = 0, hours, minutes
    if match["ampm"]:
        hours = hours % 12 + 12 * (match["ampm"].lower() == "pm")
    zone = match["zone"]
    offset = 0
    if zone:
        sign = -1 if zone[0] == "-" else 1
        offset = sign * (int(zone[1:3]) * 3600 + int(zone[-2:]) * 60)
    whole = hours * 3600 + minutes * 60 + seconds - offset
    return whole * 1_000_000_000 + fraction


def _fraction(mark: str | None, digits: str | None) -> int:
    """Nanoseconds of the part after the seconds; after a blank it counts microseconds."""
    if not digits:
        return 0
    return int(digits) * 1000 if mark == " " else int(digits.ljust(9, "0")[:9])


def unwrapped(nanoseconds: npt.NDArray[np.int64]) -> tuple[npt.NDArray[np.int64], int]:
    """Times of day carried past midnight: a day is added wherever half a day is lost."""
    falls = np.diff(nanoseconds) < -_DAY // 2
    days = np.concatenate([[0], np.cumsum(falls)])
    return nanoseconds + days * _DAY, int(falls.sum())


def seconds(nanoseconds: npt.NDArray[np.int64], zero: int) -> Floats:
    """Seconds since the instant `zero`, both in nanoseconds."""
    return np.asarray((nanoseconds - zero) / 1e9, dtype=np.float64)
