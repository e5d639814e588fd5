"""What the bench says, in words and figures of this workshop."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from gaugewright.report import display, marks
from gaugewright.report.blocks import Number
from gaugewright.report.display import Shown
from gaugewright.report.preferences import Preferences
from gaugewright.web.bench_case import (
    Ask,
    Bench,
    Would,
    course_of,
    held_of,
    matched,
    reach_of,
    verdict,
    would_be,
)
from gaugewright.web.bench_drawing import Scene, bench_picture
from gaugewright.web.drawing import strict
from gaugewright.web.wording import Words

PASCAL = 1000.0
PLATES = {"meets": "meets", "falls short": "fails", "exceeds": "fails"}


@dataclass(frozen=True)
class Side:
    """What the gauge or the bearings would have, and how that stands against the limit."""

    who: str
    figure: Number
    verdict: str
    plate: str
    word: str
    sign: Markup


@dataclass(frozen=True)
class ToldBench:
    """What the bench's template fills in."""

    picture: Markup
    state: str
    sides: tuple[Side, ...]
    limit: str
    match: str
    match_figure: Number | None
    notes: tuple[str, ...]
    said: str


def told_bench(on: Bench, ask: Ask, preferences: Preferences, words: Words) -> ToldBench:
    """The asked state in words, with its picture."""
    how = display.shown("oil-pressure", "kPa", preferences)
    gauge = would_be(on, ask.situation, "atmosphere", ask.speed_rpm, ask.degc)
    bearings = would_be(on, ask.situation, "crankcase", ask.speed_rpm, ask.degc)
    sides = tuple(
        _side(who, would, ask, how, words)
        for who, would in (("gauge", gauge), ("bearings", bearings))
        if would is not None
    )
    difference = matched(on, ask)
    state = words(
        "bench.state",
        name=ask.situation.condition,
        speed=display.digits(ask.speed_rpm, 0),
        warmth=display.digits(ask.degc, 0),
    )
    return ToldBench(
        picture=_picture(on, ask, gauge, bearings, how, words),
        state=state,
        sides=sides,
        limit=_limit(ask, how, words),
        match=words("bench.match", other=ask.other.condition, name=ask.situation.condition)
        if ask.other is not None and difference is not None
        else "",
        match_figure=None if difference is None else _figure(difference, how, True),
        notes=tuple(_notes(ask, gauge, difference, words)),
        said=_said(state, sides),
    )


def _figure(would: Would, how: Shown, signed: bool = False) -> Number:
    shown = Shown(how.unit, how.per_unit, how.most_decimals, signed)
    return display.number(would.value / PASCAL, would.half / PASCAL, shown)


def _side(who: str, would: Would, ask: Ask, how: Shown, words: Words) -> Side:
    """One side; the bearings stand against the limit less the crankcase of a sound engine."""
    figure = _figure(would, how)
    if ask.limit is None:
        return Side(words(f"bench.{who}"), figure, "", "", "", Markup(""))
    from dataclasses import replace

    lowered = ask.limit.lowered(ask.limit.crankcase_pa or 0.0)
    limit = ask.limit if who == "gauge" else replace(ask.limit, least=lowered[0], most=lowered[1])
    found, _ = verdict(would, limit)
    plate = PLATES.get(found, "open")
    drawn = marks.sign(found, "paper", "ink") if plate == "fails" else marks.sign(found)
    word = words(f"bench.would.{found}")
    return Side(words(f"bench.{who}"), figure, found, plate, word, strict(drawn))


def _limit(ask: Ask, how: Shown, words: Words) -> str:
    limit = ask.limit
    if limit is None:
        return words("bench.no-limit")
    ends = [
        words(f"bench.{key}", value=display.stated(end / PASCAL, how))
        for key, end in (("least", limit.least), ("most", limit.most))
        if end is not None
    ]
    state = [
        words("bench.at-speed", speed=display.digits(limit.speed_rpm, 0))
        if limit.speed_rpm is not None
        else "",
        words("bench.at-warmth", warmth=display.digits(limit.oil_degc, 0))
        if limit.oil_degc is not None
        else "",
    ]
    said = {"name": limit.name, "ends": ", ".join(ends), "state": ", ".join(filter(None, state))}
    return words("bench.limit" if said["state"] else "bench.limit-any", **said)


def _ends(ask: Ask, how: Shown) -> str:
    """The limit's lower end, else its upper one, without the unit."""
    if ask.limit is None:
        return ""
    end = ask.limit.least if ask.limit.least is not None else ask.limit.most
    return display.stated((end or 0.0) / PASCAL, how).partition(display.NO_BREAK)[0]


def _notes(ask: Ask, gauge: Would | None, difference: Would | None, words: Words) -> list[str]:
    notes = []
    if gauge is not None and gauge.beyond:
        notes.append(words("bench.beyond", name=ask.situation.condition))
    elif difference is not None and difference.beyond and ask.other is not None:
        notes.append(words("bench.beyond", name=ask.other.condition))
    if not ask.situation.warmth.known:
        notes.append(words("bench.no-warmth"))
    if ask.limit is not None and _elsewhere(ask):
        notes.append(words("bench.elsewhere"))
    return notes


def _elsewhere(ask: Ask) -> bool:
    """Is the asked state another than the limit's own?"""
    limit = ask.limit
    assert limit is not None
    speed = limit.speed_rpm is not None and abs(ask.speed_rpm - limit.speed_rpm) > 1.0
    return speed or (limit.oil_degc is not None and abs(ask.degc - limit.oil_degc) > 0.5)


def _said(state: str, sides: tuple[Side, ...]) -> str:
    parts = [
        f"{s.who} {s.figure.whole}{s.figure.fraction} {s.figure.after} {s.word}" for s in sides
    ]
    return f"{state}: {', '.join(parts)}"


def _picture(
    on: Bench, ask: Ask, gauge: Would | None, bearings: Would | None, how: Shown, words: Words
) -> Markup:
    course = course_of(on, ask, "atmosphere")
    if course is None or gauge is None:
        return Markup("")
    scene = Scene(
        gauge=course,
        bearings=course_of(on, ask, "crankcase"),
        at_gauge=gauge,
        at_bearings=bearings,
        speed_rpm=ask.speed_rpm,
        limit=ask.limit,
        readings=tuple(_readings(on, ask)),
        limit_words=words("recording.limit", value=_ends(ask, how)),
    )
    return bench_picture(
        scene, how, words("bench.axis-up", unit=how.unit), words("bench.axis-along"),
        words("bench.picture"),
    )  # fmt: skip


def _readings(on: Bench, ask: Ask) -> list[tuple[str, float, float, float]]:
    found = []
    low, high = reach_of(ask.situation, ask.limit)
    for situation in on.situations:
        held = held_of(on.case, situation, "atmosphere")
        speed = None if held is None else held.level.speed_rpm
        if held is not None and speed is not None and low <= speed <= high:
            found.append((situation.condition, speed, held.level.value, 0.0))
    return found
