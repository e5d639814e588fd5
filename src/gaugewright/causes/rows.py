"""Tables of P(word | cause): a usual row, the causes that depart from it, two causes together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gaugewright.causes.catalogue import FAULTS, NAMES, NONE_OF_THESE, Hypothesis
from gaugewright.physics.numbers import Floats

SLIP = 0.004
"""Chance that any one word is written down by mistake (J): no entry falls below it."""


@dataclass(frozen=True)
class Rows:
    """P(word | cause): each row adds up to 1.

    `usual`: the word that says that nothing is to be seen, None where there is no such word.
    `background`: the row of an engine that has nothing to do with this.
    """

    words: tuple[str, ...]
    usual: str | None
    background: Floats
    of_cause: Mapping[str, Floats]


def rows_of(
    words: Sequence[str],
    usual: str | None,
    default: Mapping[str, float],
    but: Mapping[str, Mapping[str, float]],
) -> Rows:
    """The table from weights: the default row, and for some causes other weights of some words.

    A cause from outside the catalogue, unless stated, does what the faults of the catalogue do on
    average.
    """
    stated = {name: _row(words, {**default, **but.get(name, {})}) for name in NAMES}
    if NONE_OF_THESE not in but:
        stated[NONE_OF_THESE] = np.mean([stated[name] for name in FAULTS], axis=0)
    return Rows(tuple(words), usual, _row(words, default), stated)


def _row(words: Sequence[str], weights: Mapping[str, float]) -> Floats:
    row = np.array([weights[word] for word in words], dtype=np.float64)
    return np.asarray((1.0 - SLIP * len(words)) * row / row.sum() + SLIP)


def table(rows: Rows, hypotheses: Sequence[Hypothesis]) -> Floats:
    """P(word | hypothesis), (words, hypotheses); each column adds up to 1.

    Of two causes the one that shows is seen: a word other than the usual one comes from either or
    from the background.  Where no word is usual, one of the two is told, either as often.
    """
    names = list(rows.of_cause)
    every = np.stack([rows.of_cause[name] for name in names], axis=1)
    place = {name: k for k, name in enumerate(names)}
    ends = np.array([(place[h[0]], place[h[-1]]) for h in hypotheses]).reshape(-1, 2)
    first, second = every[:, ends[:, 0]], every[:, ends[:, 1]]
    both = 0.5 * (first + second) if rows.usual is None else _either(rows, first, second)
    return np.where(ends[:, 0] == ends[:, 1], first, both)


def _either(rows: Rows, first: Floats, second: Floats) -> Floats:
    at = rows.words.index(rows.usual or "")
    seen = either(first, second, rows.background[:, None])
    rarer = np.minimum(first[at], second[at])
    seen[at] = np.minimum(rarer, first[at] * second[at] / rows.background[at])
    seen = np.maximum(seen, SLIP)
    return np.asarray(seen / seen.sum(axis=0))


def either(first: Floats, second: Floats, background: Floats) -> Floats:
    """A sign of either cause, their common background counted once (noisy or).

    Where both make it rarer than the background, the one that makes it less rare.
    Source: J. Pearl, Probabilistic Reasoning in Intelligent Systems, section 4.3.2 (the noisy-or
    gate; from memory), with a leak.
    """
    largest = np.maximum(first, second)
    leak = np.minimum(background, largest)
    neither = (1.0 - np.maximum(first, leak)) * (1.0 - np.maximum(second, leak)) / (1.0 - leak)
    return np.asarray(np.clip(1.0 - neither, SLIP, 1.0 - SLIP))
