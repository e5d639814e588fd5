"""All causes against all readings: from what was read and told to the hypotheses' probabilities."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.causes.catalogue import NONE_OF_THESE, Hypothesis
from gaugewright.causes.healthy import Healthy
from gaugewright.causes.lines import Line, Place, Rough, rough_lines
from gaugewright.causes.marginal import (
    HOPELESS,
    Blend,
    Cell,
    Noise,
    Part,
    evidence_of,
    rough_cells,
    sharpened,
    updated,
)
from gaugewright.causes.model import Asked, asked
from gaugewright.causes.noise import blend_for, wide_noises_of
from gaugewright.causes.observation import Observed
from gaugewright.causes.otherwise import otherwise_cells
from gaugewright.causes.sampling import Drawn, drawn
from gaugewright.engine.faults import FAULTS

Floats = npt.NDArray[np.float64]

CELLS = {0: 1, 1: 5, 2: 3}
"""Into how many cells each severity is cut, by how many causes a hypothesis has."""
PAIRS_KEPT = 12
"""How many pairs are weighed whole after the screening."""
DRAWS, MOST_DRAWN = 128, 10
MORE_DRAWS, MOST_DRAWN_AGAIN = 256, 4
"""How many engines are drawn for the leading hypotheses, and again for the few that lead those."""
MOST_PARTS, PART_BEHIND = 6, 5.0
"""So many covariances are gone on with, and none that is so far behind (natural logarithm)."""
HARDLY_THERE = 0.02
"""The share of severities at which a second fault changes next to nothing (judgement)."""
WORTH_DRAWING = 0.004
"""A hypothesis of less than this is not drawn again: its straight-line evidence stands."""
TRACE = 0.1
"""What is left of the odds of a cause that an engine taken to be of this kind cannot have: the kind
may be told wrong, or not told (judgement)."""
MODEST = 0.7
"""The power the readings' evidence is taken to: they are not as independent as the model's error
has them (judgement, checked by the proof's reliability)."""


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


def weighed(
    seen: Observed,
    healthy: Healthy,
    odds: Mapping[Hypothesis, float],
    told: Mapping[Hypothesis, float],
    barometer_pa: float,
) -> Weighed:
    """How probable is each hypothesis, given everything read and told?

    Parameters: `odds` before any evidence and `told`, the logarithm of the likelihood of what
    was seen and told, for every hypothesis in the race.  One that an engine as described cannot
    have keeps its trace: the readings weigh for it as for a cause of none of these.
    """
    question = asked(seen, healthy)
    blend, wide = blend_for(seen, barometer_pa), wide_noises_of(seen, barometer_pa)
    race = {h: p for h, p in odds.items() if _possible(h, healthy)}
    near, readings, draws, cells = _readings(question, blend, wide, race, told)
    trace = {h: TRACE * p for h, p in odds.items() if h not in race}
    readings |= dict.fromkeys(trace, readings.get((NONE_OF_THESE,), 0.0))
    race |= trace
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
    return Weighed(question, near, tuple(found), float(top + np.log(total)))


def _possible(hypothesis: Hypothesis, healthy: Healthy) -> bool:
    return all(c == NONE_OF_THESE or FAULTS[c].suits(healthy.build) for c in hypothesis)


def _readings(
    question: Asked,
    blend: Blend,
    wide: Sequence[Noise],
    race: Mapping[Hypothesis, float],
    told: Mapping[Hypothesis, float],
) -> tuple[Blend, dict[Hypothesis, float], dict[Hypothesis, Drawn], dict[Hypothesis, list[Cell]]]:
    """Logarithm of the readings' evidence for every hypothesis, draws and cells of the leading."""
    if not question.observed.items:
        return blend, dict.fromkeys(race, 0.0), {}, {}
    singles = [h for h in race if len(h) == 1 and h != (NONE_OF_THESE,)]
    pairs = [h for h in race if len(h) == 2]
    alone = dict.fromkeys([(), *singles, *((cause,) for pair in pairs for cause in pair)])
    rough = rough_lines(question, list(alone), CELLS)
    before: dict[Hypothesis, float] = {
        h: float(np.log(race[h])) + told.get(h, 0.0) for h in singles
    }
    near, more = _fitting(question, rough, blend, before)
    first = rough_cells(question, rough, near)
    cells = sharpened(question, {h: first[h] for h in singles}, near)
    evidence = {h: evidence_of(cells[h]) for h in cells}
    if (NONE_OF_THESE,) in race:
        cells[NONE_OF_THESE,] = otherwise_cells(question, near, wide)
        evidence[NONE_OF_THESE,] = evidence_of(cells[NONE_OF_THESE,])
    first_part = Blend(near.parts[:1])
    both = rough_cells(question, rough_lines(question, pairs, CELLS, rough), first_part)
    evidence |= {h: evidence_of(both[h]) + more / MODEST for h in pairs}
    evidence |= hardly_second(evidence)
    kept = _leading(evidence, race, told, pairs, PAIRS_KEPT)
    sharp = sharpened(question, {h: both[h] for h in kept}, near)
    cells |= sharp
    evidence |= {h: evidence_of(sharp[h]) for h in sharp}
    evidence |= hardly_second(evidence)
    fitting = [h for h in cells if h != (NONE_OF_THESE,)]
    lead = _leading(evidence, race, told, fitting, MOST_DRAWN)
    draws = drawn(question, {h: cells[h] for h in lead}, near, DRAWS)
    evidence |= {h: one.log_evidence for h, one in draws.items()}
    evidence |= hardly_second(evidence)
    lead = _leading(evidence, race, told, lead, MOST_DRAWN_AGAIN)
    draws |= drawn(question, {h: cells[h] for h in lead}, near, MORE_DRAWS)
    evidence |= {h: draws[h].log_evidence for h in lead}
    return near, evidence | hardly_second(evidence), draws, cells


def _fitting(
    question: Asked, rough: Rough, blend: Blend, before: Mapping[Hypothesis, float]
) -> tuple[Blend, float]:
    """The covariances that the readings leave, by all causes alone; as probable before as ever.

    With them, by how much all of them together weigh more than the likeliest alone (logarithm).
    Cells that are hopeless even by the loosest are left out of it.
    """
    lines = [pair for h in before for pair in rough.lines[h]]
    log_share = [
        before[h] - float(np.log(len(rough.lines[h]))) for h in before for _ in rough.lines[h]
    ]
    loosest = _evidence(question, lines, blend.parts[-1])
    near = np.flatnonzero(loosest > loosest.max() - HOPELESS)
    lines, log_share = [lines[k] for k in near], [log_share[k] for k in near]
    totals = [
        part.log_weight + float(np.logaddexp.reduce(log_share + _evidence(question, lines, part)))
        for part in blend.parts
    ]
    ranked = np.argsort(totals)[::-1][:MOST_PARTS]
    kept = [k for k in ranked if totals[k] > max(totals) - PART_BEHIND]
    more = float(np.logaddexp.reduce([totals[k] for k in kept]) - max(totals))
    return Blend(tuple(blend.parts[k] for k in kept)), more


def _evidence(question: Asked, lines: Sequence[tuple[Place, Line]], part: Part) -> Floats:
    """Tempered evidence of each line by one covariance."""
    points = updated([line for _, line in lines], question, part.noise)
    return np.array([MODEST * point.log_evidence for point in points])


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
    evidence: Mapping[Hypothesis, float],
    race: Mapping[Hypothesis, float],
    told: Mapping[Hypothesis, float],
    among: Sequence[Hypothesis],
    most: int,
) -> list[Hypothesis]:
    """The most probable among these so far, leaving out what is hardly worth its time."""
    score = {h: np.log(race[h]) + MODEST * e + told.get(h, 0.0) for h, e in evidence.items()}
    top = max(score.values())
    total = sum(np.exp(s - top) for s in score.values())
    worth = [h for h in among if np.exp(score[h] - top) / total > WORTH_DRAWING]
    return sorted(worth, key=lambda h: -score[h])[:most]
