"""The bench's picture: oil pressure over speed, a limit as a wall, the state that is asked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from gaugewright.evidence.visiting import Bounds
from gaugewright.report import marks, ruler, svg
from gaugewright.report.display import Shown
from gaugewright.web.bench_case import Course, Would
from gaugewright.web.drawing import strict
from gaugewright.web.sensors_drawing import SIZE, lying, standing

WIDTH, HEIGHT = 720.0, 420.0
LEFT, RIGHT, TOP, FOOT = 64.0, 14.0, 30.0, 52.0
PASCAL = 1000.0


@dataclass(frozen=True)
class Scene:
    """All that the picture shows: courses and the asked state for gauge and bearings."""

    gauge: Course
    bearings: Course | None
    at_gauge: Would
    at_bearings: Would | None
    speed_rpm: float
    limit: Bounds | None
    readings: tuple[tuple[str, float, float, float], ...]
    """Name, speed, gauge value and half width of every condition as it was held."""
    limit_words: str = ""


def bench_picture(scene: Scene, how: Shown, up: str, along: str, said: str) -> Markup:
    """The picture; `said` tells in words what it shows."""
    x, y = _scales(scene, how)
    parts = [*_course(scene.gauge, how, x, y, True)]
    if scene.bearings is not None:
        parts += _course(scene.bearings, how, x, y, False)
    parts += _walls(scene, how, x, y)
    parts += _crosses(scene, how, x, y)
    parts += _asked(scene, how, x, y)
    parts += [
        standing(y, LEFT, how.signed),
        lying(x, HEIGHT - FOOT, False),
        svg.text(WIDTH - RIGHT, HEIGHT - 4, along, SIZE, "soft", "end"),
        svg.text(LEFT + 12, TOP - 10, up, SIZE, "oil", semibold=True),
    ]
    return strict(svg.drawing(WIDTH, HEIGHT, parts), said)


def _shown(value: float, how: Shown) -> float:
    return how.of(value / PASCAL)


def _scales(scene: Scene, how: Shown) -> tuple[ruler.Scale, ruler.Scale]:
    speeds = scene.gauge.speed_rpm
    values = [_shown(float(v), how) for v in scene.gauge.value]
    values += [_shown(value, how) for _, _, value, _ in scene.readings]
    values += [_shown(end, how) for end in _near_ends(scene)]
    low, high = ruler.around(min(0.0, *values), max(values), 0.06)
    x = ruler.straight(float(speeds[0]), float(speeds[-1]), LEFT, WIDTH - RIGHT)
    return x, ruler.straight(max(low, 0.0), high, HEIGHT - FOOT, TOP)


def _near_ends(scene: Scene) -> list[float]:
    """The limit's ends that are worth the room."""
    if scene.limit is None:
        return []
    top = float(np.max(scene.gauge.value))
    ends = [end for end in (scene.limit.least, scene.limit.most) if end is not None]
    return [end for end in ends if end < 1.4 * top]


def _course(course: Course, how: Shown, x: ruler.Scale, y: ruler.Scale, gauge: bool) -> list[str]:
    """The line over all speeds, firm where the stretch was, dashed beyond, with its ± as a fan."""
    places = [x.at(float(s)) for s in course.speed_rpm]
    line = [(p, _in(y, _shown(float(v), how))) for p, v in zip(places, course.value, strict=True)]
    upper, lower = (
        [
            (p, _in(y, _shown(float(v + side * h), how)))
            for p, v, h in zip(places, course.value, course.half, strict=True)
        ]
        for side in (1.0, -1.0)
    )
    ink = svg.colour("oil")
    fan = svg.path(
        svg.points(upper + lower[::-1]) + "Z", fill=ink, fill_opacity="0.14" if gauge else "0.07"
    )
    wide = {"stroke": ink, "stroke_width": "2" if gauge else "1.3"}
    dashed = svg.path(svg.points(line), stroke_dasharray="5 5", **wide)
    return [fan, dashed, *_firm(course, line, wide)]


def _firm(course: Course, line: list[tuple[float, float]], wide: dict[str, str]) -> list[str]:
    if course.support_rpm is None:
        return []
    low, high = course.support_rpm
    inside = [p for s, p in zip(course.speed_rpm, line, strict=True) if low <= s <= high]
    return [svg.path(svg.points(inside), **wide)] if len(inside) > 1 else []


def _in(scale: ruler.Scale, value: float) -> float:
    """The place of a value, kept within the picture."""
    return min(max(scale.at(value), min(scale.places)), max(scale.places))


def _walls(scene: Scene, how: Shown, x: ruler.Scale, y: ruler.Scale) -> list[str]:
    limit = scene.limit
    if limit is None:
        return []
    reach = limit.tolerance_rpm or 0.06 * (limit.speed_rpm or scene.speed_rpm)
    middle = limit.speed_rpm or scene.speed_rpm
    x1, x2 = x.at(middle - reach) - 14, x.at(middle + reach) + 14
    parts = []
    for end, side in ((limit.least, 1), (limit.most, -1)):
        if end is not None and end in _near_ends(scene):
            at = y.at(_shown(end, how))
            parts.append(marks.floor_wall(x1, x2, at, side))
            if side == (1 if limit.least is not None else -1):
                foot = at + 18 if side == 1 else at - 10
                parts.append(svg.text(x1, foot, scene.limit_words, SIZE, "ink", semibold=True))
    return parts


def _crosses(scene: Scene, how: Shown, x: ruler.Scale, y: ruler.Scale) -> list[str]:
    """The conditions as they were held: small crosses with their names, clear of each other."""
    parts = []
    taken: list[tuple[float, float]] = []
    for name, speed, value, _ in sorted(scene.readings, key=lambda r: -r[2]):
        px, py = x.at(speed), y.at(_shown(value, how))
        near = [other for at, other in taken if abs(at - px) < 130.0]
        base = max([py + 5 if near else py - 9, *(other + 18 for other in near)])
        taken.append((px, base))
        left = px > WIDTH - 160
        parts += [
            svg.line(px - 6, py, px + 6, py, "ink", 1.6),
            svg.line(px, py - 6, px, py + 6, "ink", 1.6),
            svg.text(
                px + (-12 if left else 12),
                base,
                name,
                SIZE,
                "soft",
                "end" if left else "start",
                halo=True,
            ),
        ]
    return parts


def _asked(scene: Scene, how: Shown, x: ruler.Scale, y: ruler.Scale) -> list[str]:
    """The state that is asked for: a hair at its speed, spindles where the readings would be."""
    px = x.at(scene.speed_rpm)
    parts = [svg.line(px, TOP, px, HEIGHT - FOOT, "ink", 1.2)]
    for would, filled in ((scene.at_bearings, True), (scene.at_gauge, False)):
        if would is not None:
            ends = [_in(y, _shown(would.value + s * would.half, how)) for s in (1.0, -1.0)]
            parts.append(marks.spindle(ends[0], ends[1], px, "oil", filled, 9.0, upright=True))
    return parts
