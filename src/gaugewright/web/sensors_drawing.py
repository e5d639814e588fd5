"""The pictures of a sensor's card: its line through the points, and how far these lie off it."""

from __future__ import annotations

import numpy as np
from markupsafe import Markup

from gaugewright.report import ruler, svg
from gaugewright.report.display import Shown
from gaugewright.web.drawing import strict
from gaugewright.web.sensors_card import Card

WIDTH, LEFT, RIGHT = 560.0, 64.0, 8.0
LINE_HEIGHT, OFF_HEIGHT, TOP, FOOT = 372.0, 172.0, 22.0, 48.0
SIZE = 14.0
ARM = 8.0
PASCAL = 1000.0


def line_picture(card: Card, how: Shown, ink: str, along: str, up: str) -> Markup:
    """The line, the points on it as crosses; `along` and `up` name the axes."""
    calibration = card.calibration
    assert calibration is not None
    values = how_of(how, card.values)
    ends = np.array([card.places[0], card.places[-1]])
    outputs = (ends - calibration.offset) / calibration.slope
    x = _scale(np.append(card.outputs, outputs), LEFT, WIDTH - RIGHT, 0.02)
    y = _scale(np.append(values, how_of(how, card.places)), LINE_HEIGHT - FOOT, TOP, 0.04)
    line = [
        (x.at(float(o)), y.at(float(p))) for o, p in zip(outputs, how_of(how, ends), strict=True)
    ]
    parts = [
        svg.path(svg.points(line), stroke=svg.colour(ink), stroke_width="2"),
        *(
            _cross(x.at(float(o)), y.at(float(v)))
            for o, v in zip(card.outputs, values, strict=True)
        ),
        standing(y, LEFT, how.signed),
        lying(x, LINE_HEIGHT - FOOT, False),
        svg.text(WIDTH - RIGHT, LINE_HEIGHT - 4, along, SIZE, "soft", "end"),
        svg.text(LEFT + 12, TOP + 2, up, SIZE, ink, semibold=True),
    ]
    return strict(svg.drawing(WIDTH, LINE_HEIGHT, parts), up)


def off_picture(card: Card, how: Shown, ink: str, words: str) -> Markup:
    """How far the points lie off the line, over the pressures, with the ± of the line."""
    places, halves = how_of(how, card.places), how_of(how, card.halves)
    values, off = how_of(how, card.values), how_of(how, card.off)
    most = 1.15 * float(max(np.max(halves, initial=0.0), np.max(np.abs(off)), 1e-9))
    x = ruler.straight(float(places[0]), float(places[-1]), LEFT, WIDTH - RIGHT)
    y = ruler.straight(-most, most, OFF_HEIGHT - FOOT + 12, 10.0)
    upper = [(x.at(float(p)), y.at(float(h))) for p, h in zip(places, halves, strict=True)]
    lower = [(x.at(float(p)), y.at(float(-h))) for p, h in zip(places, halves, strict=True)]
    fan = svg.path(svg.points(upper + lower[::-1]) + "Z", fill=svg.colour(ink), fill_opacity="0.2")
    zero = svg.line(x.places[0], y.at(0.0), x.places[1], y.at(0.0), ink, 2.0)
    stalks = [
        svg.line(x.at(float(v)), y.at(0.0), x.at(float(v)), y.at(float(o)), "ink", 1.0)
        for v, o in zip(values, off, strict=True)
    ]
    crosses = [_cross(x.at(float(v)), y.at(float(o))) for v, o in zip(values, off, strict=True)]
    axes = [
        standing(y, LEFT, True),
        lying(x, OFF_HEIGHT - FOOT + 20, how.signed),
    ]
    return strict(svg.drawing(WIDTH, OFF_HEIGHT, [fan, zero, *stalks, *crosses, *axes]), words)


def how_of(
    how: Shown, house: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """House values in the unit shown."""
    return np.asarray(house) / PASCAL / how.per_unit


def _scale(
    values: np.ndarray[tuple[int, ...], np.dtype[np.float64]], start: float, end: float, room: float
) -> ruler.Scale:
    low, high = ruler.around(float(np.min(values)), float(np.max(values)), room)
    return ruler.straight(low, high, start, end)


def _cross(x: float, y: float) -> str:
    return svg.line(x - ARM, y, x + ARM, y, "ink", 1.8) + svg.line(
        x, y - ARM, x, y + ARM, "ink", 1.8
    )


def standing(scale: ruler.Scale, left: float, signed: bool) -> str:
    """The rule at the left: baseline, ticks outwards, figures at the long ones."""
    long, brief = ruler.ticks(scale, 38.0)
    parts = [svg.line(left, scale.places[0], left, scale.places[-1], "ink", 1.5)]
    parts += [svg.line(left - 5, scale.at(v), left, scale.at(v), "ink", 1.0) for v in brief]
    for value, said in zip(long, ruler.figures(long, signed), strict=True):
        y = scale.at(value)
        parts.append(svg.line(left - 9, y, left, y, "ink", 1.0))
        parts.append(svg.text(left - 13, y + 5, said, SIZE, "soft", "end"))
    return "".join(parts)


def lying(scale: ruler.Scale, y: float, signed: bool) -> str:
    """The rule along the foot."""
    long, brief = ruler.ticks(scale, 56.0)
    parts = [svg.line(scale.places[0], y, scale.places[-1], y, "ink", 1.5)]
    parts += [svg.line(scale.at(v), y, scale.at(v), y + 5, "ink", 1.0) for v in brief]
    for value, said in zip(long, ruler.figures(long, signed), strict=True):
        x = scale.at(value)
        parts.append(svg.line(x, y, x, y + 9, "ink", 1.0))
        parts.append(svg.text(x, y + 23, said, SIZE, "soft", "middle"))
    return "".join(parts)
