"""The viscosity index of ASTM D2270, and which oil an index belongs to.

Basic values L and H: the standard's table 1 (2 to 70 mm2/s, linear between its entries), in
d2270.csv beside this module, read from the table that the open package "chemicals" (MIT)
carries; above 70 mm2/s the standard's two parabolas.
"""

from __future__ import annotations

import bisect
import math
from functools import cache
from importlib import resources

LEAST_KV100 = 2.0
TABLE_END = 70.0
HIGH_INDEX = 0.00715
"""Procedure B: VI = (10^N - 1) / 0.00715 + 100."""


@cache
def _table() -> tuple[list[float], list[float], list[float]]:
    text = resources.files(__package__).joinpath("d2270.csv").read_text(encoding="utf-8")
    rows = [tuple(map(float, line.split(","))) for line in text.split()[1:]]
    return [row[0] for row in rows], [row[1] for row in rows], [row[2] for row in rows]


def basic_values(kv100: float) -> tuple[float, float]:
    """L and H: viscosities at 40 degC of oils of index 0 and 100 with this one at 100 degC.

    Parameters: `kv100` in mm2/s, 2 and more.
    Returns (L, H) in mm2/s.  Raises ValueError below 2 mm2/s.
    Source: ASTM D2270, 5.1.2 and table 1.

    Example: `basic_values(8.86)` is (119.94, 69.48).
    """
    if kv100 < LEAST_KV100:
        raise ValueError(f"{kv100} mm2/s at 100 degC is below 2, where the index is defined")
    if kv100 > TABLE_END:
        low = (0.8353 * kv100 + 14.67) * kv100 - 216.0
        return low, (0.1684 * kv100 + 11.85) * kv100 - 97.0
    x, low_values, high_values = _table()
    at = min(bisect.bisect_right(x, kv100), len(x) - 1)
    share = (kv100 - x[at - 1]) / (x[at] - x[at - 1])
    low, high = (
        values[at - 1] + share * (values[at] - values[at - 1])
        for values in (low_values, high_values)
    )
    return low, high


def viscosity_index(kv40: float, kv100: float) -> float:
    """What is the viscosity index of an oil with these viscosities (mm2/s)?

    Returns the index, not rounded (the standard rounds it to a whole number).
    Raises ValueError below 2 mm2/s at 100 degC.
    Source: ASTM D2270, procedure A up to 100, procedure B above.

    Example: `viscosity_index(73.30, 8.86)` is 92.43.
    """
    low, high = basic_values(kv100)
    if kv40 >= high:
        return 100.0 * (low - kv40) / (low - high)
    power = (math.log10(high) - math.log10(kv40)) / math.log10(kv100)
    return (math.pow(10.0, power) - 1.0) / HIGH_INDEX + 100.0


def kv40_of(index: float, kv100: float) -> float:
    """Which viscosity at 40 degC (mm2/s) gives this index with this one at 100 degC?

    The inverse of `viscosity_index`.

    Example: `kv40_of(92.43, 8.86)` is 73.30.
    """
    low, high = basic_values(kv100)
    if index <= 100.0:
        return low - index * (low - high) / 100.0
    power = math.log10((index - 100.0) * HIGH_INDEX + 1.0)
    return high / math.exp(power * math.log(kv100))
