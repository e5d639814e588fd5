"""A sensor's card in words and figures of this workshop."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.report import display
from gaugewright.report import words as report_words
from gaugewright.report.carried import carried
from gaugewright.report.display import Shown
from gaugewright.report.preferences import Preferences
from gaugewright.web.recording_lanes import INKS
from gaugewright.web.sensors_card import TELLING_PA, Card, Use
from gaugewright.web.values import in_own_unit
from gaugewright.web.wording import Words

PASCAL = 1000.0
"""Pascal in one unit of the findings."""
FEW_POINTS = 2
WIDE_GAP = 0.6
"""Points further apart than this share of their span leave the line between unproved (J)."""
HAIR = 0.005
"""A pressure beyond the points by less than this share of their span is not beyond them (J)."""


@dataclass(frozen=True)
class PointRow:
    """One point as the table shows it; `old` is what the document holds for it."""

    number: int
    value: str
    output: str
    off: str
    old: tuple[str, str]


@dataclass(frozen=True)
class UseRow:
    """One pressure that matters: what it is, and the ± there."""

    name: str
    value: str
    spread: str


@dataclass(frozen=True)
class ToldCard:
    """What the card's template fills in."""

    name: str
    ink: str
    quantity: str
    facts: str
    unit: str
    output_unit: str
    points: tuple[PointRow, ...]
    uses: tuple[UseRow, ...]
    difference: UseRow | None
    cancels: bool
    say: str
    slope: str
    zeros: tuple[str, ...]
    minds: tuple[tuple[str, str], ...]
    why: str


@dataclass(frozen=True)
class _Voice:
    card: Card
    how: Shown
    words: Words

    def figure(self, value: float, half: float | None = None) -> str:
        """A pressure with its unit, as one says it."""
        return display.plain(value / PASCAL, self.how, None if half is None else half / PASCAL)

    def number(self, value: float, spread: float) -> str:
        """A pressure without its unit, as fine as `spread` asks for."""
        places = display.decimals(spread / PASCAL / self.how.per_unit, 4)
        return display.digits(self.how.of(value / PASCAL), places, self.how.signed)

    def spread(self, half: float) -> str:
        """A ± with its unit."""
        wide = half / PASCAL / self.how.per_unit
        places = display.decimals(wide, self.how.most_decimals + 1)
        return f"\u00b1 {display.digits(wide, places)}"


def shown_as(card: Card, preferences: Preferences) -> Shown:
    """The unit that the card's pressures are shown in."""
    reference = card.calibration.reference if card.calibration else card.sensor.reference
    quantity = card.quantity or "oil-pressure"
    return display.shown(
        quantity, QUANTITIES[quantity].findings_unit, preferences, reference=reference
    )


def told_card(card: Card, preferences: Preferences, words: Words) -> ToldCard:
    """The card's words and figures."""
    how = shown_as(card, preferences)
    voice = _Voice(card, how, words)
    quantity = words.of("recording.short", card.quantity) if card.quantity else ""
    return ToldCard(
        name=card.sensor.name,
        ink=INKS.get(card.quantity or "", "ink"),
        quantity=quantity,
        facts=_facts(card, preferences, words),
        unit=how.unit,
        output_unit=card.unit,
        points=_points(voice),
        uses=tuple(_use(voice, u.kind, u.name, u.value, u.half) for u in card.uses),
        difference=_difference(voice),
        cancels=_cancels(card),
        say=_say(voice) if card.calibration else "",
        slope=_slope(voice) if card.calibration else "",
        zeros=tuple(
            _zero(voice, z.visit, z.condition, z.indicated, bool(z.notes)) for z in card.zeros
        ),
        minds=tuple(_minds(voice)) if card.calibration else (),
        why=words("sensors.no-line", why=card.why) if card.why else "",
    )


def _facts(card: Card, preferences: Preferences, words: Words) -> str:
    sensor = card.sensor
    parts = [words.of("sensors.against", sensor.reference)]
    if sensor.supply is not None:
        parts.append(words("sensors.supply", supply=sensor.supply.text))
    if sensor.range is not None:
        quantity = card.quantity or "oil-pressure"
        ends = (in_own_unit(end.text, quantity, preferences) for end in sensor.range)
        parts.append(words("sensors.range", low=next(ends), high=next(ends)))
    return ", ".join(parts)


def _points(voice: _Voice) -> tuple[PointRow, ...]:
    card = voice.card
    order = np.argsort(card.values)
    spread = float(np.max(np.abs(card.off))) if len(card.off) else 0.0
    fine = max(spread, 1e-4 * float(np.ptp(card.values)) if len(card.values) else 0.0, 1e-3)
    signed = Shown(voice.how.unit, voice.how.per_unit, 4, True)
    places = display.decimals(fine / PASCAL / signed.per_unit, 4)
    rows = []
    for k in order:
        point = card.sensor.points[int(k)]
        off = display.digits(signed.of(float(card.off[k]) / PASCAL), places, True)
        rows.append(
            PointRow(
                number=int(k),
                value=voice.number(float(card.values[k]), 100 * fine),
                output=_output(point[0].text),
                off=off if card.calibration else "",
                old=(point[0].text, point[1].text),
            )
        )
    return tuple(rows)


def _output(text: str) -> str:
    """A sensor's output as typed, without its unit, as the language writes it."""
    number = text.rpartition(" ")[0]
    return number.replace("-", display.MINUS).replace(".", report_words.DECIMAL)


def _use(voice: _Voice, kind: str, name: str, value: float, half: float) -> UseRow:
    said = voice.words(f"sensors.at-{kind}", value=voice.figure(value, half), name=name)
    return UseRow(said, voice.figure(value), voice.spread(half))


def _difference(voice: _Voice) -> UseRow | None:
    if voice.card.difference is None:
        return None
    low, high, half = voice.card.difference
    said = voice.words("sensors.from-to", low=low, high=high)
    return UseRow(said, "", voice.spread(half))


def _cancels(card: Card) -> bool:
    """Is the difference surer than either of its ends?"""
    if card.difference is None:
        return False
    low, high, half = card.difference
    ends = [use.half for use in card.uses if use.kind == "condition" and use.name in (low, high)]
    return bool(ends) and half < min(ends)


def _slope(voice: _Voice) -> str:
    calibration = voice.card.calibration
    assert calibration is not None
    slope = calibration.slope / PASCAL / voice.how.per_unit
    decimals = max(0, 3 - int(np.floor(np.log10(abs(slope)))) - 1)
    said = display.digits(slope, decimals)
    return voice.words("sensors.slope", slope=said, unit=voice.how.unit, output=voice.card.unit)


def _say(voice: _Voice) -> str:
    """Whether the sensor suits what it is used for, in a sentence."""
    card, words = voice.card, voice.words
    low, high = card.span
    reach = {"low": voice.figure(low), "high": voice.figure(high)}
    if not card.uses:
        return words("sensors.reaches", **reach)
    outside = [use for use in card.uses if _beyond(use, card.span)]
    return words("sensors.suits" if not outside else "sensors.falls-outside", **reach)


def _beyond(use: Use, span: tuple[float, float]) -> bool:
    """Whether a pressure lies outside the points by more than its own ± and a hair."""
    slack = max(use.half, HAIR * (span[1] - span[0]))
    return not span[0] - slack <= use.value <= span[1] + slack


def _zero(voice: _Voice, visit: str, condition: str, indicated: float, refused: bool) -> str:
    key = "sensors.zero-refused" if refused else "sensors.zero"
    said = voice.number(indicated, max(abs(indicated) * 0.1, 10.0))
    figure = f"{said}{display.NO_BREAK}{voice.how.unit}"
    return voice.words(key, visit=visit, condition=condition, figure=figure)


def _minds(voice: _Voice) -> list[tuple[str, str]]:
    """What has to be minded: the strong words, and the rest of the sentence."""
    return [
        (
            voice.words(f"sensors.mind.{key}.strong", **fill),
            voice.words(f"sensors.mind.{key}", **fill),
        )
        if voice.words.has(f"sensors.mind.{key}.strong")
        else ("", voice.words(f"sensors.mind.{key}", **fill))
        for key, fill in _doubts(voice)
    ]


def _doubts(voice: _Voice) -> list[tuple[str, dict[str, str]]]:
    card = voice.card
    calibration = card.calibration
    assert calibration is not None
    low, high = card.span
    found: list[tuple[str, dict[str, str]]] = []
    for use in card.uses:
        ends = calibration.ends
        if calibration.range_low is not None and not ends[0] <= use.value <= ends[1]:
            found.append(("beyond-range", {"name": use.name, "value": voice.figure(use.value)}))
        elif _beyond(use, card.span):
            found.append(("beyond-points", {"name": use.name, "value": voice.figure(use.value)}))
    found += _coarse(voice)
    if len(card.values) == FEW_POINTS:
        found.append(("two-points", {}))
    gaps = [b - a for a, b in pairwise(sorted(card.values))]
    if len(gaps) > 1 and max(gaps) > WIDE_GAP * (high - low):
        found.append(("wide-gap", {}))
    found += [("note", {"text": _capital(carried(note.text))}) for note in calibration.notes]
    return found


def _coarse(voice: _Voice) -> list[tuple[str, dict[str, str]]]:
    """Too wide a range, or too coarse a recorder, for what the quantity is read for."""
    card = voice.card
    telling = TELLING_PA.get(card.quantity or "")
    if telling is None:
        return []
    fill = {"telling": voice.figure(telling)}
    found = []
    wide = [use for use in card.uses if use.half > telling]
    if wide:
        worst = max(wide, key=lambda use: use.half)
        found.append(("unsure", {**fill, "name": worst.name, "spread": voice.spread(worst.half)}))
    if card.step > 0.5 * telling:
        found.append(("coarse", {**fill, "step": voice.figure(card.step)}))
    return found


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
