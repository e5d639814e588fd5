"""What an analysis said of the causes, as numbers that can be scored; and what the odds say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gaugewright.engine.build import Build
from gaugewright.evidence.results import Findings
from validation.causes.truths import NONE, ODDS, SOUND, TRADE, suits

Key = frozenset[str]


@dataclass(frozen=True)
class Answer:
    """`causes`: probability of each cause; `hypotheses`: of each set of causes together, links
    added up; both may leave out what is next to nothing."""

    causes: Mapping[str, float]
    hypotheses: Mapping[Key, float]

    @property
    def top(self) -> str:
        """The leading cause."""
        return max(self.causes, key=lambda cause: self.causes[cause])

    def shares(self) -> dict[str, float]:
        """Causes as shares that add up to 1, however many act at once."""
        total = sum(self.causes.values()) or 1.0
        return {cause: p / total for cause, p in self.causes.items()}

    def smallest_set(self, holds: float) -> set[Key]:
        """The fewest hypotheses that together hold this much."""
        chosen: set[Key] = set()
        held = 0.0
        for key, p in sorted(self.hypotheses.items(), key=lambda pair: -pair[1]):
            if held >= holds - 1e-9:
                break
            chosen.add(key)
            held += p
        return chosen


def answer_of(findings: Findings) -> Answer | None:
    """The answer in some findings; None where they weigh no cause."""
    if not findings.causes:
        return None
    hypotheses: dict[Key, float] = {}
    for one in findings.hypotheses:
        key = frozenset(one.causes)
        hypotheses[key] = hypotheses.get(key, 0.0) + one.probability
    causes = {one.cause: one.probability for one in findings.causes}
    if not hypotheses:
        total = sum(causes.values()) or 1.0
        hypotheses = {frozenset([cause]): p / total for cause, p in causes.items()}
    return Answer(causes, hypotheses)


def prior_answer(build: Build) -> Answer:
    """What the trade's odds alone say of a car of this kind: singles and pairs."""
    odds = {cause: value for cause, value in ODDS.items() if suits(cause, build)}
    total = sum(odds.values())
    single = {cause: value / total for cause, value in odds.items()}
    faults = {cause: p for cause, p in single.items() if cause not in (SOUND, NONE)}
    among = sum(faults.values())
    two = TRADE["two"]["share"]
    hypotheses = {
        frozenset([cause]): p * (1.0 - two if cause in faults else 1.0)
        for cause, p in single.items()
    }
    causes = dict(single)
    for first, p in faults.items():
        for second, q in faults.items():
            if first != second:
                both = two * p * q / (among - p)
                key = frozenset([first, second])
                hypotheses[key] = hypotheses.get(key, 0.0) + both
                causes[second] += both
    return Answer(causes, hypotheses)
