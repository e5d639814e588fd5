"""The readings beside the lanes: a block for each condition, and what stands on the lanes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gaugewright.evidence.results import Findings, Match, Reading
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.report import display
from gaugewright.report.blocks import Number
from gaugewright.report.preferences import Preferences
from gaugewright.web.recording_case import DRAFT
from gaugewright.web.recording_lanes import INKS
from gaugewright.web.recording_marked import DRAFT_KEY, Marked
from gaugewright.web.wording import Words

REFERENCES = (("oil-pressure", "atmosphere"), ("oil-pressure", "crankcase"))


@dataclass(frozen=True)
class Row:
    """One reading of a block; `match` says what it was matched with, `with_key` which stretch,
    `within` whether both visited the speed.
    """

    key: str
    quantity: str
    name: str
    against: str
    ink: str
    figure: Number
    match: str
    with_key: str
    within: bool


@dataclass(frozen=True)
class Block:
    """The readings of one condition."""

    key: str
    name: str
    line: str
    left_out: str
    rows: tuple[Row, ...]
    usual: str


@dataclass(frozen=True)
class Teller:
    """What the words of a panel are made from."""

    findings: Findings
    visit: str
    stretches: tuple[Marked, ...]
    preferences: Preferences
    words: Words

    def readings(self, condition: str) -> list[Reading]:
        """The readings of a condition of this visit."""
        return [
            r for r in self.findings.readings if (r.visit, r.condition) == (self.visit, condition)
        ]

    def key_of(self, condition: str) -> str:
        """The page's key of a condition: its first stretch's."""
        if condition == DRAFT:
            return DRAFT_KEY
        return next((s.key for s in self.stretches if s.name == condition), "")

    def figure(self, reading: Reading, unit: bool = True) -> Number:
        """A reading as a figure, one-sided ones with their word before them."""
        how = display.shown(
            reading.quantity, reading.unit, self.preferences, reference=reading.reference
        )
        before = f"{self.words.of('recording.bound', reading.bound)} " if reading.bound else ""
        return display.number(reading.value, half_of(reading), how, before, unit)


def half_of(reading: Reading) -> float | None:
    """Half its 95 % interval, None where it has only one end."""
    if reading.low is not None and reading.high is not None:
        return 0.5 * (reading.high - reading.low)
    return None


def best(readings: Iterable[Reading]) -> dict[tuple[str, str | None], Reading]:
    """One reading for each quantity and reference: the one that is known best."""
    found: dict[tuple[str, str | None], Reading] = {}
    for reading in readings:
        place = (reading.quantity, reading.reference)
        known = found.get(place)
        if known is None or doubt(reading) < doubt(known):
            found[place] = reading
    return found


def doubt(reading: Reading) -> float:
    """Its standard uncertainty; without one it is the most doubtful of all."""
    return float("inf") if reading.standard_uncertainty is None else reading.standard_uncertainty


def _worth_showing(found: dict[tuple[str, str | None], Reading]) -> list[Reading]:
    """Readings of a block in their order: no speed (it stands above), no reference twice."""
    kept = [
        reading
        for (quantity, reference), reading in found.items()
        if quantity != "engine-speed"
        and not (
            reference == "vacuum"
            and (quantity, "atmosphere") in found
            and quantity != "manifold-pressure"
        )
        and not (
            quantity == "manifold-pressure"
            and reference == "atmosphere"
            and (quantity, "vacuum") in found
        )
        and not (reference == "crankcase" and quantity != "oil-pressure")
    ]
    order = list(QUANTITIES)
    return sorted(kept, key=lambda r: (order.index(r.quantity), str(r.reference)))


def block(teller: Teller, condition: str, left_out_s: float) -> Block:
    """The readings of one condition."""
    found = best(teller.readings(condition))
    readings = _worth_showing(found)
    rows = tuple(_row(teller, reading, teller.figure(reading)) for reading in readings)
    words = teller.words
    left_out = words("recording.left-out", time=display.digits(left_out_s, 1)) if left_out_s else ""
    usual = next((row.match for row in rows if row.within), "")
    name = words("recording.new-condition") if condition == DRAFT else condition
    return Block(teller.key_of(condition), name, _line(teller, found), left_out, rows, usual)


def _row(teller: Teller, reading: Reading, figure: Number) -> Row:
    words = teller.words
    match = _match_of(teller, reading)
    reference = reading.reference or ""
    shows_reference = reading.quantity in ("oil-pressure", "manifold-pressure") and reference
    return Row(
        key=f"{teller.key_of(reading.condition)} {reading.quantity} {reference}",
        quantity=reading.quantity,
        name=words.of("recording.short", reading.quantity),
        against=words.of(f"recording.against.{reading.quantity}", reference)
        if shows_reference
        else "",
        ink=INKS.get(reading.quantity, "ink"),
        figure=figure,
        match="" if match is None else _matched(teller, match, reading),
        with_key="" if match is None else teller.key_of(match.from_),
        within=match is not None and not match.extrapolated,
    )


def _match_of(teller: Teller, reading: Reading) -> Match | None:
    """The match of a reading with the first condition of its state."""
    return next(
        (
            m
            for m in teller.findings.matches
            if (m.visit, m.to, m.quantity, m.reference)
            == (reading.visit, reading.condition, reading.quantity, reading.reference)
            and m.from_visit is None
        ),
        None,
    )


def _matched(teller: Teller, match: Match, reading: Reading) -> str:
    words = teller.words
    how = display.shown(
        match.quantity, match.unit, teller.preferences, signed=True, reference=match.reference
    )
    figure = display.number(match.difference, 0.5 * (match.high - match.low), how)
    speed = match.at["engine-speed"].value if "engine-speed" in match.at else None
    key = "recording.matched" if speed is not None else "recording.matched-still"
    said = words(
        f"{key}-beyond" if match.extrapolated and speed is not None else key,
        name=match.from_,
        speed="" if speed is None else display.digits(speed, 0),
        what=words.of("recording.short", reading.quantity),
        figure=f"{figure.whole}{figure.fraction} {figure.after}",
    )
    return said


def _line(teller: Teller, found: dict[tuple[str, str | None], Reading]) -> str:
    """What stands under a condition's name: cycles, speed, behaviour."""
    words = teller.words
    oil = found.get(("oil-pressure", "atmosphere")) or next(iter(found.values()), None)
    if oil is None:
        return words("recording.no-reading")
    parts = []
    if oil.cycles:
        parts.append(words.count("recording.cycles", oil.cycles))
    speed = found.get(("engine-speed", None))
    if speed is not None:
        how = display.shown("engine-speed", "rpm", teller.preferences)
        figure = display.number(speed.value, half_of(speed), how)
        after = figure.after.replace(how.unit, words.of("recording.unit", how.unit))
        said = f"{figure.whole}{figure.fraction} {after}"
        parts.append(words("recording.at-speed", speed=said))
    line = " ".join(parts)
    behaviour = (speed or oil).behaviour
    if behaviour and behaviour != "steady":
        line = f"{line}, {words.of('recording.behaviour', behaviour)}"
    elif behaviour:
        line = f"{line}, {words.of('recording.behaviour', 'steady')}" if line else line
    return line


# -- what stands on the lanes -------------------------------------------------------------------
