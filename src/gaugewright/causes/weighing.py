"""All causes against all readings: from what was read and told to the hypotheses' probabilities."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gaugewright.causes.catalogue import NONE_OF_THESE, Hypothesis
from gaugewright.causes.glance import CELLS, MODEST, Glance
from gaugewright.causes.lines import rough_lines
from gaugewright.causes.marginal import (
    Cell,
    evidence_of,
    rough_cells,
    rough_evidence,
    sharpened,
)
from gaugewright.causes.meeting import Blend
from gaugewright.causes.model import Asked
from gaugewright.causes.sampling import Drawn, drawn

PAIRS_KEPT = 12
"""How many pairs are weighed whole after the screening."""
DRAWS, MOST_DRAWN = 128, 10
MORE_DRAWS, MOST_DRAWN_AGAIN = 256, 4
"""How many engines are drawn for the leading hypotheses, and again for the few that lead those."""
HARDLY_THERE = 0.02
"""The share of severities at which a second fault changes next to nothing (judgement)."""
WORTH_DRAWING = 0.004
"""A hypothesis of less than this is not drawn again: its straight-line evidence stands."""


@dataclass(frozen=True)
class Considered:
    """One hypothesis: odds before, evidence of readings and of what was told, odds after."""

    causes: Hypothesis
    before: float
    log_readings: float
    log_told: float
    probability: float
    drawn: Drawn | None
    cells: tuple[Cell, ...] = ()


@dataclass(frozen=True)
class Weighed:
    """Every hypothesis of one build, the more probable first, and what it was asked with.

    `log_total`: the evidence of the build itself, priors and all.
    """

    question: Asked
    noise: Blend
    hypotheses: tuple[Considered, ...]
    log_total: float

    @property
    def refused(self) -> tuple[Hypothesis, ...]:
        """Leading hypotheses for which too few draws counted."""
        return tuple(
            h.causes
            for h in self.hypotheses
            if h.drawn is not None and h.drawn.refused and h.probability > 0.02
        )


def weighed(glance: Glance) -> Weighed:
    """How probable is each hypothesis, given everything read and told of this kind of engine?"""
    draws, cells, evidence = _looked_closer(glance)
    return _told_by(glance, evidence, draws, {**glance.cells, **cells})


def weighed_alike(glance: Glance, other: Glance, closer: Weighed) -> Weighed:
    """The same for a kind that was only glanced at, what a look closer changed taken over.

    `closer` is what came of `other`.  What the look changed in a cause, there, it is taken to
    change here, and two causes to be as much better than the better of both alone; where the other
    kind cannot have them, by what it changed on average.  But nothing gains beyond what it came to
    there: where no cause alone fits, two together are better by any amount.  Kinds differ in which
    causes they can have and in how well each alone fits, which is what a glance shows.
    """
    change, there = _changes(other, closer), {h.causes: h.log_readings for h in closer.hypotheses}
    usual = {causes: _usual(change, other, causes) for causes in (1, 2)}
    evidence = dict(glance.evidence)
    for h in glance.race:
        if h != (NONE_OF_THESE,):
            here = _better(glance.evidence, h)
            moved = here + change.get(h, usual[len(h)])
            evidence[h] = min(moved, max(here, there.get(h, here)))
    return _told_by(glance, evidence | hardly_second(evidence), {}, glance.cells)


def _changes(glance: Glance, closer: Weighed) -> dict[Hypothesis, float]:
    """By how much each hypothesis came out better than a glance had it, two causes than the better
    of both alone."""
    return {
        h.causes: h.log_readings - _better(glance.evidence, h.causes)
        for h in closer.hypotheses
        if h.causes in glance.race and h.causes != (NONE_OF_THESE,)
    }


def _better(evidence: Mapping[Hypothesis, float], causes: Hypothesis) -> float:
    return max(evidence[cause,] for cause in causes)


def _usual(change: Mapping[Hypothesis, float], glance: Glance, causes: int) -> float:
    """The mean of the changes of hypotheses with so many causes, each as odds have it."""
    alike = [h for h in change if len(h) == causes]
    weight = np.array([glance.race[h] for h in alike])
    return float(np.average([change[h] for h in alike], weights=weight)) if alike else 0.0


def _told_by(
    glance: Glance,
    readings: Mapping[Hypothesis, float],
    draws: Mapping[Hypothesis, Drawn],
    cells: Mapping[Hypothesis, Sequence[Cell]],
) -> Weighed:
    """Odds, readings and what was told together.

    What an engine as described cannot have keeps its trace: the readings weigh for it as for a
    cause of none of these.
    """
    race, told = {**glance.race, **glance.trace}, glance.told
    readings = {**readings, **dict.fromkeys(glance.trace, readings.get((NONE_OF_THESE,), 0.0))}
    score = {h: np.log(race[h]) + MODEST * readings[h] + told.get(h, 0.0) for h in race}
    top = max(score.values())
    total = sum(np.exp(s - top) for s in score.values())
    found = [
        Considered(
            causes=h,
            before=race[h],
            log_readings=readings[h],
            log_told=told.get(h, 0.0),
            probability=float(np.exp(score[h] - top) / total),
            drawn=draws.get(h),
            cells=tuple(cells.get(h, ())),
        )
        for h in race
    ]
    found.sort(key=lambda one: -one.probability)
    return Weighed(glance.question, glance.near, tuple(found), float(top + np.log(total)))


def _looked_closer(
    glance: Glance,
) -> tuple[dict[Hypothesis, Drawn], dict[Hypothesis, list[Cell]], dict[Hypothesis, float]]:
    """Two causes at once, and draws of what leads: draws, cells, and logarithm of the evidence."""
    if glance.rough is None:
        return {}, {}, dict(glance.evidence)
    question, near, evidence = glance.question, glance.near, dict(glance.evidence)
    pairs = [h for h in glance.race if len(h) == 2]
    both = rough_lines(question, pairs, CELLS, glance.rough)
    behind = rough_evidence(question, both, near.leading)
    evidence |= {h: found + glance.more / MODEST for h, found in behind.items()}
    evidence |= hardly_second(evidence)
    kept = _leading(glance, evidence, pairs, PAIRS_KEPT)
    sharp = sharpened(question, rough_cells(question, both.only(kept), Blend(near.parts[:1])), near)
    evidence |= {h: evidence_of(sharp[h]) for h in sharp}
    evidence |= hardly_second(evidence)
    cells = {h: list(own) for h, own in glance.cells.items() if h != (NONE_OF_THESE,)} | sharp
    lead = _leading(glance, evidence, list(cells), MOST_DRAWN)
    draws = drawn(question, {h: cells[h] for h in lead}, near, DRAWS)
    evidence |= {h: one.log_evidence for h, one in draws.items()}
    evidence |= hardly_second(evidence)
    lead = _leading(glance, evidence, lead, MOST_DRAWN_AGAIN)
    draws |= drawn(question, {h: cells[h] for h in lead}, near, MORE_DRAWS)
    evidence |= {h: draws[h].log_evidence for h in lead}
    return draws, sharp, evidence | hardly_second(evidence)


def hardly_second(evidence: Mapping[Hypothesis, float]) -> dict[Hypothesis, float]:
    """Every pair's evidence, and never less than one of the two alone with the other hardly there.

    The middles of the cells, and the draws about them, don't reach the mild end of a severity,
    where a knee can make all the difference.
    """
    return {
        pair: max(found, max(evidence[cause,] for cause in pair) + float(np.log(HARDLY_THERE)))
        for pair, found in evidence.items()
        if len(pair) == 2
    }


def _leading(
    glance: Glance,
    evidence: Mapping[Hypothesis, float],
    among: Sequence[Hypothesis],
    most: int,
) -> list[Hypothesis]:
    """The most probable among these so far, leaving out what is hardly worth its time."""
    score = glance.scores(evidence)
    top = max(score.values())
    total = sum(np.exp(s - top) for s in score.values())
    worth = [h for h in among if np.exp(score[h] - top) / total > WORTH_DRAWING]
    return sorted(worth, key=lambda h: -score[h])[:most]
