"""SAE J300 oil grades: their limits at 100 degC, and what grade a viscosity belongs to."""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Grade:
    """A grade's limits: kinematic viscosity at 100 degC (mm2/s), high-shear at 150 degC (mPa s).

    `kv100_max` is exclusive; a winter grade has a least value alone.
    """

    name: str
    kv100_min: float
    kv100_max: float | None
    high_shear_min: float | None = None


@dataclass(frozen=True)
class Winter:
    """A winter grade: least viscosity at 100 degC, cranking and pumping limits in mPa s."""

    name: str
    kv100_min: float
    cranking_max: float
    cranking_degc: float
    pumping_max: float
    pumping_degc: float


GRADES = {
    grade.name: grade
    for grade in (
        Grade("8", 4.0, 6.1, 1.7),
        Grade("12", 5.0, 7.1, 2.0),
        Grade("16", 6.1, 8.2, 2.3),
        Grade("20", 6.9, 9.3, 2.6),
        Grade("30", 9.3, 12.5, 2.9),
        Grade("40", 12.5, 16.3, 3.7),
        Grade("50", 16.3, 21.9, 3.7),
        Grade("60", 21.9, 26.1, 3.7),
    )
}
"""Source: SAE J300 (limits of the 2015 table, unchanged in J300_202405), read in secondary
tables.  A 40 with 0W, 5W or 10W has 3.5 mPa s at high shear."""

WINTERS = {
    winter.name: winter
    for winter in (
        Winter("0W", 3.8, 6200.0, -35.0, 60000.0, -40.0),
        Winter("5W", 3.8, 6600.0, -30.0, 60000.0, -35.0),
        Winter("10W", 4.1, 7000.0, -25.0, 60000.0, -30.0),
        Winter("15W", 5.6, 7000.0, -20.0, 60000.0, -25.0),
        Winter("20W", 5.6, 9500.0, -15.0, 60000.0, -20.0),
        Winter("25W", 9.3, 13000.0, -10.0, 60000.0, -15.0),
    )
}
"""Source: as above."""

_LIGHT_40 = 3.5
_PATTERN = re.compile(r"^(?:SAE\s*)?(?:(\d{1,2})\s*W)?(?:(?<=W)[\s/-]*)?(\d{1,2})?$", re.IGNORECASE)


def find_grade(text: str) -> tuple[Winter | None, Grade | None]:
    """Which winter and which hot grade does a text such as "5W-30" name?

    Parameters: `text` with or without "SAE", with "-", "/" or nothing between both halves.
    Returns (winter or None, hot or None), at least one of them.
    Raises ValueError when it names no grade of SAE J300.

    Example: `find_grade("5W-30")[1].kv100_min` is 9.3.
    """
    match = _PATTERN.match(text.strip())
    winter, hot = match.groups() if match else (None, None)
    if not match or (winter is None and hot is None):
        raise ValueError(_unknown(text))
    cold_name = f"{winter}W" if winter else None
    if (cold_name and cold_name not in WINTERS) or (hot and hot not in GRADES):
        raise ValueError(_unknown(text))
    return (WINTERS[cold_name] if cold_name else None), (GRADES[hot] if hot else None)


def _unknown(text: str) -> str:
    return (
        f'found "{text}", which is no grade of SAE J300; write one such as "5W-30" or "30", from '
        f"{', '.join(WINTERS)} and {', '.join(GRADES)}"
    )


def grades_at(kv100: float) -> tuple[str, ...]:
    """The hot grades a kinematic viscosity at 100 degC (mm2/s) belongs to; bands overlap.

    Example: `grades_at(9.3)` is ("30",): the upper end of 20 is exclusive.
    """
    return tuple(
        grade.name
        for grade in GRADES.values()
        if grade.kv100_max is not None and grade.kv100_min <= kv100 < grade.kv100_max
    )


def high_shear_min(text: str) -> float | None:
    """The least high-shear viscosity at 150 degC (mPa s) SAE J300 asks of this grade.

    Example: `high_shear_min("5W-40")` is 3.5, `high_shear_min("15W-40")` is 3.7.
    """
    winter, hot = find_grade(text)
    if hot is None:
        return None
    light = winter is not None and winter.name in ("0W", "5W", "10W")
    return _LIGHT_40 if hot.name == "40" and light else hot.high_shear_min
