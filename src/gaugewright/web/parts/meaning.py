"""What it means: the sentence, the readings, the checks, the causes and the next test."""

from __future__ import annotations

from dataclasses import dataclass, replace

from gaugewright.analysis.outcome import Outcome
from gaugewright.causes.tests import every_test
from gaugewright.evidence.results import Caveat, NextTest, Reading
from gaugewright.job.words import NOT_KNOWN, SEEN
from gaugewright.report import (
    cause_tables,
    causes,
    checks_tables,
    display,
    limit_chart,
    matches_table,
    missing,
    next_tables,
    phrases,
    readings_table,
    telling,
)
from gaugewright.report.blocks import Block, Heading, Keep, Picture
from gaugewright.report.carried import carried, remade
from gaugewright.report.lane_chart import lane_picture
from gaugewright.report.language import speaking
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import story_of
from gaugewright.report.tightness import LEVELS

WIDTH = 520.0
"""Width of the drawings in points; they are stretched to their column."""


@dataclass(frozen=True)
class Shown:
    """The findings of a job, ready to be set: blocks under their sub-heads.

    What belongs to the latest visit stands by itself, `before` it what earlier visits gave.
    """

    headline: str
    says: str
    sure: str
    limit_picture: Picture | None
    readings: tuple[Block, ...]
    readings_before: tuple[Block, ...]
    limits: tuple[Block, ...]
    references: tuple[Block, ...]
    references_before: tuple[Block, ...]
    matches: tuple[Block, ...]
    causes: tuple[Block, ...]
    causes_in_full: tuple[Block, ...]
    leaks: tuple[Block, ...]
    tests: tuple[Test, ...]
    later: str
    stop: str
    engine_off: bool
    not_tested: tuple[str, ...]
    warnings: tuple[tuple[str, str], ...]
    recordings: tuple[Drawn, ...]
    recordings_before: tuple[Drawn, ...]
    zeros: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class Drawn:
    """A recording's picture under its name."""

    name: str
    visit: str
    picture: Picture


@dataclass(frozen=True)
class Test:
    """A next test: what to do, what each outcome would mean, what to mind.

    `asks`: the observation that its outcome is noted as, with its `words`; empty where it is read.
    """

    name: str
    asks: str
    words: tuple[str, ...]
    minutes: str
    how: str
    tells: str
    not_when: tuple[str, ...]
    mind: tuple[str, ...]
    outcomes: tuple[tuple[str, str, str], ...]


def shown(outcome: Outcome, preferences: Preferences) -> Shown:
    """The findings as the job's page shows them, in the language of the preferences."""
    with speaking(preferences.language):
        return _shown(outcome, preferences)


def _shown(outcome: Outcome, preferences: Preferences) -> Shown:
    job, findings = outcome.job, outcome.findings
    story = story_of(job, findings)
    last = _last_visit(outcome)
    failing = missing.failing(story) is not None or missing.lamp_on(job)
    weighed, in_full = _split(cause_tables.which_cause(findings, preferences, WIDTH, failing))
    drawn = _recordings(outcome, preferences)
    return Shown(
        headline=telling.headline(story, job, findings),
        says=telling.say(story, job, findings, preferences),
        sure=telling.how_sure(story),
        limit_picture=_limit_picture(outcome, preferences),
        readings=_readings(outcome, preferences, last, True),
        readings_before=_readings(outcome, preferences, last, False),
        limits=_body(checks_tables.limits(outcome, preferences)),
        references=_references(outcome, preferences, last, True),
        references_before=_references(outcome, preferences, last, False),
        matches=_body(matches_table.matches(outcome, preferences)),
        causes=weighed,
        causes_in_full=in_full,
        leaks=_body(cause_tables.leaks(findings)),
        tests=tuple(_test(t, preferences) for t in findings.next_tests[: next_tables.IN_FULL]),
        later=causes.later(findings.next_tests[next_tables.IN_FULL :]),
        stop=phrases.sentence(carried(findings.stop_rule)) if findings.stop_rule else "",
        engine_off=bool(findings.stop_rule) and causes.engine_off(findings),
        not_tested=tuple(missing.not_tested(job, findings, story)),
        warnings=tuple(_warning(w) for w in findings.warnings),
        recordings=tuple(d for d in drawn if d.visit == last),
        recordings_before=tuple(d for d in drawn if d.visit != last),
        zeros=tuple(
            (remade(n.name), remade(n.uncertainty), remade(n.zero)) for n in outcome.instruments
        ),
    )


def _warning(caveat: Caveat) -> tuple[str, str]:
    return remade(caveat.where), phrases.sentence(carried(caveat.text))


def _last_visit(outcome: Outcome) -> str:
    """The latest visit in which anything was read."""
    read = {reading.visit for reading in outcome.findings.readings}
    return next((v.name for v in reversed(outcome.job.visits) if v.name in read), "")


def _readings(
    outcome: Outcome, preferences: Preferences, last: str, latest: bool
) -> tuple[Block, ...]:
    """The readings of the latest visit, or of those before: what the checks use first.

    Absolute pressures and each instrument's own reading are left to the work record.
    """
    best: dict[tuple[str, str, str, str | None], Reading] = {}
    for reading in outcome.findings.readings:
        key = (reading.visit, reading.condition, reading.quantity, reading.reference)
        if key not in best or len(reading.signals) > len(best[key].signals):
            best[key] = reading
    outside = {(key[0], key[1], key[2]) for key in best if key[3] == "atmosphere"}
    kept = tuple(
        reading
        for key, reading in best.items()
        if (reading.visit == last) == latest and not (key[3] == "vacuum" and key[:3] in outside)
    )
    if not kept:
        return ()
    some = replace(outcome, findings=replace(outcome.findings, readings=kept))
    return _body(readings_table.readings(some, preferences))


def _references(
    outcome: Outcome, preferences: Preferences, last: str, latest: bool
) -> tuple[Block, ...]:
    checks = tuple(
        check for check in outcome.findings.reference_checks if (check.visit == last) == latest
    )
    some = replace(outcome, findings=replace(outcome.findings, reference_checks=checks))
    return _body(checks_tables.reference_checks(some, preferences, WIDTH))


def _split(made: list[Block]) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    """The causes' own table, and what stands behind it under heads of its own."""
    flat = _body(made)
    head = next((i for i, block in enumerate(flat) if isinstance(block, Heading)), len(flat))
    return flat[:head], flat[head:]


def _body(made: list[Block]) -> tuple[Block, ...]:
    """The blocks of a part without its own first heading: the page sets one itself."""
    flat = [b for part in made for b in (part.blocks if isinstance(part, Keep) else (part,))]
    return tuple(flat[1:] if flat and isinstance(flat[0], Heading) else flat)


def _limit_picture(outcome: Outcome, preferences: Preferences) -> Picture | None:
    story = story_of(outcome.job, outcome.findings)
    if story is None or not story.told:
        return None
    side = next(s for t in story.told for s in (t.gauge, t.bearings) if s)
    how = display.shown(story.quantity, side.unit, preferences)
    labels = tuple(_label(told.state.visit, told.state.since) for told in story.told)
    return limit_chart.limit_picture(story, labels, how, WIDTH, LEVELS[2].measures)


def _label(visit: str, since: tuple[str, ...]) -> str:
    from gaugewright.report.words import DID

    return ", ".join([visit, *(DID.get(word, word) for word in since)])


def _recordings(outcome: Outcome, preferences: Preferences) -> list[Drawn]:
    findings = outcome.findings
    return [
        Drawn(
            picture.recording,
            picture.visit,
            lane_picture(
                picture, findings.readings, findings.limit_checks, preferences, WIDTH, 300.0
            ),
        )
        for picture in outcome.pictures
    ]


def _test(test: NextTest, preferences: Preferences) -> Test:
    def own(texts: tuple[str, ...]) -> tuple[str, ...]:
        said = (phrases.one_line(display.in_own_units(text, preferences)) for text in texts if text)
        return tuple(phrases.sentence(text) for text in said)

    asks = {one.name: one.answers[0] for one in every_test() if one.kind == "look"}
    what = asks.get(test.test, "")
    return Test(
        name=phrases.capital(causes.test_name(test.test)),
        asks=what,
        words=tuple(word for word in SEEN.get(what, ()) if word != NOT_KNOWN),
        minutes=causes.minutes(test),
        how=" ".join(own((test.how,))),
        tells=causes.bits(test),
        not_when=own(test.not_when),
        mind=own(test.cautions),
        outcomes=tuple(
            (
                phrases.capital(display.in_own_units(split.saw, preferences)),
                causes.percent(split.chance),
                causes.leaves(split),
            )
            for split in test.splits
        ),
    )
