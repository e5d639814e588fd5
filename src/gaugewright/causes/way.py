"""How long the way to a call is: what the tests that decide would take from here.

A workshop without any advice looks for each cause by the test that decides on it, in the order of
odds over minutes (common practice, no source).  What that would take on average is the yardstick
for every other test: one that shortens the way by more than its own minutes is worth doing first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from gaugewright.causes import catalogue
from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.tests import Test, chances, decisive
from gaugewright.physics.numbers import Floats

SETTLED = 0.95
"""A cause of this probability is called; no test is sought beyond it."""
OVERHEAD_MIN = 2.0
"""What any test takes beside its own minutes: getting to it, noting it (judgement)."""
GIVEN_UP_MIN = 240.0
"""No way is longer: by then parts are changed on suspicion (judgement)."""
SHOWS, TELLS = 0.5, 15.0
"""A look decides on a cause that it shows so often, and so many times as often as other causes do
(judgement)."""


def minutes_of(test: Test) -> float:
    """What a test takes, all in all."""
    return test.minutes + test.parts_minutes + OVERHEAD_MIN


@dataclass(frozen=True)
class Way:
    """The minutes of the quickest test that decides on each cause, (c,); infinite where none is
    open, and for what is left when all others are out."""

    minutes: Floats

    def left(self, causes: Floats) -> Floats:
        """Expected minutes until one cause is settled, (n,), for probabilities (n, c).

        The tests are done in the order of odds over minutes, each taken to find its cause where it
        is there.
        """
        share = causes / causes.sum(axis=1, keepdims=True)
        order = np.argsort(-share / self.minutes, axis=1, kind="stable")
        spent = np.minimum(np.cumsum(self.minutes[order], axis=1), GIVEN_UP_MIN)
        found = np.sum(np.take_along_axis(share, order, axis=1) * spent, axis=1)
        return np.where(causes.max(axis=1) >= SETTLED, 0.0, found)


def way_of(open_: Sequence[Test]) -> Way:
    """The way by these tests, over all causes of the catalogue in its order."""
    minutes = dict.fromkeys(catalogue.NAMES, np.inf)
    for test in open_:
        for cause in _decides(test):
            minutes[cause] = min(minutes[cause], minutes_of(test))
    return Way(np.array([minutes[cause] for cause in catalogue.NAMES]))


@lru_cache(maxsize=64)
def held_by(hypotheses: tuple[Hypothesis, ...]) -> Floats:
    """1 where a hypothesis holds a cause, (h, c)."""
    found = np.array([[float(c in h) for c in catalogue.NAMES] for h in hypotheses])
    found.flags.writeable = False
    return found


def _decides(test: Test) -> list[str]:
    found = [cause for cause, name in decisive().items() if name == test.name]
    if test.kind != "look":
        return found
    alone: list[Hypothesis] = [(cause,) for cause in catalogue.FAULTS]
    table = chances(test, alone)
    others = (table.sum(axis=1, keepdims=True) - table) / (len(alone) - 1)
    clear = ((table >= SHOWS) & (table >= TELLS * others)).any(axis=0)
    return list({*found, *(h[0] for h, yes in zip(alone, clear, strict=True) if yes)})
