"""The handover sheet: one page for the owner, tightened in steps until it is one page."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from gaugewright.analysis.outcome import Outcome
from gaugewright.evidence.results import LimitCheck
from gaugewright.job.model import Job, Work
from gaugewright.report import blocks, display, limit_chart, phrases, telling, words
from gaugewright.report.blocks import Block, Line, Run, soft, strong
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import Story, state_holding, states_of, story_of, sureness

WIDTH = {"a4": 473.0, "letter": 490.0}


@dataclass(frozen=True)
class Tightness:
    """How much room the page takes: type scale, most signs, most points, most states."""

    scale: float
    complaint: int | None = None
    point: int | None = None
    points: int | None = None
    states: int = 9
    measures: limit_chart.Measures = limit_chart.ROOMY


LEVELS = (
    Tightness(1.12, measures=limit_chart.WIDE),
    Tightness(1.05, measures=limit_chart.WIDE),
    Tightness(1.0),
    Tightness(0.95),
    Tightness(0.9, measures=limit_chart.TIGHT),
    Tightness(0.86, measures=limit_chart.TIGHT),
    Tightness(0.88, 420, 160, 5, 5, limit_chart.TIGHT),
    Tightness(0.86, 300, 120, 4, 4, limit_chart.TIGHT),
    Tightness(0.84, 260, 110, 4, 3, limit_chart.TIGHT),
    Tightness(0.82, 180, 80, 3, 3, limit_chart.TIGHT),
    Tightness(0.8, 180, 80, 3, 2, limit_chart.TIGHT),
    Tightness(0.78, 120, 60, 2, 2, limit_chart.TIGHT),
)


def handover_page(outcome: Outcome, preferences: Preferences, level: int) -> blocks.Page:
    """The owner's page at one tightness, from roomy (0) to the tightest."""
    room = LEVELS[level]
    job, findings = outcome.job, outcome.findings
    story = story_of(job, findings)
    body: list[Block] = [
        blocks.Heading(telling.headline(story, job, findings), 1),
        blocks.Paragraph((Run(_say(outcome, story, preferences)),), "say"),
        *_complaint(job, room),
        *_measured(story, job, preferences, room),
        *_other_limits(outcome, story, preferences, room),
        blocks.Columns(
            tuple([*_done(job, room), *_advised(job, story, room)]),
            tuple([*_not_tested(outcome, story, room), *_watch(job, story)]),
        ),
    ]
    return blocks.Page(
        "handover",
        f"{words.HANDOVER}: {job.title}",
        ((strong(words.HANDOVER),), (soft(_which(job)),)),
        _printed(preferences),
        tuple([*body, *_consent(job), blocks.Signatures((words.SIGN_WORKSHOP, words.SIGN_OWNER))]),
        words.DETAILS,
        words.MADE_WITH,
        numbered=False,
        scale=room.scale,
    )


def _say(outcome: Outcome, story: Story | None, preferences: Preferences) -> str:
    said = telling.say(story, outcome.job, outcome.findings, preferences)
    cause = telling.causes(outcome.findings)
    return phrases.breakable(f"{said} {cause}".strip())


def _which(job: Job) -> str:
    read = next((v.odometer.text for v in reversed(job.visits) if v.odometer), "")
    parts = [job.title, job.vehicle.name, odometer(read)]
    return phrases.breakable(", ".join(phrases.clipped(p, 90)[0] for p in parts if p))


def odometer(text: str) -> str:
    """An odometer's text with its thousands apart, "148 200 km"."""
    number, _, unit = text.partition(" ")
    if not number.isdigit():
        return text
    return f"{display.digits(float(number), 0)}{display.NO_BREAK}{unit}"


def _printed(preferences: Preferences) -> tuple[Line, ...]:
    lines = [phrases.date(preferences.printed), *preferences.workshop.splitlines()]
    return tuple((soft(phrases.clipped(line, 70)[0]),) for line in lines[:4] if line.strip())


def _complaint(job: Job, room: Tightness) -> list[Block]:
    said, cut = phrases.clipped(job.complaint.text, room.complaint)
    if not said:
        return []
    quoted = f"{words.OPEN_QUOTE}{phrases.breakable(said)}{words.CLOSE_QUOTE}"
    runs: Line = (Run(quoted), *([_continued()] if cut else []))
    return [blocks.Heading(words.TOLD_US), blocks.Paragraph(runs, "quote")]


def _continued() -> Run:
    return Run(f" {words.CONTINUED}", "soft upright small")


def _measured(
    story: Story | None, job: Job, preferences: Preferences, room: Tightness
) -> list[Block]:
    if story is None or not story.told:
        return []
    kept = _kept(story, room.states)
    side = next(s for t in kept.told for s in (t.gauge, t.bearings) if s)
    how = display.shown(story.quantity, side.unit, preferences)
    labels = tuple(_label(job, story, told.state) for told in kept.told)
    width = WIDTH[preferences.paper]
    picture = limit_chart.limit_picture(kept, labels, how, width, room.measures)
    sure = telling.how_sure(story)
    sure_line: list[Block] = (
        [blocks.Paragraph((strong(f"{words.HOW_SURE} "), Run(_uncapital(sure))))] if sure else []
    )
    left = len(story.told) - len(kept.told)
    note = _note(kept, how, left)
    return [_title(story), picture, *sure_line, blocks.Paragraph((Run(note),), "note")]


def _uncapital(text: str) -> str:
    return text[:1].lower() + text[1:]


def _kept(story: Story, most: int) -> Story:
    """The story's first state and its last ones, so that before and after both stay."""
    if len(story.told) <= most:
        return story
    kept = (story.told[0], *story.told[len(story.told) - (most - 1) :])
    return dataclasses.replace(story, told=kept)


def _title(story: Story) -> blocks.Heading:
    quantity = phrases.quantity(story.quantity)
    if story.limit is None:
        return blocks.Heading(words.MEASURED.format(quantity=quantity))
    state = phrases.held_at(story.limit)
    name = phrases.clipped(story.limit.name, 50)[0]
    name = phrases.breakable(name)
    limit = f"{name} ({state})" if state else name
    return blocks.Heading(words.MEASURED_AT.format(quantity=quantity, limit=limit))


def _label(job: Job, story: Story, state: object) -> str:
    told = next(t for t in story.told if t.state == state)
    visit = phrases.visit_named(job, told.state.visit)
    when = phrases.date(visit.date) if visit else ""
    since = phrases.listed(words.DID.get(d, d) for d in told.state.since)
    nameless = not when and len(story.told) == 1 and told.condition
    what = since or (told.condition if nameless else told.state.visit) or ""
    return ", ".join(part for part in (when, what) if part)


def _note(story: Story, how: display.Shown, left: int) -> str:
    both = any(told.bearings for told in story.told) and story.quantity == "oil-pressure"
    sided = any(s and s.bound for t in story.told for s in (t.gauge, t.bearings))
    notes = [words.NOTE_GAUGE] if both else []
    notes += [words.NOTE_BEARINGS] if both and story.limit else []
    notes.append(words.NOTE_SPINDLE)
    notes += [words.NOTE_ONE_SIDED] if sided else []
    values = phrases.limit_values(story.limit) if story.limit else {}
    for name in limit_chart.walls_outside(story):
        other = display.stated(values[name], how)
        pattern = words.OR_MORE if name == "min" else words.OR_LESS
        notes.append(words.NOTE_OTHER_WALL.format(other=pattern.format(low=other, high=other)))
    notes += [words.NOTE_STATES_LEFT.format(count=left)] if left > 1 else []
    notes += [words.NOTE_STATE_LEFT] if left == 1 else []
    notes.append(words.NOTE_KPA.get(how.unit, ""))
    return " ".join(note for note in notes if note)


def _other_limits(
    outcome: Outcome, story: Story | None, preferences: Preferences, room: Tightness
) -> list[Block]:
    told = story.limit.name if story and story.limit else None
    latest = _latest_checks(outcome)
    names = [limit.name for limit in outcome.job.limits if limit.name != told]
    there = [name for name in names if name in latest]
    kept = there if room.points is None else _worst(there, latest)[: room.points]
    rows = [row for name in kept for row in _other_limit(latest[name], preferences)]
    if not rows:
        return []
    columns = (blocks.Column((), 0.68), blocks.Column((), 0.32))
    more: list[Block] = (
        [blocks.Paragraph((Run(words.CONTINUED, "soft small"),))] if len(kept) < len(there) else []
    )
    return [blocks.Heading(words.OTHER_LIMITS), blocks.Table(columns, tuple(rows)), *more]


def _worst(names: list[str], latest: dict[str, list[LimitCheck]]) -> list[str]:
    """The names with those first that fail or are open: they must not be cut."""
    order = {words.SHORT: 0, words.EXCEEDS: 0, words.OPEN: 1}
    return sorted(names, key=lambda n: min(order.get(c.verdict, 2) for c in latest[n]))


def _latest_checks(outcome: Outcome) -> dict[str, list[LimitCheck]]:
    """For each limit the checks of the last state in which it was measured, gauge first."""
    states = list(states_of(outcome.job))
    found: dict[str, tuple[int, list[LimitCheck]]] = {}
    for check in outcome.findings.limit_checks:
        state = state_holding(states, check.visit, check.condition)
        if check.value is None or state is None:
            continue
        at = states.index(state)
        best = found.get(check.limit)
        if best is None or at > best[0]:
            found[check.limit] = (at, [check])
        elif at == best[0]:
            best[1].append(check)
    return {
        name: sorted(c, key=lambda x: x.seen_by == "bearings") for name, (_, c) in found.items()
    }


def _other_limit(checks: list[LimitCheck], preferences: Preferences) -> list[blocks.Row]:
    """The gauge's check of a limit; the bearings' below it only where it says something else."""
    first = checks[0]
    how = display.shown(first.quantity, first.unit, preferences)
    values = phrases.limit_value(first.limit_value, first.quantity, first.unit, preferences)
    asks = words.MAKER_ASKS.format(limit=values)
    limit = phrases.breakable(phrases.clipped(first.limit, 60)[0])
    rows = []
    for check in checks:
        if check is not first and check.verdict == first.verdict == words.MEETS:
            continue
        spread = 1.96 * (check.standard_uncertainty or 0.0)
        figure = display.plain(check.value or 0.0, how, spread)
        name = f"{phrases.capital(phrases.quantity(first.quantity))}, {limit}: "
        said = (strong(name), Run(figure), soft(f" ({asks})"))
        below = (Run(f"{words.BEARINGS_GET} {figure}"), soft(f"; {words.STATED_FOR_GAUGE}"))
        plate = phrases.verdict_plate(check.verdict, phrases.observer_of(check))
        sure = sureness(check)
        verdict = (plate, soft(f" {_unbroken(words.SURE[sure])}" if sure else ""))
        rows.append(blocks.Row(((said if check is first else below,), (verdict,)), check is first))
    return rows


def _done(job: Job, room: Tightness) -> list[Block]:
    texts = [visit.work for visit in job.visits if visit.work]
    texts += [work.text for work in job.work if work.state == "done"]
    unique = list({phrases.one_line(text).lower().rstrip("."): text for text in texts}.values())
    return [blocks.Heading(words.DONE), *_points(unique, words.NOTHING_DONE, room, latest=True)]


def _points(texts: list[str], nothing: str, room: Tightness, latest: bool = False) -> list[Block]:
    """A list of points, cut to what the room allows; `latest` keeps the last ones."""
    if not texts:
        return [blocks.Paragraph((Run(nothing),))]
    kept = texts if room.points is None else texts[: room.points]
    if latest and len(kept) < len(texts):
        kept = texts[len(texts) - len(kept) :]
    lines: list[Line] = []
    cut = len(kept) < len(texts)
    for text in kept:
        said, shortened = phrases.clipped(text, room.point)
        cut = cut or shortened
        lines.append((Run(phrases.breakable(phrases.sentence(said))),))
    if cut:
        lines.append((Run(words.CONTINUED, "soft small"),))
    return [blocks.Items(tuple(lines))]


def _advised(job: Job, story: Story | None, room: Tightness) -> list[Block]:
    order = [visit.name for visit in job.visits]
    last = order[-1] if order else None
    open_work = [
        work
        for work in job.work
        if work.state in ("advised", "declined")
        or (work.state == "agreed" and work.visit in (last, None))
    ]
    ranked = sorted(open_work, key=lambda w: w.visit not in (last, None))
    texts = [_advice(job, work, last) for work in ranked]
    return [blocks.Heading(words.ADVISED), *_points(texts, telling.advice(story), room)]


def _advice(job: Job, work: Work, last: str | None) -> str:
    text = phrases.one_line(work.text).rstrip(".")
    notes = [words.STATE_OF_WORK[work.state]] if work.state != "advised" else []
    if work.visit not in (last, None):
        visit = phrases.visit_named(job, work.visit)
        day = phrases.date(visit.date) if visit and visit.date else str(work.visit)
        notes.append(words.ADVISED_ON.format(date=day) if work.state == "advised" else day)
    return f"{text} ({', '.join(notes)})" if notes else text


def _not_tested(outcome: Outcome, story: Story | None, room: Tightness) -> list[Block]:
    texts = telling.not_tested(outcome.job, outcome.findings, story)
    longest = room.point and 3 * room.point
    whole = dataclasses.replace(room, point=longest, points=None)
    return [blocks.Heading(words.NOT_TESTED), *_points(texts, "", whole)]


def _watch(job: Job, story: Story | None) -> list[Block]:
    cautions: list[Block] = [blocks.Heading(words.WATCH)]
    if telling.lamp_on(job):
        cautions.append(blocks.Caution((strong(words.LAMP_BOLD, "caution"), Run(words.LAMP_REST))))
    who = telling.failing(story)
    if who and story:
        rest = words.FAILS_REST[who].format(quantity=phrases.quantity(story.quantity))
        cautions.append(blocks.Caution((strong(words.FAILS_BOLD, "caution"), Run(rest))))
    elif telling.undecided(story):
        cautions.append(blocks.Caution((strong(words.OPEN_BOLD, "caution"), Run(words.OPEN_REST))))
    stop = (strong(words.STOP_BOLD, "caution"), Run(words.STOP_REST))
    return [*cautions, blocks.Caution(stop, filled=True)]


def _consent(job: Job) -> list[Block]:
    if not any(work.state in ("advised", "agreed") for work in job.work):
        return []
    box = "\u2610"
    ticks = f"{box} {words.CONSENT_YES}   {box} {words.CONSENT_NO}   {box} {words.CONSENT_PART}"
    return [blocks.Paragraph((strong(f"{words.CONSENT}   "), Run(ticks)), "consent")]


def _unbroken(text: str) -> str:
    return text.replace(" ", display.NO_BREAK)
