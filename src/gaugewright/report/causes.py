"""What is said of causes, leaks and next tests: choices and small texts, for pages and terminal."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from gaugewright.causes.judging import word_of
from gaugewright.causes.tests import KNOCK, NO_PRESSURE, every_test
from gaugewright.evidence.results import (
    CauseWeight,
    Findings,
    Hypothesis,
    Leak,
    NextTest,
    Predicted,
    Split,
    Symptom,
)
from gaugewright.job.words import TESTED
from gaugewright.report import display, phrases, words
from gaugewright.report.carried import carried
from gaugewright.report.preferences import Preferences

SHOWN_FROM = 0.01
"""Causes and pairs below this probability are named together in one line."""

SAYS = math.log(1.1)
"""What moves the odds by less than a tenth says nothing of weight."""

ALWAYS_SHOWN = "none-of-these"
PARTS_BY = 0.2
"""Outcomes that move a cause by less than this do not part it from the others."""

IN_NO_PAIR = ("none-of-these", "nothing-wrong")


# Names and figures --------------------------------------------------------------------


def name(cause: str) -> str:
    """A cause in words; one that is not on the list reads with blanks for its hyphens."""
    return words.CAUSE.get(cause, cause.replace("-", " "))


def test_name(test: str) -> str:
    """A test or an action in words, as they stand within a sentence."""
    titles = {one.name: one.title for one in every_test()}
    title = carried(titles.get(test, ""))
    said = title or words.DID.get(test) or test.replace("-", " ")
    return phrases.within(said)


def engine_off(findings: Findings) -> bool:
    """Whether the stop rule is that the engine must not run."""
    return findings.stop_rule in (KNOCK, NO_PRESSURE)


def percent(share: float, unit: bool = True) -> str:
    """A probability in whole per cent: never 0 and never 100."""
    figure = display.digits(100.0 * share, 0)
    if share > 0.99:
        figure = words.NEARLY
    elif share < SHOWN_FROM:
        figure = words.HARDLY
    return f"{figure}{display.NO_BREAK}%" if unit else figure


def chance_word(chance: float) -> str:
    """A chance as the owner reads it.

    Source: the calibrated words of the IPCC's guidance note on uncertainty (2010), from memory:
    likely from 66 %, about as likely as not from 33 %, below that unlikely, from 10 % down very.
    """
    return next(word for least, word in words.CHANCE_WORDS if chance >= least)


def owner_word(weight: CauseWeight) -> str:
    """The owner's word for a cause: likely, possible, not excluded or hardly."""
    return weight.word or word_of(weight.probability)


def odds(speaks: float) -> str:
    """How something moves the odds: so many times up or down, or unmoved."""
    if abs(speaks) < SAYS:
        return words.ODDS_UNMOVED
    times = math.exp(min(abs(speaks), 20.0))
    said = display.digits(times, 1 if times < 9.95 else 0) if times < 1000 else words.MOST_TIMES
    return (words.ODDS_UP if speaks >= 0.0 else words.ODDS_DOWN).format(times=said)


def minutes(test: NextTest) -> str:
    """A test's minutes as a figure."""
    return display.digits(test.minutes, 0)


def bits(test: NextTest) -> str:
    """What a test is expected to tell, in bits."""
    return words.BITS.format(bits=display.digits(test.expected_bits, 2))


# Which causes -------------------------------------------------------------------------


def ranked(findings: Findings) -> list[CauseWeight]:
    """The causes, the most probable first."""
    return sorted(findings.causes, key=lambda c: -c.probability)


def shown(findings: Findings) -> list[CauseWeight]:
    """The causes that get a line of their own: those that weigh something, and none of these."""
    return [c for c in ranked(findings) if c.probability >= SHOWN_FROM or c.cause == ALWAYS_SHOWN]


def rest(findings: Findings) -> str:
    """The sentence that names the other causes; empty where there are none."""
    apart = {c.cause for c in shown(findings)}
    names = [name(c.cause) for c in ranked(findings) if c.cause not in apart]
    return words.LESS_THAN.format(causes=phrases.listed(names)) if names else ""


def leading(findings: Findings) -> list[CauseWeight]:
    """The causes whose predictions are given, the most probable first."""
    return [c for c in ranked(findings) if c.predicted]


def pairs(findings: Findings) -> list[Hypothesis]:
    """The hypotheses that get a line, where any of them is two faults together."""
    kept = [h for h in findings.hypotheses if h.probability >= SHOWN_FROM]
    if not any(len(h.causes) > 1 for h in kept):
        return []
    return sorted(kept, key=lambda h: -h.probability)


def together(hypothesis: Hypothesis) -> str:
    """A hypothesis in words, with the link of its two causes."""
    names = [name(cause) for cause in hypothesis.causes]
    if len(names) < 2:
        alone = hypothesis.causes[0] not in IN_NO_PAIR
        return words.LINK["single"].format(first=names[0]) if alone else names[0]
    pattern = words.LINK.get(hypothesis.link, words.LINK["unrelated"])
    return pattern.format(first=names[0], second=names[1])


# What speaks for and against ----------------------------------------------------------


def strongest(weight: CauseWeight, side: int) -> Predicted | None:
    """The single reading that speaks most for (+1) or against (-1) a cause, if any does."""
    best = max(weight.predicted, key=lambda p: side * p.speaks, default=None)
    return best if best is not None and side * best.speaks >= SAYS else None


def told(weight: CauseWeight, side: int) -> list[Symptom]:
    """What was seen and told that speaks for (+1) or against (-1) a cause, the loudest first."""
    speaking = [s for s in weight.symptoms if side * s.speaks >= SAYS]
    return sorted(speaking, key=lambda s: -side * s.speaks)


def reading_name(predicted: Predicted, visits: bool = False) -> str:
    """A reading by its quantity, what it is measured against, and its condition."""
    usual = predicted.quantity == "crankcase-pressure" and predicted.reference == "atmosphere"
    against = "" if usual else phrases.reference(predicted.quantity, predicted.reference)
    quantity = " ".join(part for part in (phrases.quantity(predicted.quantity), against) if part)
    return ", ".join(part for part in (quantity, held_in(predicted, visits)) if part)


def held_in(predicted: Predicted, visits: bool) -> str:
    """The condition of a reading, with its visit where there are several."""
    parts = (predicted.visit if visits else "", predicted.condition)
    return ", ".join(phrases.clipped(part, 60)[0] for part in parts if part)


def several_visits(causes: Iterable[CauseWeight]) -> bool:
    """Whether the predictions are of readings from more than one visit."""
    return len({p.visit for c in causes for p in c.predicted}) > 1


def figures(predicted: Predicted, preferences: Preferences) -> tuple[str, str]:
    """What was read and what is predicted, as figures with their unit."""
    how = shown_as(predicted, preferences)
    return (
        display.plain(predicted.read, how, half(predicted.read_low, predicted.read_high)),
        display.plain(
            predicted.predicted, how, half(predicted.predicted_low, predicted.predicted_high)
        ),
    )


def shown_as(predicted: Predicted, preferences: Preferences) -> display.Shown:
    """How a predicted reading is shown to this workshop."""
    return display.shown(
        predicted.quantity, predicted.unit, preferences, reference=predicted.reference
    )


def half(low: float | None, high: float | None) -> float | None:
    """Half the width of an interval; None where an end is not known."""
    return None if low is None or high is None else 0.5 * (high - low)


def reading_says(predicted: Predicted, preferences: Preferences, visits: bool = False) -> str:
    """One reading against its prediction, in a line."""
    read, foretold = figures(predicted, preferences)
    label = reading_name(predicted, visits)
    return words.READ_AND_PREDICTED.format(reading=label, read=read, predicted=foretold)


def observed(what: str) -> str:
    """What was looked at, or the test that was done, in words within a sentence."""
    if what in TESTED:
        return test_name(what)
    return words.SAW["what"].get(what) or carried(what.replace("-", " "))


def symptom_says(symptom: Symptom) -> str:
    """Something told, in words: "oil smell: fuel"."""
    what = observed(symptom.what)
    return words.TOLD.format(what=what, saw=carried(symptom.saw))


def speaking(
    weight: CauseWeight, side: int, preferences: Preferences, visits: bool
) -> list[tuple[str, str]]:
    """What speaks for (+1) or against (-1) a cause: the strongest reading, then what was told.

    Returns pairs: what it is, and how it moves the odds.
    """
    reading = strongest(weight, side)
    said = [(reading_says(reading, preferences, visits), odds(reading.speaks))] if reading else []
    return said + [(symptom_says(s), odds(s.speaks)) for s in told(weight, side)]


# Leaks and tests ----------------------------------------------------------------------


def leak_figures(leak: Leak) -> tuple[str, str, str]:
    """A leak's diameter, its interval and its discharge coefficient."""
    places = display.decimals(half(leak.low, leak.high), 1)
    low, high = (display.digits(end, places) for end in (leak.low, leak.high))
    unit = f"{display.NO_BREAK}{leak.diameter.unit}"
    return (
        f"{display.digits(leak.diameter.value, places)}{unit}",
        f"{words.ENDS.format(low=low, high=high)}{unit}",
        display.digits(leak.discharge_coefficient, 2),
    )


def leak_where(leak: Leak) -> str:
    """The visit and the conditions behind a leak's size."""
    return ", ".join(phrases.clipped(p, 60)[0] for p in (leak.visit or "", *leak.conditions) if p)


def leaves(split: Split) -> str:
    """What an outcome would leave: its weightiest causes in figures."""
    kept = sorted(split.leaves, key=lambda c: -c.probability)[:3]
    return ", ".join(f"{name(c.cause)} {percent(c.probability)}" for c in kept)


def would_point_to(test: NextTest) -> list[tuple[str, float]]:
    """For each cause that an outcome would bring to the head: the chance of that."""
    chances: dict[str, float] = {}
    for split in test.splits:
        if split.leaves:
            first = max(split.leaves, key=lambda c: c.probability).cause
            chances[first] = chances.get(first, 0.0) + split.chance
    return sorted(chances.items(), key=lambda item: -item[1])


def would_part(test: NextTest) -> str | None:
    """The cause whose odds a test's outcomes pull furthest apart, None where none moves far.

    For a test whose every outcome leaves the same cause at the head.
    """
    seen = [{c.cause: c.probability for c in split.leaves} for split in test.splits]
    names = dict.fromkeys(cause for side in seen for cause in side)
    apart = {n: _apart([side.get(n, 0.0) for side in seen]) for n in names}
    best = max(apart, key=lambda n: apart[n], default=None)
    return best if best is not None and apart[best] >= PARTS_BY else None


def _apart(chances: Sequence[float]) -> float:
    return max(chances) - min(chances)


def later(tests: Sequence[NextTest]) -> str:
    """The tests that would come after those told in full, in one sentence."""
    said = [words.LATER_TEST.format(test=test_name(t.test), minutes=minutes(t)) for t in tests]
    return words.LATER_TESTS.format(tests="; ".join(said)) if said else ""
