"""The picture for the owner: every state on one axis, against the maker's limit."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from gaugewright.report import display, marks, phrases, ruler, svg, words
from gaugewright.report.blocks import Number, Picture, Plate
from gaugewright.report.story import MEETS, Side, Story, Told

LABEL_WIDTH = 96.0
VALUE_WIDTH = 78.0


@dataclass(frozen=True)
class Measures:
    """Heights of the picture's rows, in points."""

    head: float = 17.0
    state: float = 18.0
    row: float = 20.5
    gap: float = 7.0
    foot: float = 24.0
    text: float = 10.0


WIDE = Measures(20.0, 20.0, 24.0, 9.0, 26.0, 10.8)
ROOMY = Measures()
TIGHT = Measures(15.0, 14.0, 16.0, 4.0, 22.0, 9.2)


@dataclass(frozen=True)
class Line:
    """One line of the picture: who saw it, and the values in the unit shown."""

    label: str
    side: Side
    filled: bool


def limit_picture(
    story: Story,
    labels: tuple[str, ...],
    how: display.Shown,
    width: float,
    measures: Measures = ROOMY,
) -> Picture:
    """Draw the states of a story on one axis, gauge hollow, bearings filled."""
    left, right = LABEL_WIDTH, width - words.PLATE_WIDTH - VALUE_WIDTH - 8.0
    if story.limit is None:
        right = width - VALUE_WIDTH - 8.0
    walls = phrases.limit_values(story.limit) if story.limit else {}
    low, high = axis_range(story, walls)
    scale = ruler.straight(how.of(low), how.of(high), left, right)
    if not walls:
        measures = dataclasses.replace(measures, head=2.0)
    rows, foot = _states(story, labels, how, scale, width, measures)
    parts = _walls(walls, how, scale, measures, foot)
    parts += [*rows, ruler.lying(scale, foot, how.signed)]
    parts.append(svg.text(right + 13, foot + 15.4, how.unit, 8.8, "soft"))
    height = foot + measures.foot
    return Picture(svg.drawing(width, height, parts), width, height, _words(story, labels, how))


def axis_range(story: Story, walls: dict[str, float]) -> tuple[float, float]:
    """What the axis has to show: every interval, and the wall that is near."""
    ends = [end for told in story.told for side in _sides(told) for end in _ends(side)]
    if walls:
        centre = 0.5 * (min(ends) + max(ends))
        near = min(walls.values(), key=lambda wall: abs(wall - centre))
        ends.append(near)
        span = max(max(ends) - min(ends), 1e-9)
        ends += [w for w in walls.values() if min(abs(w - e) for e in ends) < 0.5 * span]
    return ruler.around(min(ends), max(ends))


def walls_outside(story: Story) -> list[str]:
    """Names of the limit's ends that lie outside the picture."""
    walls = phrases.limit_values(story.limit) if story.limit else {}
    if not walls:
        return []
    low, high = axis_range(story, walls)
    return [name for name, value in walls.items() if not low < value < high]


def _ends(side: Side) -> list[float]:
    return [end for end in (side.low, side.value, side.high) if end is not None]


def _sides(told: Told) -> list[Side]:
    return [side for side in (told.gauge, told.bearings) if side is not None]


def _lines(story: Story, told: Told, last: bool) -> list[Line]:
    if story.quantity != "oil-pressure":
        return [
            Line(words.READ_IS if last else words.READ_WAS, side, False) for side in _sides(told)
        ]
    names = (
        (words.GAUGE_SHOWS, words.BEARINGS_GET)
        if last and len(story.told) > 1
        else (words.GAUGE_SHOWED, words.BEARINGS_GOT)
    )
    lines = [Line(names[0], told.gauge, False)] if told.gauge else []
    return lines + ([Line(names[1], told.bearings, True)] if told.bearings else [])


def _states(
    story: Story,
    labels: tuple[str, ...],
    how: display.Shown,
    scale: ruler.Scale,
    width: float,
    m: Measures,
) -> tuple[list[str], float]:
    y = m.head
    parts: list[str] = []
    for index, (told, label) in enumerate(zip(story.told, labels, strict=True)):
        if index:
            parts.append(svg.line(0, y, width, y, "hair", 0.7))
        said = phrases.clipped(label, int((width - 10) / (0.5 * m.text)))[0]
        parts.append(svg.text(0, y + 0.74 * m.state, said, m.text - 0.6, "soft", halo=True))
        y += m.state
        for line in _lines(story, told, index == len(story.told) - 1):
            fails = told.gauge is not None and told.gauge.verdict != MEETS
            parts.append(_row(story, line, how, scale, y + m.row / 2, width, m))
            parts.append(_verdict(story, line, fails, width, y + m.row / 2, m))
            y += m.row
        y += m.gap
    return parts, y


def _row(
    story: Story,
    line: Line,
    how: display.Shown,
    scale: ruler.Scale,
    y: float,
    width: float,
    m: Measures,
) -> str:
    ink = svg.COLOUR_OF.get(story.quantity, "ink")
    base = y + 0.34 * m.text
    parts = [svg.text(0, base, line.label, m.text)]
    parts.append(_shape(line, how, scale, y, ink, min(7.0, 0.36 * m.row)))
    limited = story.limit is not None
    right = width - (words.PLATE_WIDTH if limited else 0.0)
    parts.append(_value(line.side, how, right, base, m))
    return "".join(parts)


def _verdict(
    story: Story, line: Line, gauge_fails: bool, width: float, y: float, m: Measures
) -> str:
    """The verdict at the row's end; bearings that get enough never look like a pass."""
    verdict = line.side.verdict
    if story.limit is None or verdict is None:
        return ""
    if gauge_fails and line.side.seen_by == "bearings" and verdict == MEETS:
        base = y + 0.34 * (m.text - 1.4)
        return svg.text(width, base, words.ENOUGH_NO_PASS, m.text - 1.4, "soft", "end")
    observer = line.side.seen_by if story.quantity == "oil-pressure" else ""
    return draw_plate(phrases.verdict_plate(verdict, observer), width, y, m.text - 1.4)


def _shape(
    line: Line, how: display.Shown, scale: ruler.Scale, y: float, ink: str, half: float
) -> str:
    side = line.side
    at = scale.at(how.of(side.value))
    if side.low is None:
        return marks.one_sided(at, scale.places[0], y, ink, half)
    if side.high is None:
        return marks.one_sided(at, scale.places[-1], y, ink, half)
    ends = scale.at(how.of(side.low)), scale.at(how.of(side.high))
    return marks.spindle(*ends, y, ink, line.filled, half)


def side_number(side: Side, how: display.Shown) -> Number:
    """One observer's value as a figure, with "at most" or "at least" where one-sided."""
    before = words.BOUND_BRIEF.get(side.bound or "", "") + display.NO_BREAK if side.bound else ""
    return display.number(side.value, side.expanded, how, before)


def _value(side: Side, how: display.Shown, right: float, base: float, m: Measures) -> str:
    figure = side_number(side, how)
    small = 0.82 * m.text
    after = svg.text(right, base, figure.after, small, "soft", "end")
    room = svg.text_width(figure.after, small) + 2.5
    before = figure.whole + figure.fraction
    return after + svg.text(right - room, base, before, m.text + 1.2, "figure", "end", True)


def draw_plate(plate: Plate, right: float, y: float, size: float) -> str:
    """A verdict's plate, its right edge at `right`: outlined, ink, or dashed."""
    wide = svg.text_width(plate.text, size, True) + (26.0 if plate.svg else 8.0)
    left, high = right - wide, size + 6.4
    ink = "paper" if plate.look == "fails" else "ink"
    box = {
        "meets": {"fill": "none", "stroke": svg.colour("ink"), "stroke_width": "1"},
        "fails": {"fill": svg.colour("ink")},
        "open": {
            "fill": "none",
            "stroke": svg.colour("ink"),
            "stroke_width": "1",
            "stroke_dasharray": "3.4 2.4",
        },
        "none": {"fill": "none"},
    }[plate.look]
    parts = [svg.rectangle(left, y - high / 2, wide, high, **box)]
    if plate.svg:
        inner = plate.svg.partition(">")[2].removesuffix("</svg>")
        parts.append(f'<g transform="translate({svg.short(left + 3.5)} {svg.short(y - 5.5)})">')
        parts.append(inner + "</g>")
    start = left + (24.5 if plate.svg else 4.0)
    parts.append(svg.text(start, y + 0.34 * size, plate.text, size, ink, semibold=True))
    return "".join(parts)


def _walls(
    walls: dict[str, float],
    how: display.Shown,
    scale: ruler.Scale,
    m: Measures,
    foot: float,
) -> list[str]:
    low, high = scale.values[0], scale.values[-1]
    inside = {n: v for n, v in walls.items() if low < how.of(v) < high}
    parts = []
    for name, value in inside.items():
        x = scale.at(how.of(value))
        parts.append(marks.wall(x, m.head - 3, foot - 1, -1 if name == "min" else 1))
        pattern = words.OR_MORE if name == "min" else words.OR_LESS
        said = pattern.format(low=display.stated(value, how), high=display.stated(value, how))
        anchor = "end" if name == "min" else "start"
        if len(inside) == 1:
            said, anchor = words.MAKER_ASKS.format(limit=said), "middle"
        parts.append(svg.text(x, m.head - 7, said, m.text, semibold=True, anchor=anchor))
    return parts


def _words(story: Story, labels: tuple[str, ...], how: display.Shown) -> str:
    said = []
    for index, (told, label) in enumerate(zip(story.told, labels, strict=True)):
        for line in _lines(story, told, index == len(story.told) - 1):
            figure = side_number(line.side, how)
            value = figure.whole + figure.fraction + display.NO_BREAK + figure.after
            judged = line.side.verdict and words.VERDICT.get(line.side.verdict, line.side.verdict)
            verdict = f" ({judged})" if judged else ""
            said.append(f"{label}: {line.label} {value}{verdict}")
    return "; ".join(said)
