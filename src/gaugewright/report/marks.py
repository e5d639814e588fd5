"""The marks of the house: spindle, wall, bracket, hatch, and the verdict's little sign."""

from __future__ import annotations

import math

from gaugewright.report import svg

HALF_HEIGHT = 7.0


def _outline(low: float, high: float, middle: float, half: float) -> list[tuple[float, float]]:
    """A spindle's outline: a bell over 95 % of its weight, mirrored, blunt at its ends."""
    centre, spread = 0.5 * (low + high), 0.25 * (high - low)
    steps = [low + (high - low) * i / 24 for i in range(25)]
    blunt = min(1.1, 0.2 * half)
    bell = [blunt + (half - blunt) * _bell((x - centre) / spread if spread else 0.0) for x in steps]
    upper = [(x, middle - y) for x, y in zip(steps, bell, strict=True)]
    lower = [(x, middle + y) for x, y in zip(steps, bell, strict=True)]
    return upper + lower[::-1]


def _bell(z: float) -> float:
    floor = math.exp(-2.0)
    return (math.exp(-0.5 * z * z) - floor) / (1.0 - floor)


def spindle(
    low: float,
    high: float,
    middle: float,
    ink: str,
    filled: bool,
    half: float = HALF_HEIGHT,
    upright: bool = False,
    ground: str = "paper",
) -> str:
    """An interval from `low` to `high`: hollow against the outside air, filled at the bearings."""
    if high - low < 3.0:
        centre = 0.5 * (low + high)
        low, high = centre - 1.5, centre + 1.5
    outline = _outline(low, high, middle, half)
    if upright:
        outline = [(y, x) for x, y in outline]
    fill = svg.colour(ink if filled else ground)
    return svg.path(
        svg.points(outline) + "Z", fill=fill, stroke=svg.colour(ink), stroke_width="1.15"
    )


def one_sided(at: float, end: float, middle: float, ink: str, half: float = HALF_HEIGHT) -> str:
    """A reading known on one side only: a firm stroke at the bound, dashes and a point beyond."""
    way = 1.0 if end > at else -1.0
    stroke = {"stroke": svg.colour(ink), "stroke_width": "1.3"}
    firm = svg.path(svg.points([(at, middle - half), (at, middle + half)]), **stroke)
    dashes = svg.path(
        svg.points([(at, middle), (end - 4 * way, middle)]), stroke_dasharray="3 2.4", **stroke
    )
    tip = [(end - 6 * way, middle - 3), (end, middle), (end - 6 * way, middle + 3)]
    return firm + dashes + svg.path(svg.points(tip), **stroke)


def wall(x: float, top: float, bottom: float, side: int, ink: str = "ink") -> str:
    """A limit, with feathers on the side (-1 left, +1 right) that is not allowed."""
    step = 4.4
    count = int((bottom - top) / step)
    feathers = "".join(
        svg.points([(x, top + i * step), (x + 5.5 * side, top + i * step + 4.4)])
        for i in range(count)
    )
    return svg.path(feathers, stroke=svg.colour(ink), stroke_width="0.7") + svg.line(
        x, top, x, bottom, ink, 1.3
    )


def floor_wall(x1: float, x2: float, y: float, side: int, ink: str = "ink") -> str:
    """A limit lying on a lane, from `x1` to `x2`; feathers below (+1) or above (-1)."""
    count = max(int((x2 - x1) / 4.0), 1)
    feathers = "".join(
        svg.points([(x1 + i * 4.0 + 2.4, y), (x1 + i * 4.0, y + 3.2 * side)]) for i in range(count)
    )
    return svg.path(feathers, stroke=svg.colour(ink), stroke_width="0.5") + svg.line(
        x1, y, x2, y, ink, 0.7
    )


def bracket(x1: float, x2: float, y: float, drop: float = 5.0) -> str:
    """A bracket over a condition, open below."""
    corners = [(x1, y + drop), (x1, y), (x2, y), (x2, y + drop)]
    return svg.path(svg.points(corners), stroke=svg.colour("ink"), stroke_width="1.1")


def hatch(x1: float, x2: float, top: float, bottom: float) -> str:
    """Slanted strokes over a part that was left out."""
    width = x2 - x1
    if width <= 0.0:
        return ""
    strokes = []
    offset = top - width
    while offset < bottom:
        offset += 3.4
        clipped = _clip(x1, x2, offset, top, bottom)
        if clipped:
            strokes.append(svg.points(clipped))
    return svg.path("".join(strokes), stroke=svg.colour("line"), stroke_width="0.5")


def _clip(
    x1: float, x2: float, start: float, top: float, bottom: float
) -> list[tuple[float, float]]:
    left = max(x1, x1 + top - start)
    right = min(x2, x1 + bottom - start)
    return [(left, start + left - x1), (right, start + right - x1)] if right > left else []


def sign(verdict: str, ink: str = "ink", ground: str = "paper") -> str:
    """The verdict's little sign, 18 by 11: a spindle clear of the wall, on it, or across it."""
    if verdict == "meets":
        parts = [wall(5, 0.5, 10.5, -1, ink), spindle(7.5, 17, 5.5, ink, True, 3.4)]
    elif verdict == "exceeds":
        parts = [wall(7, 0.5, 10.5, 1, ink), spindle(5, 17, 5.5, ink, True, 3.4)]
    elif verdict == "falls short":
        parts = [wall(12, 0.5, 10.5, -1, ink), spindle(1, 11, 5.5, ink, True, 3.6)]
    else:
        middle = spindle(3, 16, 5.5, ink, False, 3.6, ground=ground)
        parts = [middle, wall(9.5, 0.5, 10.5, -1, ink)]
    return svg.drawing(18, 11, parts)


def triangle(filled: bool, size: float = 12.0) -> str:
    """The caution's triangle with its stroke, filled when the engine must stop."""
    corners = svg.points([(size / 2, 0.8), (size - 0.6, size - 1), (0.6, size - 1)]) + "Z"
    fill = svg.colour("caution") if filled else "none"
    ink = svg.colour("paper" if filled else "caution")
    body = svg.path(
        corners,
        fill=fill,
        stroke=svg.colour("caution"),
        stroke_width="1.1",
        stroke_linejoin="round",
    )
    x = size / 2
    mark = svg.path(
        svg.points([(x, 4.2), (x, 7.6)]) + svg.points([(x, 8.9), (x, 10)]),
        stroke=ink,
        stroke_width="1.2",
    )
    return svg.drawing(size, size, [body, mark])
