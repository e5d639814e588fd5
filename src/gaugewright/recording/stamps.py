"""Stamps of time as text, turned to seconds: dates with times, times of day, minutes."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from gaugewright.recording.tables import Stamps
from gaugewright.recording.types import Floats

_SECOND = 1_000_000_000
_DAY = 86_400 * _SECOND
_MOST = (("m", 12), ("d", 31), ("min", 59), ("s", 60))
_PARTS = ("y", "m", "d", "h", "min", "s", "f")
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
    alike = _alike(texts)
    if alike is not None:
        return alike[0], [], not alike[1]
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


def _alike(texts: Sequence[str]) -> tuple[npt.NDArray[np.int64], bool] | None:
    """All stamps at once, and whether they carry a date, if they differ in digits only."""
    first = _FORM.fullmatch(texts[0]) if texts else None
    if first is None or first["ampm"] or first["c"] or first["mark"] == " " or not first["s"]:
        return None
    if first["f"] and len(first["f"]) > 9:
        return None
    try:
        raw = np.array(texts, dtype="S")
    except UnicodeEncodeError:
        return None
    length = len(texts[0])
    if raw.dtype.itemsize != length:
        return None
    letters = raw.view(np.uint8).reshape(len(texts), length)
    groups = {name: slice(*first.span(name)) for name in _PARTS if first[name]}
    varied = np.zeros(length, dtype=bool)
    for part in groups.values():
        varied[part] = True
    if not (letters[:, ~varied] == letters[0, ~varied]).all():
        return None
    digits = letters - np.uint8(ord("0"))
    if digits[:, varied].max() > 9:
        return None
    found = {name: _whole(digits[:, part]) for name, part in groups.items()}
    if any(name in found and found[name].max() > most for name, most in _MOST):
        return None
    whole = found["h"] * 3600 + found["min"] * 60 + found["s"]
    fraction = found["f"] * 10 ** (9 - len(first["f"])) if first["f"] else 0
    clock = whole * _SECOND + fraction - _zone(first["zone"])
    return np.asarray(clock + _days(found) * _DAY), "y" in found


def _whole(digits: npt.NDArray[Any]) -> npt.NDArray[np.int64]:
    value = np.zeros(digits.shape[0], dtype=np.int64)
    for place in range(digits.shape[1]):
        value = value * 10 + digits[:, place]
    return value


def _days(found: dict[str, npt.NDArray[np.int64]]) -> npt.NDArray[np.int64] | int:
    """Days since 1970 of dates given as year, month and day."""
    if "y" not in found:
        return 0
    months = (found["y"] - 1970) * 12 + found["m"] - 1
    first = months.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    return np.asarray(first + found["d"] - 1)


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
    if match["s"] is None and match["f"]:
        hours, minutes, seconds = 0, hours, minutes
    if match["ampm"]:
        hours = hours % 12 + 12 * (match["ampm"].lower() == "pm")
    whole = hours * 3600 + minutes * 60 + seconds
    return whole * _SECOND + _fraction(match["mark"], match["f"]) - _zone(match["zone"])


def _zone(text: str | None) -> int:
    """Nanoseconds by which a stated zone (+01:00) is ahead of UTC."""
    if not text:
        return 0
    size = int(text[1:3]) * 3600 + int(text[-2:]) * 60
    return (-size if text[0] == "-" else size) * _SECOND


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
