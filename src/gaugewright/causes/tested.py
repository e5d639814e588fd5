"""What the tests that are looked at have shown, as evidence: by the tables that advised them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.symptoms import Told
from gaugewright.causes.tests import chances, every_test
from gaugewright.causes.view import JobView
from gaugewright.job.words import TESTED


def tested(view: JobView, hypotheses: Sequence[Hypothesis]) -> tuple[Told, ...]:
    """What does each test that was looked at say about each hypothesis?

    The same chances that the advice foresaw.  Of two different words for one test, done twice, each
    counts half.  Returns one item for each word, in the order of the vocabulary.
    """
    found = []
    for test in every_test():
        words = view.words(test.name) if test.name in TESTED else ()
        table = np.log(chances(test, hypotheses)) / len(words) if words else None
        if table is not None:
            found += [Told(test.name, saw, table[test.outcomes.index(saw)]) for saw in words]
    return tuple(found)
