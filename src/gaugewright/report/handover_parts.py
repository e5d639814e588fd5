"""The lower parts of the owner's page: other limits, work, what was not tested, cautions."""

from __future__ import annotations

import dataclasses

from gaugewright.analysis.outcome import Outcome
from gaugewright.evidence.results import LimitCheck
from gaugewright.job.model import Job, Work
from gaugewright.report import blocks, display, missing, phrases, words
from gaugewright.report.blocks import Block, Line, Run, soft, strong
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import (
    EXCEEDS,
    MEETS,
    OPEN,
    SHORT,
    Story,
    state_holding,
    states_of,
    sureness,
)
from gaugewright.report.tightness import Tightness


def continued() -> Run:
    """What stands where something was shortened."""
    return Run(f" {words.CONTINUED}", "soft upright small")


def other_limits(
    outcome: Outcome, story: Story | None, preferences: Preferences, room: Tightness
) -> list[Block]:
    """The last verdict on every limit that the headline does not tell."""
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
    order = {SHORT: 0, EXCEEDS: 0, OPEN: 1}
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
        if check is not first and check.verdict == first.verdict == MEETS:
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


def done(job: Job, room: Tightness) -> list[Block]:
    """What was done, at every visit."""
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


def advised(job: Job, story: Story | None, room: Tightness) -> list[Block]:
    """What is advised, agreed or declined; without a note what the findings ask for."""
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
    return [blocks.Heading(words.ADVISED), *_points(texts, missing.advice(story), room)]


def _advice(job: Job, work: Work, last: str | None) -> str:
    text = phrases.one_line(work.text).rstrip(".")
    notes = [words.STATE_OF_WORK[work.state]] if work.state != "advised" else []
    if work.visit not in (last, None):
        visit = phrases.visit_named(job, work.visit)
        day = phrases.date(visit.date) if visit and visit.date else str(work.visit)
        notes.append(words.ADVISED_ON.format(date=day) if work.state == "advised" else day)
    return f"{text} ({', '.join(notes)})" if notes else text


def not_tested(outcome: Outcome, story: Story | None, room: Tightness) -> list[Block]:
    """What was not tested."""
    texts = missing.not_tested(outcome.job, outcome.findings, story)
    longest = room.point and 3 * room.point
    whole = dataclasses.replace(room, point=longest, points=None)
    return [blocks.Heading(words.NOT_TESTED), *_points(texts, "", whole)]


def watch(job: Job, story: Story | None) -> list[Block]:
    """The cautions: the lamp, what fails or is open now, and when to stop the engine."""
    cautions: list[Block] = [blocks.Heading(words.WATCH)]
    if missing.lamp_on(job):
        cautions.append(blocks.Caution((strong(words.LAMP_BOLD, "caution"), Run(words.LAMP_REST))))
    who = missing.failing(story)
    if who and story:
        rest = words.FAILS_REST[who].format(quantity=phrases.the_quantity(story.quantity))
        cautions.append(blocks.Caution((strong(words.FAILS_BOLD, "caution"), Run(rest))))
    elif missing.undecided(story):
        cautions.append(blocks.Caution((strong(words.OPEN_BOLD, "caution"), Run(words.OPEN_REST))))
    stop = (strong(words.STOP_BOLD, "caution"), Run(words.STOP_REST))
    return [*cautions, blocks.Caution(stop, filled=True)]


def consent(job: Job) -> list[Block]:
    """Space to agree to the work advised, where there is any."""
    if not any(work.state in ("advised", "agreed") for work in job.work):
        return []
    box = "\u2610"
    ticks = f"{box} {words.CONSENT_YES}   {box} {words.CONSENT_NO}   {box} {words.CONSENT_PART}"
    return [blocks.Paragraph((strong(f"{words.CONSENT}   "), Run(ticks)), "consent")]


def _unbroken(text: str) -> str:
    return text.replace(" ", display.NO_BREAK)
