"""The steel rule: scales, round steps, and an axis as the edge of a rule."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from gaugewright.report import svg
from gaugewright.report.display import digits

BREAK = 0.10
"""Share of a broken rule that its break takes."""


@dataclass(frozen=True)
class Scale:
    """From values to places along a line: pieces that each run straight.

    `values` rise; `places` are where they stand.  Two of each are a plain scale, four are a
    broken rule whose middle piece is the break.
    """

    values: tuple[float, ...]
    places: tuple[float, ...]

    def at(self, value: float) -> float:
        """Where a value stands; beyond the ends the end pieces go on."""
        last = len(self.values) - 2
        piece = next((i for i in range(last) if value < self.values[i + 1]), last)
        low, high = self.values[piece : piece + 2]
        start, end = self.places[piece : piece + 2]
        return start + (end - start) * (value - low) / (high - low)

    @property
    def broken(self) -> bool:
        """Whether this is a broken rule."""
        return len(self.values) > 2


def round_step(span: float, most: int) -> float:
    """The least of 1, 2, 5 times a power of ten that splits `span` into at most `most` steps."""
    raw = span / max(most, 1)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(f * power for f in (1.0, 2.0, 5.0, 10.0) if f * power >= raw * (1 - 1e-9))


def around(low: float, high: float, margin: float = 0.12) -> tuple[float, float]:
    """A range with some room at both ends, never without width."""
    span = high - low
    if span <= 0.0:
        span = max(abs(high), 1.0) * 0.1
    return low - margin * span, high + margin * span


def straight(low: float, high: float, start: float, end: float) -> Scale:
    """A plain scale."""
    return Scale((low, high), (start, end))


def broken_where_needed(levels: list[float], low: float, high: float, a: float, b: float) -> Scale:
    """A plain scale, or a broken rule when the levels stand in two groups far apart.

    A few kilopascal at idle can't be seen beside the pressure at 2000 rpm on one plain rule;
    each group gets half of a broken one.
    """
    cut = _cut(sorted(levels), high - low)
    if cut is None:
        return straight(low, high, a, b)
    below, above = cut
    room = b - a
    half = (1.0 - BREAK) / 2.0
    return Scale((low, below, above, high), (a, a + half * room, a + (1 - half) * room, b))


def _cut(levels: list[float], span: float) -> tuple[float, float] | None:
    if len(levels) < 2 or span <= 0.0:
        return None
    gaps = [(after - before, before, after) for before, after in pairwise(levels)]
    gap, below, above = max(gaps)
    under, over = below - levels[0], levels[-1] - above
    if gap < 1.3 * max(under, over) or gap < 0.42 * span:
        return None
    least = 0.03 * span
    return below + min(max(0.4 * under, least), gap / 4), above - min(
        max(0.4 * over, least), gap / 4
    )


def ticks(scale: Scale, per_point: float = 30.0) -> tuple[list[float], list[float]]:
    """Values at the long and at the short ticks of a scale."""
    long: list[float] = []
    brief: list[float] = []
    pieces = range(0, len(scale.values) - 1, 2)
    for i in pieces:
        low, high = scale.values[i : i + 2]
        room = abs(scale.places[i + 1] - scale.places[i])
        step = _step(low, high, max(int(room / per_point), 1), 1 if scale.broken else 2)
        long += _multiples(low, high, step)
        brief += _multiples(low, high, step / (4 if f"{step:e}"[0] == "2" else 5))
    return long, [value for value in brief if not any(math.isclose(value, v) for v in long)]


def _step(low: float, high: float, most: int, least: int) -> float:
    """A round step with at least so many multiples between the ends."""
    steps = (round_step(high - low, most + more) for more in range(12))
    return next((s for s in steps if len(_multiples(low, high, s)) >= least), (high - low) / 2)


def _multiples(low: float, high: float, step: float) -> list[float]:
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step if k else 0.0 for k in range(first, last + 1)]


def figures(values: list[float], signed: bool) -> list[str]:
    """The figures at the long ticks, all with the same decimals."""
    places = 0
    while places < 4 and any(abs(v - round(v, places)) > 1e-9 * max(1, abs(v)) for v in values):
        places += 1
    return [digits(value, places, signed) for value in values]


def lying(scale: Scale, y: float, signed: bool = False, size: float = 8.8) -> str:
    """An axis along the foot: baseline, ticks down, figures under the long ones."""
    long, brief = ticks(scale)
    parts = [svg.line(scale.places[0], y, scale.places[-1], y, "ink", 0.9)]
    parts += [svg.line(scale.at(v), y, scale.at(v), y + 3.2, "ink", 0.6) for v in brief]
    for value, said in zip(long, figures(long, signed), strict=True):
        x = scale.at(value)
        parts.append(svg.line(x, y, x, y + 5.6, "ink", 0.9))
        parts.append(svg.text(x, y + 7 + size, said, size, "soft", "middle"))
    return "".join(parts)


def standing(scale: Scale, x: float, signed: bool = False, size: float = 8.3) -> str:
    """An axis at the left: baseline, ticks outwards, figures before the long ones."""
    long, brief = ticks(scale, 18.0)
    parts = [
        svg.line(x, scale.places[i], x, scale.places[i + 1], "ink", 0.9)
        for i in range(0, len(scale.places) - 1, 2)
    ]
    if scale.broken:
        parts += [_slant(x, place) for place in scale.places[1:3]]
    parts += [svg.line(x - 2.6, scale.at(v), x, scale.at(v), "ink", 0.6) for v in brief]
    for value, said in zip(long, figures(long, signed), strict=True):
        y = scale.at(value)
        parts.append(svg.line(x - 4.6, y, x, y, "ink", 0.9))
        parts.append(svg.text(x - 7, y + 0.34 * size, said, size, "soft", "end"))
    return "".join(parts)


def _slant(x: float, y: float) -> str:
    return svg.line(x - 3, y + 1.6, x + 3, y - 1.6, "ink", 0.9)
