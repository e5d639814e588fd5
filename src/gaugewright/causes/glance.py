"""One kind of engine looked at first: every cause alone, and none, by straight lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gaugewright.causes.catalogue import NONE_OF_THESE, Hypothesis
from gaugewright.causes.healthy import Healthy
from gaugewright.causes.lines import Rough, rough_lines
from gaugewright.causes.marginal import HOPELESS, Cell, evidence_of, rough_cells, sharpened
from gaugewright.causes.meeting import Blend, log_evidences
from gaugewright.causes.model import Asked, asked
from gaugewright.causes.noise import blend_for, wide_noises_of
from gaugewright.causes.observation import Observed
from gaugewright.causes.otherwise import otherwise_cells
from gaugewright.engine.faults import FAULTS

CELLS = {0: 1, 1: 5, 2: 3}
"""Into how many cells each severity is cut, by how many causes a hypothesis has."""
MOST_PARTS, PART_BEHIND = 6, 5.0
"""So many covariances are gone on with, and none that is so far behind (natural logarithm)."""
TRACE = 0.1
"""What is left of the odds of a cause that an engine taken to be of this kind cannot have: the kind
may be told wrong, or not told (judgement)."""
MODEST = 0.7
"""The power the readings' evidence is taken to: they are not as independent as the model's error
has them (judgement, checked by the proof's reliability)."""


@dataclass(frozen=True)
class Glance:
    """What a first look at one kind of engine leaves.

    `race`: odds of the hypotheses it can have, `trace`: what is left of the odds of those it
    cannot; `told`: logarithm of the likelihood of what was seen and told.  `near`: the covariances
    the readings leave, and `more`, by how much all of them weigh more than the likeliest
    (logarithm).  `evidence`: logarithm, of each cause alone and of none of these; of everything
    where nothing was read.
    """

    question: Asked
    race: Mapping[Hypothesis, float]
    trace: Mapping[Hypothesis, float]
    told: Mapping[Hypothesis, float]
    near: Blend
    more: float
    rough: Rough | None
    cells: Mapping[Hypothesis, Sequence[Cell]]
    evidence: Mapping[Hypothesis, float]

    def scores(self, evidence: Mapping[Hypothesis, float]) -> dict[Hypothesis, float]:
        """Logarithms of the probabilities by this evidence of the readings, but for a constant."""
        return {
            h: float(np.log(self.race[h])) + MODEST * found + self.told.get(h, 0.0)
            for h, found in evidence.items()
        }

    @property
    def log_total(self) -> float:
        """How well this kind of engine does at a glance."""
        return float(np.logaddexp.reduce(list(self.scores(self.evidence).values())))


def glance_at(
    seen: Observed,
    healthy: Healthy,
    odds: Mapping[Hypothesis, float],
    told: Mapping[Hypothesis, float],
    barometer_pa: float,
) -> Glance:
    """The first look.

    Parameters: `odds` before any evidence and `told`, the logarithm of the likelihood of what
    was seen and told, for every hypothesis in the race.
    """
    question, blend = asked(seen, healthy), blend_for(seen, barometer_pa)
    race = {h: p for h, p in odds.items() if _possible(h, healthy)}
    trace = {h: TRACE * p for h, p in odds.items() if h not in race}
    if not seen.items:
        nothing = dict.fromkeys(race, 0.0)
        return Glance(question, race, trace, told, blend, 0.0, None, {}, nothing)
    singles = [h for h in race if len(h) == 1 and h != (NONE_OF_THESE,)]
    pairs = [h for h in race if len(h) == 2]
    alone = dict.fromkeys([(), *singles, *((cause,) for pair in pairs for cause in pair)])
    rough = rough_lines(question, list(alone), CELLS)
    before: dict[Hypothesis, float] = {
        h: float(np.log(race[h])) + told.get(h, 0.0) for h in singles
    }
    near, more = _fitting(question, rough, blend, before)
    cells = sharpened(question, rough_cells(question, rough.only(singles), near), near)
    if (NONE_OF_THESE,) in race:
        wide = wide_noises_of(seen, barometer_pa)
        cells[NONE_OF_THESE,] = otherwise_cells(question, near, wide)
    evidence = {h: evidence_of(own) for h, own in cells.items()}
    return Glance(question, race, trace, told, near, more, rough, cells, evidence)


def _possible(hypothesis: Hypothesis, healthy: Healthy) -> bool:
    return all(c == NONE_OF_THESE or FAULTS[c].suits(healthy.build) for c in hypothesis)


def _fitting(
    question: Asked, rough: Rough, blend: Blend, before: Mapping[Hypothesis, float]
) -> tuple[Blend, float]:
    """The covariances that the readings leave, by all causes alone; as probable before as ever.

    With them, by how much all of them together weigh more than the likeliest alone (logarithm).
    Cells that are hopeless even by the loosest are left out of it.
    """
    lines = [line for h in before for _, line in rough.lines[h]]
    log_share = [
        before[h] - float(np.log(len(rough.lines[h]))) for h in before for _ in rough.lines[h]
    ]
    noises = [part.noise for part in blend.parts]
    [loosest] = MODEST * log_evidences(lines, question, noises[-1:])
    near = np.flatnonzero(loosest > loosest.max() - HOPELESS)
    logs = MODEST * log_evidences([lines[k] for k in near], question, noises)
    weights = np.array([part.log_weight for part in blend.parts])
    totals = weights + np.logaddexp.reduce(logs + np.array(log_share)[near], axis=1)
    ranked = np.argsort(totals)[::-1][:MOST_PARTS]
    kept = [k for k in ranked if totals[k] > totals.max() - PART_BEHIND]
    more = float(np.logaddexp.reduce(totals[kept]) - totals.max())
    return Blend(tuple(blend.parts[k] for k in kept)), more
