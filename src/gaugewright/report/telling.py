"""Which sentences the owner's page says: pure choices from the findings, in plain words."""

from __future__ import annotations

from gaugewright.evidence.results import Findings, LimitCheck, Reading
from gaugewright.job.model import Job, Observation
from gaugewright.report import display, phrases, words
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import FAILS, Side, Story, Told

DISAGREE = "instruments-disagree"


def headline(story: Story | None, job: Job, findings: Findings) -> str:
    """The page's headline: what is so now, and what was otherwise before."""
    if story is None or not story.told:
        return words.HEAD_NOTHING
    quantity = phrases.quantity(story.quantity)
    if story.limit is None:
        judged = bool(job.limits or findings.limit_checks)
        pattern = words.HEAD_UNMEASURED if judged else words.HEAD_NO_LIMIT
    else:
        pattern = _pattern(story, findings)
        if lamp_on(job) and pattern in words.HEADS_GOOD:
            pattern = words.HEAD_LAMP
    return pattern.format(quantity=quantity)


def _pattern(story: Story, findings: Findings) -> str:
    now = story.told[-1]
    gauge = now.gauge.verdict if now.gauge else None
    bearings = now.bearings.verdict if now.bearings else None
    if gauge == "falls short":
        return words.HEAD_SHORT_GAUGE if bearings == words.MEETS else words.HEAD_SHORT
    if gauge == "exceeds":
        return words.HEAD_EXCEEDS
    if disagrees(story, findings):
        return words.HEAD_DISAGREE
    if gauge != words.MEETS:
        return words.HEAD_OPEN if gauge == words.OPEN else words.HEAD_UNMEASURED
    if bearings in FAILS:
        short = bearings == "falls short"
        return words.HEAD_BEARINGS_SHORT if short else words.HEAD_BEARINGS_EXCEED
    if bearings == words.OPEN:
        return words.HEAD_BEARINGS_OPEN
    return _since(story, bearings)


def _since(story: Story, bearings: str | None) -> str:
    earlier = story.told[:-1]
    if bearings == words.MEETS and any(_verdict(t.bearings) == "falls short" for t in earlier):
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
    if gauge in FAILS and bearings == words.MEETS:
        said.append(words.SAY_GAUGE_RULES)
    if story.limit is None and job.limits:
        said.append(words.SAY_UNMEASURED)
    if disagrees(story, findings):
        said.append(words.SAY_DISAGREE)
    elif gauge == words.OPEN:
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
        quantity=phrases.quantity(story.quantity),
        gauge=_plain(side, story, preferences),
        asked=asked,
    )
    said = phrases.capital(said)
    return f"{said} {_bearings(told, story, preferences)}".strip() if oil else said


def _at_speed(told: Told) -> str:
    speed = dict(told.at).get("engine-speed")
    if speed is None:
        return ""
    return words.SAY_AT_SPEED.format(speed=f"{display.digits(speed, 0)}{display.NO_BREAK}rpm")


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
    if _verdict(now.gauge) != words.MEETS and _verdict(now.bearings) == words.MEETS and said[-1]:
        said[-1] += words.SURE_EXPLAINS
    return phrases.sentence("; ".join(part for part in said if part))


def _sure(side: Side, oil: bool) -> str:
    seen_by = side.seen_by if oil else "value"
    what = words.SURE_WHAT.get((seen_by, side.verdict or ""))
    if what and side.sure:
        return words.SURE_SAYS.format(sure=words.SURE[side.sure], what=what)
    if side.verdict == words.OPEN:
        return words.SURE_OPEN[seen_by]
    return words.SURE_NONE


LAMP_QUIET = ("never on", "dark with the ignition on", "on for seconds after the start")

WORTH_SAYING = (
    "oil-pressure",
    "crankcase-pressure",
    "manifold-pressure",
    "cylinder-pressure",
    "fuel-pressure",
    "exhaust-pressure",
    "coolant-pressure",
)


def not_tested(job: Job, findings: Findings, story: Story | None) -> list[str]:
    """What was not measured, not judged and not weighed, derived from what is missing."""
    read = {reading.quantity for reading in findings.readings}
    said = []
    missing = [phrases.quantity(name) for name in WORTH_SAYING if name not in read]
    if missing:
        said.append(words.NOT_MEASURED.format(quantities=phrases.listed(missing)))
    if "oil-pressure" in read and not any(r.reference == "crankcase" for r in findings.readings):
        said.append(words.NOT_THE_BEARINGS)
    if read and "oil-temperature" not in read and not _warm(findings):
        said.append(words.NOT_THE_TEMPERATURE)
    if read and not any(reading.speed for reading in findings.readings):
        said.append(words.NOT_THE_SPEED)
    if read and not job.recordings:
        said.append(words.NOT_HAND)
    if lamp_unknown(job):
        said.append(words.NOT_THE_LAMP)
    said += _limits_not_judged(job, findings, story)
    if not findings.causes and not findings.hypotheses:
        said.append(words.NOT_CAUSES)
    return said


def _warm(findings: Findings) -> bool:
    return any(reading.oil_temperature for reading in findings.readings)


def _limits_not_judged(job: Job, findings: Findings, story: Story | None) -> list[str]:
    if not job.limits:
        return [words.NOT_WITHOUT_LIMITS]
    last = story.told[-1].state.visit if story and story.told else None
    checks = [c for c in findings.limit_checks if c.value is not None]
    ever = {c.limit for c in checks}
    lately = {c.limit for c in checks if c.visit in (last, None)}
    never = [limit.name for limit in job.limits if limit.name not in ever]
    before = [name for name in (limit.name for limit in job.limits) if name in ever - lately]
    said = [words.NOT_THE_LIMIT.format(limits=phrases.listed(never))] if never else []
    return said + ([words.NOT_AGAIN.format(limits=phrases.listed(before))] if before else [])


def causes(findings: Findings) -> str:
    """What is said of causes: nothing while none were weighed."""
    ranked = sorted(findings.hypotheses, key=lambda h: -float(h.get("probability", 0.0)))
    if not ranked:
        return ""
    first = float(ranked[0].get("probability", 0.0))
    names = [_cause_names(h) for h in ranked[: 1 if first >= 0.8 else 2]]
    if first >= 0.8:
        return words.MOST_LIKELY.format(cause=names[0])
    return words.CAUSES_OPEN.format(causes=phrases.listed(names))


def _cause_names(hypothesis: dict[str, object]) -> str:
    named = hypothesis.get("causes")
    parts = named if isinstance(named, (list, tuple)) else []
    return " with ".join(words.CAUSE.get(str(name), str(name)) for name in parts)


def lamp_on(job: Job) -> bool:
    """Whether the lamp was seen on at the last visit."""
    return any(o.saw not in LAMP_QUIET for o in _lamps(job) if o.visit in (_last(job), None))


def lamp_unknown(job: Job) -> bool:
    """Whether the lamp was on once and nothing was noted of it at the last visit."""
    seen = _lamps(job)
    lately = [o for o in seen if o.visit in (_last(job), None)]
    return not lately and any(o.saw not in LAMP_QUIET for o in seen)


def _lamps(job: Job) -> list[Observation]:
    return [o for o in job.observations if o.what == "lamp"]


def _last(job: Job) -> str | None:
    return job.visits[-1].name if job.visits else None


def failing(story: Story | None) -> str | None:
    """Who sees a failed limit now: "gauge", "bearings", "value", or None."""
    if story is None or not story.told:
        return None
    now = story.told[-1]
    if _verdict(now.gauge) in FAILS:
        return "gauge" if story.quantity == "oil-pressure" else "value"
    return "bearings" if _verdict(now.bearings) in FAILS else None


def undecided(story: Story | None) -> bool:
    """Whether something is too close to call in the last state."""
    if story is None or not story.told or story.limit is None:
        return False
    now = story.told[-1]
    return words.OPEN in (_verdict(now.gauge), _verdict(now.bearings))


def advice(story: Story | None) -> str:
    """What is advised where the technician noted nothing."""
    if failing(story):
        return words.ADVISE_REPAIR
    return words.ADVISE_TEST if undecided(story) else words.NOTHING_ADVISED
