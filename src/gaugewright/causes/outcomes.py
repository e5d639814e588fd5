"""What a test's readings would show under each hypothesis, as the virtual engine foresees it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.glance import MODEST
from gaugewright.causes.judging import Race
from gaugewright.causes.lines import spread_of
from gaugewright.causes.marginal import Cell
from gaugewright.causes.model import Variants, asked, predictions
from gaugewright.causes.noise import is_cold, model_error
from gaugewright.causes.observation import TRIM, Held, Observed, Seen
from gaugewright.causes.posed import joined, question_of, same_speed, undone
from gaugewright.causes.sampling import lattice
from gaugewright.causes.tests import Test
from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.said import said

Floats = npt.NDArray[np.float64]

ALIKE = 0.85
"""How much of the virtual engine's error in one condition it has in another like it (judgement)."""
ENGINES = 24
"""Engines drawn for each hypothesis from what the readings so far leave open."""
HYPOTHESES = 14
READ_SHARE = {"crankcase-pressure": 0.03, "oil-pressure": 0.02, TRIM: 0.05}

COARSE = "{what} {low:.0f} to {high:.0f} {unit}"
FINE = "{what} {low:.1f} to {high:.1f} {unit}"


@dataclass(frozen=True)
class Foreseen:
    """A test's possible outcomes: `chance` (n,) of each draw, what it would leave (n, h).

    `read` (n, q): the readings of each draw; `items` (q,) which they are.
    """

    hypotheses: tuple[Hypothesis, ...]
    prior: Floats
    chance: Floats
    after: Floats
    read: Floats
    items: tuple[Seen, ...]

    @property
    def saws(self) -> tuple[str, ...]:
        """A name for every draw; the groups tell them better."""
        return ("",) * len(self.chance)

    def groups(self) -> list[tuple[str, float, Floats]]:
        """Draws that would leave the same hypothesis leading: what is read, how often, and what
        is left."""
        leader = self.after.argmax(axis=1)
        told = self._telling(leader)
        found = []
        for name in np.unique(leader):
            inside = leader == name
            chance = float(self.chance[inside].sum())
            share = self.chance[inside] / chance
            found.append((self._said(inside, told), chance, share @ self.after[inside]))
        return found

    def _telling(self, leader: npt.NDArray[np.intp]) -> int:
        """The reading that parts the groups best."""
        spread = np.zeros(self.read.shape[1])
        for k in range(self.read.shape[1]):
            column = self.read[:, k]
            means = np.array([column[leader == g].mean() for g in np.unique(leader)])
            within = np.mean([column[leader == g].std() for g in np.unique(leader)])
            spread[k] = means.std() / (within + 1e-3 * abs(column).mean() + 1e-12)
        return int(spread.argmax())

    def _said(self, inside: npt.NDArray[np.bool_], k: int) -> str:
        """The middle half of what would be read, in words."""
        item = self.items[k]
        low, high = np.quantile(self.read[inside, k], [0.2, 0.8])
        if item.quantity == TRIM:
            return said("fuel trims {low:+.0f} to {high:+.0f} %", low=float(low), high=float(high))
        kind = QUANTITIES[item.quantity]
        low, high = (kind.findings_factor * v for v in (low, high))
        pattern = COARSE if abs(high) >= 20.0 else FINE
        what, unit = said(kind.word), said(kind.findings_unit)
        return said(pattern, what=what, low=float(low), high=float(high), unit=unit)


def foreseen(race: Race, tests: Sequence[Test]) -> dict[str, Foreseen]:
    """What each test that is read, not looked at, would show; those already done are left out."""
    open_ = {t.name: undone(race, t) for t in tests if t.kind == "condition"}
    open_ = {name: conditions for name, conditions in open_.items() if conditions}
    if not open_:
        return {}
    hypotheses, prior, blocks = _engines(race)
    if not hypotheses:
        return {}
    lasting = {test.name: test.lasting for test in tests}
    questions = {name: question_of(found, lasting[name]) for name, found in open_.items()}
    whole, places = joined(list(questions.values()))
    healthy = race.leading.question.healthy
    found = predictions(asked(whole, healthy), blocks)
    found = _steadied(race, whole, found, blocks)
    return {
        name: view
        for name, items in zip(questions, places, strict=True)
        if (view := _view(race, hypotheses, prior, found, whole, items)) is not None
    }


def _steadied(
    race: Race, whole: Observed, found: list[Floats], blocks: list[Variants]
) -> list[Floats]:
    """What is foreseen, moved by what the same engine was off in the condition most like it.

    The virtual engine's own error is much the same in two conditions that are alike, so that a
    reading which hardly differs from one already made tells hardly anything.
    """
    seen = race.leading.question.observed
    like = [_most_alike(seen, whole.holds[item.place], item) for item in whole.items]
    if all(j is None for j in like):
        return found
    before = predictions(race.leading.question, blocks)
    moved = []
    for values, old in zip(found, before, strict=True):
        new = values.copy()
        for k, j in enumerate(like):
            if j is not None:
                new[:, k] += ALIKE * (seen.items[j].value - old[:, j])
        moved.append(new)
    return moved


def _most_alike(seen: Observed, held: Held, item: Seen) -> int | None:
    """The reading of the same quantity at like speed and warmth, untouched where there is one."""
    fits = [
        (len(seen.holds[one.place].did - {"nothing", "speed-raised"}), j)
        for j, one in enumerate(seen.items)
        if one.quantity == item.quantity
        and one.reference != "crankcase"
        and not seen.holds[one.place].gone
        and same_speed(seen.holds[one.place], held)
        and is_cold(seen.holds[one.place]) == is_cold(held)
    ]
    return min(fits)[1] if fits else None


def _engines(race: Race) -> tuple[tuple[Hypothesis, ...], Floats, list[Variants]]:
    """Engines of the leading hypotheses, as the readings so far leave them."""
    one = race.leading
    d, build = one.question.healthy.count, one.question.healthy.build
    kept = [h for h in one.hypotheses if h.cells or not one.question.observed.items][:HYPOTHESES]
    kept = [h for h in kept if h.probability > 1e-4 and _is_an_engine(h.causes, build)]
    prior = np.array([h.probability for h in kept])
    blocks = []
    for h in kept:
        if h.cells:
            at = _posterior(list(h.cells), d)
        else:
            normal = lattice(ENGINES, d + len(h.causes))
            from scipy.special import ndtr

            at = np.concatenate([normal[:, :d], ndtr(normal[:, d:])], axis=1)
        blocks.append(Variants(h.causes, np.clip(at[:, d:], 0.0, 1.0), at[:, :d]))
    return tuple(h.causes for h in kept), prior / prior.sum(), blocks


def _is_an_engine(hypothesis: Hypothesis, build: Build) -> bool:
    """Can the virtual engine of this build have these causes?"""
    return all(cause in FAULTS and FAULTS[cause].suits(build) for cause in hypothesis)


def _posterior(cells: list[Cell], d: int) -> Floats:
    """Engines (n, d + k) drawn from the mixture of the cells' normals."""
    evidence = np.array([cell.log_evidence for cell in cells])
    share = np.cumsum(np.exp(evidence - evidence.max()))
    which = np.searchsorted(share / share[-1], (np.arange(ENGINES) + 0.5) / ENGINES)
    normal = lattice(ENGINES, d + len(cells[0].severity))
    rows = []
    for c, white in zip(which, normal, strict=True):
        cell = cells[c]
        root = np.linalg.cholesky(cell.covariance + 1e-9 * np.eye(len(cell.mean)))
        row = cell.mean + root @ white
        row[d:] = cell.severity + row[d:] * spread_of(cell.width)
        rows.append(row)
    return np.stack(rows)


def _view(
    race: Race,
    hypotheses: tuple[Hypothesis, ...],
    prior: Floats,
    found: list[Floats],
    whole: Observed,
    items: list[int],
) -> Foreseen | None:
    """The outcomes of one test: every engine drawn reads something, and each hypothesis has its
    normal of readings to weigh it by."""
    values = [block[:, items] for block in found]
    values = [block[np.isfinite(block).all(axis=1)] for block in values]
    alive = [k for k, block in enumerate(values) if len(block) >= 3]
    if len(alive) < 2:
        return None
    values = [values[k] for k in alive]
    prior = prior[alive] / prior[alive].sum()
    told = tuple(whole.items[k] for k in items)
    noise = _noise(race, whole, items, np.concatenate(values))
    draws = [
        block + lattice(len(block), len(items) + 1)[:, 1:] * np.sqrt(noise) for block in values
    ]
    read = np.concatenate(draws)
    density = np.stack([_log_normal(read, block, noise) for block in values], axis=1)
    after = MODEST * density + np.log(prior)
    after = np.exp(after - after.max(axis=1, keepdims=True))
    after /= after.sum(axis=1, keepdims=True)
    chance = np.concatenate(
        [np.full(len(block), p / len(block)) for p, block in zip(prior, values, strict=True)]
    )
    return Foreseen(tuple(hypotheses[k] for k in alive), prior, chance, after, read, told)


def _noise(race: Race, whole: Observed, items: list[int], values: Floats) -> Floats:
    """Variance of each reading about its prediction: the model's error and an instrument's."""
    middle = np.median(np.abs(values), axis=0)
    at = [replace(whole.items[k], value=float(m)) for k, m in zip(items, middle, strict=True)]
    outside = race.leading.question.healthy.middle.air.barometer_pa
    zero = np.zeros((len(at), len(at)))
    loose = race.leading.noise.leading.loose
    model = model_error(Observed(whole.holds, tuple(at), zero), float(np.asarray(outside)), loose)
    share = np.array([READ_SHARE.get(one.quantity, 0.01) for one in at])
    return np.asarray(model**2 + (share * middle) ** 2)


def _log_normal(read: Floats, block: Floats, noise: Floats) -> Floats:
    """Logarithm of the density of readings (n, q) under one hypothesis' engines."""
    mean = block.mean(axis=0)
    spread = np.cov(block.T, bias=True).reshape(len(noise), len(noise)) + np.diag(noise)
    factor = np.linalg.cholesky(spread)
    white = np.linalg.solve(factor, (read - mean).T)
    return np.asarray(-0.5 * np.sum(white**2, axis=0) - np.log(np.diag(factor)).sum())
