"""What the owner reads of causes and the next step: words, never a percentage, no acquittal."""

from __future__ import annotations

from gaugewright.causes.catalogue import CAUSES, NONE_OF_THESE, NOTHING
from gaugewright.evidence.results import CauseWeight, Findings, NextTest
from gaugewright.job.model import Job
from gaugewright.report import blocks, causes, missing, phrases, words
from gaugewright.report.blocks import Block, Line, Run, strong
from gaugewright.report.carried import carried
from gaugewright.report.story import Story
from gaugewright.report.tightness import Tightness

BLAMES_THE_READING = ("indication-fault", "test-fault")
MOST_NAMED = 3
MOST_OTHERS = 4


def behind_it(job: Job, findings: Findings, story: Story | None, room: Tightness) -> list[Block]:
    """What may be behind it, and the next step; nothing while no cause was weighed."""
    if not findings.causes:
        return []
    warned = missing.failing(story) is not None or missing.lamp_on(job)
    points = _points(findings, warned, room)
    if not warned and _over(story):
        return [blocks.Heading(words.OWNER_CAUSES_WERE), *points]
    return [blocks.Heading(words.OWNER_CAUSES), *points, *_step(findings, room)]


def _over(story: Story | None) -> bool:
    """Whether the last of several states meets the limit: the causes are then of what was."""
    several = story is not None and story.limit is not None and len(story.told) > 1
    return several and not missing.undecided(story)


def _points(findings: Findings, warned: bool, room: Tightness) -> list[Block]:
    """The causes under their words, then what must not be read out of them."""
    named = [c for c in causes.ranked(findings) if c.cause != NOTHING]
    by_word = {w: [c for c in named if causes.owner_word(c) == w] for w in words.OWNER_WORD}
    most = MOST_NAMED if room.points is None else min(room.points, MOST_NAMED)
    told = [(w, c) for w in ("likely", "possible") for c in by_word[w]]
    lines: list[Line] = [_leading(w, c) for w, c in told[:most]]
    others = [c for _, c in told[most:]]
    lines += _listed("possible", others)
    lines += _listed("not excluded", by_word["not excluded"])
    lines += [(Run(text),) for text in _besides(findings, [c for _, c in told], warned)]
    return [blocks.Items(tuple(lines))]


def _leading(word: str, weight: CauseWeight) -> Line:
    return (strong(f"{words.OWNER_WORD[word]} "), Run(owner_says(weight.cause)))


def owner_says(cause: str) -> str:
    """One plain sentence about a cause."""
    if cause == NOTHING:
        return words.OWNER_QUIET
    known = CAUSES.get(cause)
    return carried(known.owner) if known else phrases.sentence(causes.name(cause))


def _listed(word: str, weights: list[CauseWeight]) -> list[Line]:
    """Causes by their names alone, the first few of them."""
    if not weights:
        return []
    names = [_plain_name(c.cause) for c in weights[:MOST_OTHERS]]
    more = [words.OWNER_MORE] if len(weights) > MOST_OTHERS else []
    said = f"{', '.join(names)} {more[0]}" if more else phrases.listed(names)
    return [(strong(f"{words.OWNER_WORD[word]} "), Run(phrases.sentence(said)))]


def _plain_name(cause: str) -> str:
    return words.OWNER_UNKNOWN if cause == NONE_OF_THESE else causes.name(cause)


def _besides(findings: Findings, told: list[CauseWeight], warned: bool) -> list[str]:
    """Two faults together; readings that show no reason; a warning that may be false."""
    first = max(findings.hypotheses, key=lambda h: h.probability, default=None)
    said = []
    if first and len(first.causes) > 1 and all(c in {w.cause for w in told} for c in first.causes):
        said.append(words.OWNER_TWO.format(pair=causes.together(first)))
    quiet = any(
        c.cause == NOTHING and causes.owner_word(c) in ("likely", "possible")
        for c in findings.causes
    )
    if quiet:
        said.append(words.OWNER_UNEXPLAINED if warned else words.OWNER_QUIET)
    if warned and any(c.cause in BLAMES_THE_READING for c in told):
        said.append(words.OWNER_NOT_SHOWN)
    return said


# The next step ------------------------------------------------------------------------


def _step(findings: Findings, room: Tightness) -> list[Block]:
    """The first of the next tests in plain words, or that none is worth its time."""
    stop = findings.stop_rule
    if stop and causes.engine_off(findings):
        return [blocks.Caution((strong(phrases.sentence(carried(stop)), "caution"),), filled=True)]
    if findings.next_tests:
        return [blocks.Paragraph(_next(findings.next_tests[0], room))]
    if stop:
        said = words.OWNER_STOP if "%" in stop else phrases.sentence(carried(stop))
        return [blocks.Paragraph((strong(f"{words.OWNER_NEXT} "), Run(said)))]
    return []


def _next(test: NextTest, room: Tightness) -> Line:
    took = words.OWNER_MINUTES.format(minutes=causes.minutes(test))
    said = phrases.sentence(f"{causes.test_name(test.test)}, {took}")
    if room.points is None or room.points > MOST_NAMED:
        said = f"{said} {_tells(test)}".strip()
    return (strong(f"{words.OWNER_NEXT} "), Run(phrases.breakable(said)))


def _tells(test: NextTest) -> str:
    """What its outcomes would point to, or which second cause they would settle."""
    points = [(c, chance) for c, chance in causes.would_point_to(test) if c != NOTHING]
    if len(points) > 1:
        said = words.OR.join(
            words.OWNER_POINT.format(cause=_plain_name(c), chance=causes.chance_word(chance))
            for c, chance in points[:MOST_NAMED]
        )
        return words.OWNER_POINTS.format(causes=said)
    parted = causes.would_part(test)
    return words.OWNER_TELLS.format(cause=_plain_name(parted)) if parted else ""
