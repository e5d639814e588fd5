"""Which sentences the owner's page says: pure choices from the findings, in plain words."""

from __future__ import annotations

from gaugewright.evidence.results import Findings, LimitCheck, Reading
from gaugewright.job.model import Job
from gaugewright.report import display, missing, phrases, words
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import FAILS, MEETS, OPEN, Side, Story, Told

DISAGREE = "instruments-disagree"


def headline(story: Story | None, job: Job, findings: Findings) -> str:
    """The page's headline: what is so now, and what was otherwise before."""
    if story is None or not story.told:
        return words.HEAD_NOTHING
    quantity = phrases.the_quantity(story.quantity)
    if story.limit is None:
        judged = bool(job.limits or findings.limit_checks)
        pattern = words.HEAD_UNMEASURED if judged else words.HEAD_NO_LIMIT
    else:
        pattern = _pattern(story, findings)
        if missing.lamp_on(job) and pattern in (
            words.HEAD_NOW_MEETS,
            words.HEAD_BEARINGS_NOW,
            words.HEAD_MEETS,
        ):
            pattern = words.HEAD_LAMP
    return phrases.capital(pattern.format(quantity=quantity))


def _pattern(story: Story, findings: Findings) -> str:
    now = story.told[-1]
    gauge = now.gauge.verdict if now.gauge else None
    bearings = now.bearings.verdict if now.bearings else None
    if gauge == "falls short":
        return words.HEAD_SHORT_GAUGE if bearings == MEETS else words.HEAD_SHORT
    if gauge == "exceeds":
        return words.HEAD_EXCEEDS
    if disagrees(story, findings):
        return words.HEAD_DISAGREE
    if gauge != MEETS:
        return words.HEAD_OPEN if gauge == OPEN else words.HEAD_UNMEASURED
    if bearings in FAILS:
        short = bearings == "falls short"
        return words.HEAD_BEARINGS_SHORT if short else words.HEAD_BEARINGS_EXCEED
    if bearings == OPEN:
        return words.HEAD_BEARINGS_OPEN
    return _since(story, bearings)


def _since(story: Story, bearings: str | None) -> str:
    earlier = story.told[:-1]
    if bearings == MEETS and any(_verdict(t.bearings) == "falls short" for t in earlier):
        return words.HEAD_BEARINGS_NOW
    if any(_verdict(t.gauge) in FAILS for t in earlier):
        return words.HEAD_NOW_MEETS
    return words.HEAD_MEETS


def _verdict(side: Side | None) -> str | None:
    return side.verdict if side else None


def disagrees(story: Story, findings: Findings) -> bool:
    """Whether two instruments disagree about what the story tells, in its last state."""
    now = story.told[-1]
    items: tuple[LimitCheck | Reading, ...] = (*findings.limit_checks, *findings.readings)
    flagged = [
        item.flags
        for item in items
        if item.quantity == story.quantity
        and item.visit == now.state.visit
        and item.condition == now.condition
    ]
    return any(DISAGREE in flags for flags in flagged) or _verdict(now.gauge) == DISAGREE


def say(story: Story | None, job: Job, findings: Findings, preferences: Preferences) -> str:
    """A few sentences below the headline: what was seen first, between, and now."""
    if story is None or not story.told:
        return words.SAY_NOTHING
    told = story.told if len(story.told) <= 3 else (story.told[0], story.told[-1])
    said = [_first(told[0], story, job, preferences)]
    said += [_later(t, story, job, preferences) for t in told[1:]]
    now = story.told[-1]
    gauge, bearings = _verdict(now.gauge), _verdict(now.bearings)
    if gauge in FAILS and bearings == MEETS:
        said.append(words.SAY_GAUGE_RULES)
    if story.limit is None and job.limits:
        said.append(words.SAY_UNMEASURED)
    if disagrees(story, findings):
        said.append(words.SAY_DISAGREE)
    elif gauge == OPEN:
        said.append(words.SAY_SETTLE)
    return " ".join(said)


def _plain(side: Side, story: Story, preferences: Preferences) -> str:
    how = display.shown(story.quantity, side.unit, preferences)
    walls = phrases.limit_values(story.limit) if story.limit else {}
    nearest = min(walls.values(), key=lambda w: abs(w - side.value), default=float("nan"))
    figure = display.plain(side.value, how, side.expanded, nearest)
    return f"{words.BOUND[side.bound]} {figure}" if side.bound else figure


def _when(told: Told, story: Story, job: Job) -> str:
    first = told is story.told[0]
    visit = phrases.visit_named(job, told.state.visit)
    if told.state.since:
        did = phrases.listed(words.DID.get(d, d) for d in told.state.since)
        return words.WHEN_STATE.format(did=did)
    if len(story.told) == 1:
        return ""
    if first:
        return words.WHEN_FIRST
    if visit and visit.work:
        return words.WHEN_AFTER_WORK.format(work=phrases.clipped(visit.work, 70)[0])
    on = phrases.date(visit.date) if visit else ""
    return (
        words.WHEN_ON.format(date=on)
        if on
        else words.WHEN_AT.format(visit=phrases.clipped(told.state.visit, 60)[0])
    )


def _first(told: Told, story: Story, job: Job, preferences: Preferences) -> str:
    side = told.gauge or told.bearings
    if side is None:
        return ""
    asked = _at_speed(told)
    if story.limit:
        values = phrases.nearest_end(phrases.limit_values(story.limit), side.value)
        limit = phrases.limit_value(values, story.quantity, side.unit, preferences)
        asked = words.SAY_ASKED.format(limit=limit)
    oil = story.quantity == "oil-pressure" and told.gauge is not None
    pattern = words.SAY_FIRST if oil else words.SAY_ONLY_VALUE
    said = pattern.format(
        when=_when(told, story, job),
        quantity=phrases.the_quantity(story.quantity),
        gauge=_plain(side, story, preferences),
        asked=asked,
    )
    said = phrases.capital(said)
    return f"{said} {_bearings(told, story, preferences)}".strip() if oil else said


def _at_speed(told: Told) -> str:
    speed = dict(told.at).get("engine-speed")
    if speed is None:
        return ""
    return words.SAY_AT_SPEED.format(speed=display.rpm(speed))


def _bearings(told: Told, story: Story, preferences: Preferences) -> str:
    if told.bearings is None or told.gauge is None:
        return ""
    got = _plain(told.bearings, story, preferences)
    effect = told.gauge.value - told.bearings.value
    noise = (told.crankcase and told.crankcase.standard_uncertainty) or 0.0
    if told.gauge.bound or told.bearings.bound or abs(effect) < max(2 * noise, 0.5):
        return words.SAY_BEARINGS.format(bearings=got)
    how = display.shown(story.quantity, told.gauge.unit, preferences)
    size = display.plain(abs(effect), how, max(2 * noise, 0.1))
    pattern = words.SAY_LIFTED if effect > 0 else words.SAY_PULLED
    return pattern.format(effect=size, bearings=got)


def _later(told: Told, story: Story, job: Job, preferences: Preferences) -> str:
    when = _when(told, story, job)
    side = told.gauge or told.bearings
    if side is None:
        return ""
    gauge = _plain(side, story, preferences)
    if story.quantity != "oil-pressure":
        return phrases.capital(words.SAY_BETWEEN_VALUE.format(when=when, gauge=gauge))
    if told.bearings is None or told.gauge is None:
        return phrases.capital(words.SAY_BETWEEN_GAUGE.format(when=when, gauge=gauge))
    got = _plain(told.bearings, story, preferences)
    return phrases.capital(words.SAY_BETWEEN.format(when=when, gauge=gauge, bearings=got))


def how_sure(story: Story | None) -> str:
    """How sure the verdicts of the last state are, in words."""
    if story is None or story.limit is None or not story.told:
        return ""
    now = story.told[-1]
    sides = [side for side in (now.gauge, now.bearings) if side]
    said = [_sure(side, story.quantity == "oil-pressure") for side in sides]
    if _verdict(now.gauge) != MEETS and _verdict(now.bearings) == MEETS and said[-1]:
        said[-1] += words.SURE_EXPLAINS
    return phrases.sentence("; ".join(part for part in said if part))


def _sure(side: Side, oil: bool) -> str:
    seen_by = side.seen_by if oil else "value"
    what = words.SURE_WHAT.get((seen_by, side.verdict or ""))
    if what and side.sure:
        return words.SURE_SAYS.format(sure=words.SURE[side.sure], what=what)
    if side.verdict == OPEN:
        return words.SURE_OPEN[seen_by]
    return words.SURE_NONE
