"""A recording's picture: lanes under brackets, pale between conditions, hatched where left out."""

from __future__ import annotations

from collections.abc import Iterable

from gaugewright.analysis.outcome import Picture, Stretch
from gaugewright.evidence.results import LimitCheck, Reading
from gaugewright.quantities.catalogue import PULSES
from gaugewright.report import blocks, marks, phrases, ruler, svg, words
from gaugewright.report.lane import LEFT, draw_lane
from gaugewright.report.preferences import Preferences

MOST_HEIGHT, LEAST_HEIGHT = 58.0, 44.0
PULSE_HEIGHT = 30.0
LABEL_SIZE = 8.6


def lane_picture(
    picture: Picture,
    readings: Iterable[Reading],
    checks: Iterable[LimitCheck],
    preferences: Preferences,
    width: float,
    most: float = 1e3,
) -> blocks.Picture:
    """Draw one recording with its conditions, its readings and its limits.

    `most` is the height it should keep to where its lanes stay readable.
    """
    scale = ruler.straight(picture.start_s, picture.end_s, LEFT, width - 4.0)
    head, brackets = _brackets(picture.stretches, scale)
    lanes, foot = [], head + 6.0
    usual = _lane_height(len(picture.lanes), head, most)
    own = [r for r in readings if r.visit == picture.visit]
    limits = [c for c in checks if c.visit in (picture.visit, None) and c.seen_by != "bearings"]
    for lane in picture.lanes:
        high = PULSE_HEIGHT if lane.quantity in PULSES else usual
        lanes.append(draw_lane(lane, picture, own, limits, scale, foot, foot + high, preferences))
        foot += high + 10.0
        if lane is not picture.lanes[-1]:
            lanes.append(svg.line(0, foot - 5.0, width, foot - 5.0, "hair", 0.6))
    hatched = _hatches(picture.stretches, scale, head + 1.0, foot - 6.0)
    axis = ruler.lying(scale, foot - 3.0, size=8.3)
    parts = [hatched, *lanes, brackets, axis, svg.text(0, foot + 10.0, words.SECONDS, 8, "soft")]
    height = foot + 18.0
    said = _said(picture)
    return blocks.Picture(svg.drawing(width, height, parts), width, height, said)


def _lane_height(count: int, head: float, most: float) -> float:
    """Lanes as high as the page gives, so that two recordings fit on one."""
    fitting = (most - head - 24.0) / max(count, 1) - 10.0
    return min(fitting, MOST_HEIGHT) if fitting >= LEAST_HEIGHT else MOST_HEIGHT


def _said(picture: Picture) -> str:
    lanes = phrases.listed(phrases.quantity(lane.quantity) for lane in picture.lanes)
    held = phrases.listed(stretch.condition for stretch in picture.stretches)
    return f"{picture.recording}: {lanes}" + (f"; {held}" if held else "")


def _brackets(stretches: tuple[Stretch, ...], scale: ruler.Scale) -> tuple[float, str]:
    """Brackets with their names; names that would touch are set in rows, with a fine leader."""
    order = sorted(stretches, key=lambda s: s.from_s)
    rows: list[float] = []
    placed = []
    for stretch in order:
        x1, x2 = scale.at(stretch.from_s), scale.at(stretch.to_s)
        name = phrases.clipped(stretch.condition, 40)[0]
        half = svg.text_width(name, LABEL_SIZE, True) / 2.0
        centre = min(max((x1 + x2) / 2.0, scale.places[0] - 60 + half), scale.places[1] - half)
        row = next((i for i, end in enumerate(rows) if centre - half > end + 4.0), len(rows))
        rows[row : row + 1] = [centre + half]
        placed.append((x1, x2, centre, row, name))
    head = 10.0 * max(len(rows), 1) + 5.0
    parts = []
    for x1, x2, centre, row, name in placed:
        y = head - 5.0 - 10.0 * row
        if row:
            parts.append(svg.line((x1 + x2) / 2, y + 2.0, (x1 + x2) / 2, head, "line", 0.4))
        parts.append(marks.bracket(x1, x2, head))
        parts.append(svg.text(centre, y, name, LABEL_SIZE, "ink", "middle", True, halo=row > 0))
    return head + 4.0, "".join(parts)


def _hatches(stretches: tuple[Stretch, ...], scale: ruler.Scale, top: float, bottom: float) -> str:
    gaps = [gap for stretch in stretches for gap in stretch.left_out]
    drawn = [(scale.at(start), scale.at(end)) for start, end in gaps]
    return "".join(marks.hatch(x1, max(x2, x1 + 1.6), top, bottom) for x1, x2 in drawn)
