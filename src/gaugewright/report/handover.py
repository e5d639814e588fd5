"""The handover sheet: one page for the owner, tightened in steps until it is one page."""

from __future__ import annotations

import dataclasses

from gaugewright.analysis.outcome import Outcome
from gaugewright.job.model import Job
from gaugewright.report import blocks, display, limit_chart, owner_causes, phrases, telling, words
from gaugewright.report import handover_parts as parts
from gaugewright.report.blocks import Block, Line, Run, soft, strong
from gaugewright.report.language import speaking
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import Story, story_of
from gaugewright.report.tightness import LEVELS, Tightness

WIDTH = {"a4": 473.0, "letter": 490.0}


def handover_page(outcome: Outcome, preferences: Preferences, level: int) -> blocks.Page:
    """The owner's page at one tightness, from roomy (0) to the tightest."""
    with speaking(preferences.language):
        return _page(outcome, preferences, level)


def _page(outcome: Outcome, preferences: Preferences, level: int) -> blocks.Page:
    room = LEVELS[level]
    job, findings = outcome.job, outcome.findings
    story = story_of(job, findings)
    said = telling.say(story, job, findings, preferences)
    body: list[Block] = [
        blocks.Heading(telling.headline(story, job, findings), 1),
        blocks.Paragraph((Run(phrases.breakable(said)),), "say"),
        *_complaint(job, room),
        *_measured(story, job, preferences, room),
        *parts.other_limits(outcome, story, preferences, room),
        *owner_causes.behind_it(job, findings, story, room),
        blocks.Columns(
            tuple([*parts.done(job, room), *parts.advised(job, story, room)]),
            tuple([*parts.not_tested(outcome, story, room), *parts.watch(job, story)]),
        ),
    ]
    return blocks.Page(
        "handover",
        f"{words.HANDOVER}: {job.title}",
        ((strong(words.HANDOVER),), (soft(_which(job)),)),
        _printed(preferences),
        tuple(
            [*body, *parts.consent(job), blocks.Signatures((words.SIGN_WORKSHOP, words.SIGN_OWNER))]
        ),
        words.DETAILS,
        words.MADE_WITH,
        numbered=False,
        scale=room.scale,
        language=preferences.language,
    )


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
    runs: Line = (Run(quoted), *([parts.continued()] if cut else []))
    return [blocks.Heading(words.TOLD_US), blocks.Paragraph(runs, "quote")]


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
