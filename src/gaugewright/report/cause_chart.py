"""The picture of causes: what was read, and below it what each leading cause predicts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gaugewright.evidence.results import CauseWeight, Predicted
from gaugewright.report import causes, display, marks, phrases, ruler, svg, words
from gaugewright.report.blocks import Picture
from gaugewright.report.preferences import Preferences

MOST = 12
"""Readings drawn at most: those that say most; the table beside the picture holds all."""
NAMES = 170.0
ROW, HEAD, BETWEEN, FOOT, TITLE = 11.6, 13.0, 5.0, 23.0, 19.0
UNIT_ROOM = 24.0
APART = 1.5
"""Readings of one quantity stand on two rules where the gap between them is more than so many
times the widest of them."""

Key = tuple[str, str, str, str | None]


@dataclass(frozen=True)
class Compared:
    """One reading, and what each cause predicts of it, in the order of the causes."""

    read: Predicted
    predictions: tuple[Predicted | None, ...]

    @property
    def loudness(self) -> float:
        """How much it moves the odds of any of the causes."""
        return max(abs(p.speaks) for p in self.predictions if p is not None)


def compared(weights: Sequence[CauseWeight]) -> list[Compared]:
    """Every reading of which one of these causes says something, in the order they come."""
    own = [{_key(p): p for p in weight.predicted} for weight in weights]
    keys = dict.fromkeys(key for side in own for key in side)
    return [_compared(tuple(side.get(key) for side in own)) for key in keys]


def _compared(predictions: tuple[Predicted | None, ...]) -> Compared:
    return Compared(next(p for p in predictions if p is not None), predictions)


def _key(predicted: Predicted) -> Key:
    return (predicted.visit, predicted.condition, predicted.quantity, predicted.reference)


def loudest(rows: Sequence[Compared]) -> list[Compared]:
    """The readings that are drawn, in their own order."""
    kept = sorted(rows, key=lambda row: -row.loudness)[:MOST]
    return [row for row in rows if row in kept]


def cause_pictures(
    weights: Sequence[CauseWeight], preferences: Preferences, width: float, visits: bool = False
) -> list[Picture]:
    """One picture for each quantity: its readings and the predictions on one rule.

    Parameters: causes that have predictions; whether a reading's visit has to be named.
    """
    rows = loudest(compared(weights))
    kinds = dict.fromkeys(_kind(row.read) for row in rows)
    grouped = [[row for row in rows if _kind(row.read) == kind] for kind in kinds]
    parts = [part for group in grouped for part in _clusters(group)]
    return [_picture(part, weights, preferences, width, visits) for part in parts]


def _kind(read: Predicted) -> tuple[str, str, bool]:
    return (read.quantity, read.unit, read.reference == "vacuum")


def _clusters(rows: list[Compared]) -> list[list[Compared]]:
    """The rows, parted where one rule would press them flat: each lot gets a rule of its own."""
    ordered = sorted(rows, key=lambda row: _span([row])[0])
    widest = max(high - low for low, high in map(_span, ([row] for row in rows)))
    lots = [[ordered[0]]]
    for row in ordered[1:]:
        if _span([row])[0] - _span(lots[-1])[1] > APART * widest:
            lots.append([])
        lots[-1].append(row)
    return [[row for row in rows if row in lot] for lot in lots]


def _span(rows: Sequence[Compared]) -> tuple[float, float]:
    """From the least to the greatest end of what was read and is predicted."""
    ends = [end for row in rows for end in _ends(row.read)]
    for row in rows:
        for p in row.predictions:
            ends += [p.predicted_low, p.predicted_high] if p is not None else []
    return min(ends), max(ends)


def _ends(read: Predicted) -> list[float]:
    return [end for end in (read.read_low, read.read, read.read_high) if end is not None]


def _picture(
    rows: list[Compared],
    weights: Sequence[CauseWeight],
    preferences: Preferences,
    width: float,
    visits: bool,
) -> Picture:
    how = causes.shown_as(rows[0].read, preferences)
    low, high = ruler.around(*_span(rows), 0.06)
    scale = ruler.straight(how.of(low), how.of(high), NAMES, width - _room(how.unit))
    ink = phrases.ink_of(rows[0].read.quantity) or "ink"
    title = phrases.capital(phrases.quantity(rows[0].read.quantity))
    parts = [svg.text(0, TITLE - 7, title, 10, ink, semibold=True)]
    y = TITLE
    for row in rows:
        parts.append(_row(row, weights, how, scale, ink, y, visits))
        y += HEAD + ROW * (1 + sum(p is not None for p in row.predictions)) + BETWEEN
    parts.append(ruler.lying(scale, y, how.signed))
    parts.append(svg.text(scale.places[-1] + 6, y + 3.5, how.unit, 8.8, "soft"))
    height = y + FOOT
    said = _words(rows, weights, preferences, visits)
    return Picture(svg.drawing(width, height, parts), width, height, said)


def _room(unit: str) -> float:
    """The room that a unit takes behind its rule."""
    wide = svg.text_width(unit, 8.8)
    return wide + 7.0 if wide > 20.0 else UNIT_ROOM


def _row(
    row: Compared,
    weights: Sequence[CauseWeight],
    how: display.Shown,
    scale: ruler.Scale,
    ink: str,
    top: float,
    visits: bool,
) -> str:
    """One reading: its name, its spindle with a pale band below, and each prediction's."""
    label = _label(row.read, visits)
    filled = row.read.reference == "crankcase"
    y = top + HEAD + ROW / 2
    lines = [(w, p) for w, p in zip(weights, row.predictions, strict=True) if p is not None]
    parts = [_band(row.read, how, scale, ink, y, y + ROW * (len(lines) + 0.42))]
    parts.append(svg.text(0, top + HEAD - 3.6, label, 8.8, semibold=True))
    parts.append(svg.text(10, y + 3, words.READ, 8.8, ink, semibold=True))
    parts.append(_read_shape(row.read, how, scale, ink, y, filled))
    for weight, predicted in lines:
        y += ROW
        name = _fitting(causes.name(weight.cause))
        ends = (predicted.predicted_low, predicted.predicted_high)
        parts.append(svg.text(10, y + 3, name, 8.8, "ink"))
        parts.append(_spindle(ends, how, scale, "ink", y, filled, 3.4))
    return "".join(parts)


def _label(read: Predicted, visits: bool) -> str:
    against = phrases.reference(read.quantity, read.reference)
    parts = (causes.held_in(read, visits), against)
    said = ", ".join(part for part in parts if part)
    return phrases.clipped(said, 90)[0]


def _fitting(name: str) -> str:
    """A name cut so that it ends before the rule begins."""
    most = next(n for n in range(len(name), 0, -1) if svg.text_width(name[:n], 8.8) < NAMES - 16)
    return name if most == len(name) else name[: most - 1].rstrip() + "\u2026"


def _band(
    read: Predicted, how: display.Shown, scale: ruler.Scale, ink: str, top: float, foot: float
) -> str:
    """The reading's interval drawn down over the predictions; to the edge where one-sided."""
    at = scale.at(how.of(read.read))
    x1, x2 = (None if end is None else scale.at(how.of(end)) for end in _interval(read))
    if x1 is None and x2 is None:
        x1, x2 = at - 0.6, at + 0.6
    elif x1 is None:
        x1, x2 = scale.places[0], at
    elif x2 is None:
        x1, x2 = at, scale.places[-1]
    look = {"fill": svg.colour(ink), "fill_opacity": "0.17"}
    return svg.rectangle(x1, top, max((x2 or at) - x1, 1.2), foot - top, **look)


def _interval(read: Predicted) -> tuple[float | None, float | None]:
    return read.read_low, read.read_high


def _read_shape(
    read: Predicted, how: display.Shown, scale: ruler.Scale, ink: str, y: float, filled: bool
) -> str:
    at = scale.at(how.of(read.read))
    if read.read_low is None and read.read_high is None:
        return marks.spindle(at, at, y, ink, filled, 4.8)
    if read.read_low is None:
        return marks.one_sided(at, scale.places[0], y, ink, 4.8)
    if read.read_high is None:
        return marks.one_sided(at, scale.places[-1], y, ink, 4.8)
    return _spindle((read.read_low, read.read_high), how, scale, ink, y, filled, 4.8)


def _spindle(
    ends: tuple[float, float],
    how: display.Shown,
    scale: ruler.Scale,
    ink: str,
    y: float,
    filled: bool,
    half: float,
) -> str:
    low, high = (scale.at(how.of(end)) for end in ends)
    return marks.spindle(low, high, y, ink, filled, half)


def _words(
    rows: list[Compared], weights: Sequence[CauseWeight], preferences: Preferences, visits: bool
) -> str:
    said = []
    for row in rows:
        read = causes.figures(row.read, preferences)[0]
        foretold = [
            f"{causes.name(w.cause)} {causes.figures(p, preferences)[1]}"
            for w, p in zip(weights, row.predictions, strict=True)
            if p is not None
        ]
        label = causes.reading_name(row.read, visits)
        said.append(f"{label}: {words.READ} {read}; {words.PREDICTED}: {', '.join(foretold)}")
    return ". ".join(said)
