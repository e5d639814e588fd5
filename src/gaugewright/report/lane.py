"""One lane of a recording: its rule, its trace, its readings and its limits."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from gaugewright.analysis.outcome import Floats, Lane, Picture, Stretch
from gaugewright.evidence.results import LimitCheck, Reading
from gaugewright.report import display, marks, phrases, ruler, svg, words
from gaugewright.report.preferences import Preferences

LEFT = 108.0
"""Room at the left for a lane's name and its rule."""
Places = npt.NDArray[np.intp]
PALE = 0.38
BAND = 0.22


def draw_lane(
    lane: Lane,
    picture: Picture,
    readings: list[Reading],
    checks: list[LimitCheck],
    scale: ruler.Scale,
    top: float,
    bottom: float,
    preferences: Preferences,
) -> str:
    """One lane between `top` and `bottom`, on the time scale of its recording."""
    how = display.shown(lane.quantity, lane.unit, preferences, reference=lane.reference)
    ink = svg.COLOUR_OF.get(lane.quantity, "ink")
    own = _own_readings(lane, picture, readings)
    walls = _near(_own_walls(lane, picture, checks), own, lane)
    across = _across(lane, own, walls, how, top, bottom)
    parts = [_name(lane, how, ink, top)]
    if across is None:
        return "".join([*parts, svg.text(LEFT, (top + bottom) / 2, words.UNMEASURED, 8, "soft")])
    parts.append(ruler.standing(across, LEFT - 6.0, how.signed))
    parts += [_trace(lane, picture, how, ink, scale, across)]
    parts += [_wall(*wall, how, scale, across) for wall in walls]
    lines = [(x, across.at(how.of(value))) for x, _, value in walls]
    return "".join([*parts, *(_mean(*item, how, scale, across, top, lines) for item in own)])


def _name(lane: Lane, how: display.Shown, ink: str, top: float) -> str:
    against = phrases.reference(lane.quantity, lane.reference)
    name = phrases.capital(words.LANE.get(lane.quantity) or phrases.quantity(lane.quantity))
    lines = [svg.text(0, top + 9, name, 9.0, ink, semibold=True)]
    small = [against, how.unit] if against else [how.unit]
    lines += [svg.text(0, top + 19 + 9.4 * i, said, 8.3, "soft") for i, said in enumerate(small)]
    return "".join(lines)


def _own_readings(
    lane: Lane, picture: Picture, readings: list[Reading]
) -> list[tuple[Stretch, Reading]]:
    found = []
    for stretch in picture.stretches:
        fitting = [
            r
            for r in readings
            if r.condition == stretch.condition
            and r.quantity == lane.quantity
            and (lane.reference is None or r.reference == lane.reference)
        ]
        exact = [r for r in fitting if lane.label in r.signals]
        if exact or fitting:
            found.append((stretch, min(exact or fitting, key=lambda r: len(r.signals))))
    return found


def _own_walls(
    lane: Lane, picture: Picture, checks: list[LimitCheck]
) -> list[tuple[Stretch, str, float]]:
    if lane.reference not in (None, "atmosphere"):
        return []
    walls = {
        (stretch, end, value)
        for stretch in picture.stretches
        for check in checks
        if check.condition == stretch.condition
        and check.quantity == lane.quantity
        and check.value is not None
        for end, value in check.limit_value.items()
    }
    return sorted(walls, key=lambda wall: (wall[0].from_s, wall[1]))


def _near(
    walls: list[tuple[Stretch, str, float]], own: list[tuple[Stretch, Reading]], lane: Lane
) -> list[tuple[Stretch, str, float]]:
    """The walls near enough to their condition's reading to be worth the room."""
    seen = lane.mean[np.isfinite(lane.mean)]
    if seen.size == 0:
        return []
    span = max(float(seen.max() - seen.min()), 1e-9)
    level = {stretch: reading.value for stretch, reading in own}
    return [w for w in walls if w[0] in level and abs(w[2] - level[w[0]]) < 0.4 * span]


def _across(
    lane: Lane,
    own: list[tuple[Stretch, Reading]],
    walls: list[tuple[Stretch, str, float]],
    how: display.Shown,
    top: float,
    bottom: float,
) -> ruler.Scale | None:
    seen = np.concatenate([lane.low, lane.high])
    seen = seen[np.isfinite(seen)]
    if seen.size == 0:
        return None
    low, high = ruler.around(how.of(float(seen.min())), how.of(float(seen.max())), 0.06)
    near = [how.of(value) for _, _, value in walls]
    low, high = min([low, *(v - 0.03 * (high - low) for v in near)]), max([high, *near])
    levels = [how.of(reading.value) for _, reading in own] + near
    return ruler.broken_where_needed(levels, low, high, bottom, top)


def _trace(
    lane: Lane,
    picture: Picture,
    how: display.Shown,
    ink: str,
    scale: ruler.Scale,
    across: ruler.Scale,
) -> str:
    inside = np.zeros(lane.time_s.size, dtype=bool)
    for stretch in picture.stretches:
        inside |= (lane.time_s >= stretch.from_s) & (lane.time_s <= stretch.to_s)
    parts = []
    for full in (False, True):
        chosen = inside if full else ~inside
        for first, last in _runs(chosen):
            start = first if full else max(first - 1, 0)
            part = slice(start, last if full else min(last + 1, lane.time_s.size))
            parts += [
                _piece(lane, kept, how, ink, scale, across, 1.0 if full else PALE)
                for kept in _without_gaps(lane, part)
            ]
    return "".join(parts)


def _runs(chosen: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], chosen.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _without_gaps(lane: Lane, part: slice) -> list[Places]:
    """Places of the bins that hold something, parted where the signal itself has a gap.

    A slow signal fills every third or tenth bin only: that is no gap.
    """
    filled = np.flatnonzero(np.isfinite(lane.mean[part])) + part.start
    everywhere = np.diff(np.flatnonzero(np.isfinite(lane.mean)))
    usual = float(np.median(everywhere)) if everywhere.size else 1.0
    cuts = np.flatnonzero(np.diff(filled) > 4.0 * usual) + 1
    return [piece for piece in np.split(filled, cuts) if piece.size]


def _piece(
    lane: Lane,
    part: Places,
    how: display.Shown,
    ink: str,
    scale: ruler.Scale,
    across: ruler.Scale,
    strength: float,
) -> str:
    x = [scale.at(float(t)) for t in lane.time_s[part]]

    def places(values: Floats) -> list[float]:
        return [across.at(how.of(float(v))) for v in values[part]]

    upper = list(zip(x, places(lane.high), strict=True))
    lower = list(zip(x, places(lane.low), strict=True))
    mean = list(zip(x, places(lane.mean), strict=True))
    paint = svg.colour(ink)
    band = svg.path(
        svg.points(upper + lower[::-1]) + "Z", fill=paint, fill_opacity=svg.short(BAND * strength)
    )
    line = svg.path(
        svg.points(mean),
        stroke=paint,
        stroke_width="0.9",
        stroke_opacity=svg.short(strength),
        stroke_dasharray=svg.DASHES.get(ink),
        stroke_linejoin="round",
    )
    return band + line


def _wall(
    stretch: Stretch,
    end: str,
    value: float,
    how: display.Shown,
    scale: ruler.Scale,
    across: ruler.Scale,
) -> str:
    shown = how.of(value)
    if not across.values[0] <= shown <= across.values[-1]:
        return ""
    x1, x2 = scale.at(stretch.from_s), scale.at(stretch.to_s)
    return marks.floor_wall(x1, x2, across.at(shown), 1 if end == "min" else -1)


def _mean(
    stretch: Stretch,
    reading: Reading,
    how: display.Shown,
    scale: ruler.Scale,
    across: ruler.Scale,
    top: float,
    walls: list[tuple[Stretch, float]],
) -> str:
    x1, x2 = scale.at(stretch.from_s), scale.at(stretch.to_s)
    y = across.at(how.of(reading.value))
    if not math.isfinite(y):
        return ""
    half = phrases.half_width(reading) or 0.0
    places = max(display.decimals(half / how.per_unit, how.most_decimals) - 1, 0)
    said = display.digits(how.of(reading.value), places, how.signed)
    parts = [svg.line(x1, y, x2, y, "figure", 1.3)]
    if svg.text_width(said, 8.0, True) < x2 - x1 + 6.0:
        near = [place for held, place in walls if held == stretch]
        base = _free(y, top, near)
        parts.append(svg.text((x1 + x2) / 2, base, said, 8.0, "figure", "middle", True, halo=True))
    return "".join(parts)


def _free(y: float, top: float, walls: list[float]) -> float:
    """A baseline for the figure at `y`: above its line, or below where a wall is in the way."""
    options = [y - 4.6, y + 10.6]
    open_ones = [
        base
        for base in options
        if base - 7.0 > top - 8.0 and not any(base - 8.0 < wall < base + 4.0 for wall in walls)
    ]
    return (open_ones or options)[0]
