"""The reference check's picture: does the gauge move with the crankcase, one for one?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from gaugewright.evidence.results import Findings, Match, Reading, ReferenceCheck
from gaugewright.report import display, marks, ruler, svg, words
from gaugewright.report.blocks import Picture
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import reading_of

HEIGHT = 190.0
LEFT, TOP, FOOT = 66.0, 18.0, 34.0
WRITTEN = 118.0
"""Room at the right for what the dashed slopes say."""


@dataclass(frozen=True)
class Point:
    """One condition: crankcase and gauge pressure in kPa at one speed, with half widths."""

    name: str
    crankcase: float
    crankcase_half: float
    gauge: float
    gauge_half: float


def points_of(check: ReferenceCheck, findings: Findings) -> list[Point]:
    """The check's conditions brought to the speed of the first, as far as matches allow."""
    if not check.conditions:
        return []
    first = check.conditions[0]
    gauge = reading_of(findings.readings, check.visit, first, "oil-pressure", "atmosphere")
    crankcase = reading_of(
        findings.readings, check.visit, first, "crankcase-pressure", "atmosphere"
    )
    if gauge is None or crankcase is None or gauge.bound or crankcase.bound:
        return []
    start = Point(first, crankcase.value, _half(crankcase), gauge.value, _half(gauge))
    others = (_matched(start, check, name, findings) for name in check.conditions[1:])
    return [start, *(point for point in others if point is not None)]


def _matched(start: Point, check: ReferenceCheck, name: str, findings: Findings) -> Point | None:
    gauge = _match(findings, check.visit, "oil-pressure", start.name, name)
    crankcase = _match(findings, check.visit, "crankcase-pressure", start.name, name)
    if gauge is None or crankcase is None:
        return None
    return Point(
        name,
        start.crankcase + crankcase.difference,
        0.5 * (crankcase.high - crankcase.low),
        start.gauge + gauge.difference,
        0.5 * (gauge.high - gauge.low),
    )


def _match(findings: Findings, visit: str, quantity: str, start: str, end: str) -> Match | None:
    return next(
        (
            m
            for m in findings.matches
            if m.visit == visit
            and m.from_visit in (None, visit)
            and (m.quantity, m.from_, m.to) == (quantity, start, end)
            and m.reference in (None, "atmosphere")
        ),
        None,
    )


def _half(reading: Reading) -> float:
    if reading.low is None or reading.high is None:
        return 0.0
    return 0.5 * (reading.high - reading.low)


def slope_picture(
    check: ReferenceCheck, findings: Findings, preferences: Preferences, width: float
) -> Picture | None:
    """Draw the check, or None where fewer than two conditions can be drawn."""
    points = points_of(check, findings)
    if len(points) < 2:
        return None
    oil = display.shown("oil-pressure", "kPa", preferences)
    case = display.shown("crankcase-pressure", "kPa", preferences)
    across, up = _scales(points, oil, case, min(width, 400.0))
    parts = [_fan(check, points[0], points, oil, case, across, up)]
    parts += _dashed(points[0], oil, case, across, up)
    parts += [_spindles(point, oil, case, across, up) for point in points]
    parts += _names(points, oil, case, across, up)
    parts += _axes(oil, case, across, up)
    return Picture(svg.drawing(width, HEIGHT, parts), width, HEIGHT, _said(check))


def _said(check: ReferenceCheck) -> str:
    verdict = words.CHECK_VERDICT_SHORT.get(check.verdict, check.verdict)
    slope = "" if check.slope is None else f"{words.SLOPE}{display.digits(check.slope, 2)}, "
    return f"{check.visit}: {slope}{verdict}"


def _scales(
    points: list[Point], oil: display.Shown, case: display.Shown, width: float
) -> tuple[ruler.Scale, ruler.Scale]:
    x = [case.of(p.crankcase + s * p.crankcase_half) for p in points for s in (-1, 1)]
    y = [oil.of(p.gauge + s * p.gauge_half) for p in points for s in (-1, 1)]
    moved = [oil.of(points[0].gauge + p.crankcase - points[0].crankcase) for p in points]
    left, right = ruler.around(min(x), max(x), 0.14)
    low, high = ruler.around(min([*y, *moved]), max([*y, *moved]), 0.14)
    across = ruler.straight(left, right, LEFT, width - WRITTEN)
    return across, ruler.straight(low, high, HEIGHT - FOOT, TOP)


def _axes(
    oil: display.Shown, case: display.Shown, across: ruler.Scale, up: ruler.Scale
) -> list[str]:
    x = words.SLOPE_X.format(unit=case.unit)
    y = words.SLOPE_Y.format(unit=oil.unit)
    return [
        ruler.lying(across, HEIGHT - FOOT, case.signed, 7.8),
        ruler.standing(up, LEFT, False),
        svg.text(across.places[1], HEIGHT - 6, x, 8.2, "crankcase", "end", True),
        svg.text(LEFT - 40, TOP - 8, y, 8.2, "oil", semibold=True),
    ]


def _ray(
    start: Point,
    slope: float,
    oil: display.Shown,
    case: display.Shown,
    across: ruler.Scale,
    up: ruler.Scale,
) -> list[tuple[float, float]]:
    """A line of this slope through the first condition, within the picture."""
    per_unit = slope * case.per_unit / oil.per_unit
    x0, y0 = case.of(start.crankcase), oil.of(start.gauge)
    ends = []
    for end in across.values:
        y = y0 + per_unit * (end - x0)
        y_in = min(max(y, up.values[0]), up.values[1])
        x = end if math.isclose(y, y_in) else x0 + (y_in - y0) / per_unit
        ends.append((across.at(x), up.at(y_in)))
    return ends


def _fan(
    check: ReferenceCheck,
    start: Point,
    points: list[Point],
    oil: display.Shown,
    case: display.Shown,
    across: ruler.Scale,
    up: ruler.Scale,
) -> str:
    if check.low is None or check.high is None or abs(check.high - check.low) > 4.0:
        return ""
    centre = across.at(case.of(start.crankcase)), up.at(oil.of(start.gauge))
    low = _ray(start, check.low, oil, case, across, up)
    high = _ray(start, check.high, oil, case, across, up)
    way = 0 if points[-1].crankcase < start.crankcase else 1
    outline = [centre, low[way], high[way]]
    return svg.path(svg.points(outline) + "Z", fill=svg.colour("oil"), fill_opacity="0.2")


def _dashed(
    start: Point,
    oil: display.Shown,
    case: display.Shown,
    across: ruler.Scale,
    up: ruler.Scale,
) -> list[str]:
    parts = []
    right = across.places[1] + 8
    for slope, said in ((1.0, words.SLOPE_ONE), (0.0, words.SLOPE_NONE)):
        ends = _ray(start, slope, oil, case, across, up)
        parts.append(
            svg.path(
                svg.points(ends),
                stroke=svg.colour("ink"),
                stroke_width="0.9",
                stroke_dasharray="4 3",
            )
        )
        y = ends[1][1] + 3
        parts.append(svg.text(right, y, said[0], 9, "ink", semibold=True))
        parts.append(svg.text(right + 10, y, said[1], 8.2, "soft"))
    return parts


def _spindles(
    p: Point, oil: display.Shown, case: display.Shown, across: ruler.Scale, up: ruler.Scale
) -> str:
    x, y = across.at(case.of(p.crankcase)), up.at(oil.of(p.gauge))
    lying = [across.at(case.of(p.crankcase + s * p.crankcase_half)) for s in (-1, 1)]
    upright = [up.at(oil.of(p.gauge + s * p.gauge_half)) for s in (1, -1)]
    return marks.spindle(
        upright[0], upright[1], x, "oil", False, 4.0, upright=True
    ) + marks.spindle(lying[0], lying[1], y, "crankcase", True, 3.0)


def _names(
    points: list[Point],
    oil: display.Shown,
    case: display.Shown,
    across: ruler.Scale,
    up: ruler.Scale,
) -> list[str]:
    parts, taken = [], list[tuple[float, float, float]]()
    for p in points:
        x, y = across.at(case.of(p.crankcase)), up.at(oil.of(p.gauge))
        wide = svg.text_width(p.name, 8.2)
        reach = abs(up.at(oil.of(p.gauge + p.gauge_half)) - y) + 11.0
        left = min(max(x - wide / 2, LEFT + 3), across.places[1] + WRITTEN - wide)
        options = [y + reach, y - reach + 4.0, y + reach + 10.0, y - reach - 6.0]
        base = next((o for o in options if not _touches(left, wide, o, taken)), options[0])
        taken.append((left, left + wide, base))
        parts.append(svg.text(left, base, p.name, 8.2, halo=True))
    return parts


def _touches(
    left: float, wide: float, base: float, taken: list[tuple[float, float, float]]
) -> bool:
    outside = not TOP < base < HEIGHT - FOOT - 2
    return outside or any(
        left < end and left + wide > start and abs(base - other) < 10.0
        for start, end, other in taken
    )
