"""Quasi-Monte Carlo over the virtual engine: a hypothesis' evidence without straight lines.

The proposal is the mixture of the normals of its cells (`marginal`), a little widened; each draw
is an engine that is solved whole, and weighs prior times likelihood over proposal.  The effective
sample size says whether enough draws count; where it is too small the straight-line evidence
stands, and is told as such.  No draw counts for more than the root of their number times their
mean (E. L. Ionides, Truncated importance sampling, J. Comput. Graph. Stat. 17, 2008; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.causes.lines import spread_of
from gaugewright.causes.marginal import Cell, evidence_of, log_mean
from gaugewright.causes.meeting import DEAD, Blend, Noise, blur_of
from gaugewright.causes.model import Asked, Variants, scaled_predictions

Floats = npt.NDArray[np.float64]

WIDER = 1.1
"""Variance of the proposal over that of the cells' normals."""
EVEN = 0.15
"""Share of the draws spread evenly over the cells rather than by their evidence."""
LEAST_EFFECTIVE = 20.0
"""Below this effective sample size the run is refused."""


@dataclass(frozen=True)
class Drawn:
    """A hypothesis' draws: z (n, d), severity (n, k), predictions (n, m), weights adding up to 1.

    `log_evidence` is that of the run, or of the cells where it was refused (`effective` too low).
    """

    causes: tuple[str, ...]
    z: Floats
    severity: Floats
    predicted: Floats
    weight: Floats
    log_evidence: float
    effective: float

    @property
    def refused(self) -> bool:
        """Did too few draws count?"""
        return self.effective < LEAST_EFFECTIVE


def drawn(
    question: Asked,
    chosen: dict[tuple[str, ...], list[Cell]],
    noise: Noise | Blend,
    count: int,
) -> dict[tuple[str, ...], Drawn]:
    """Every chosen hypothesis drawn `count` times and weighed, all solved in one go."""
    proposals = {
        causes: _Proposal(cells, question.healthy.count) for causes, cells in chosen.items()
    }
    points = {causes: proposal.draws(count) for causes, proposal in proposals.items()}
    d = question.healthy.count
    blocks = [
        Variants(causes, np.clip(at[:, d:], 0.0, 1.0), at[:, :d]) for causes, at in points.items()
    ]
    found = scaled_predictions(question, blocks) if blocks else []
    return {
        causes: _weighed(question, causes, at, values, proposals[causes], noise, chosen[causes])
        for (causes, at), values in zip(points.items(), found, strict=True)
    }


class _Proposal:
    """A mixture of normals over (z, severity)."""

    def __init__(self, cells: list[Cell], d: int) -> None:
        self.d = d
        evidence = np.array([cell.log_evidence for cell in cells])
        share = np.exp(evidence - evidence.max())
        share = (1.0 - EVEN) * share / share.sum() + EVEN / len(cells)
        kept = share > 0.2 * EVEN / len(cells)
        self.share = share[kept] / share[kept].sum()
        parts = [_normal(cell, d) for cell, keep in zip(cells, kept, strict=True) if keep]
        self.means = [mean for mean, _ in parts]
        self.roots = [np.linalg.cholesky(covariance) for _, covariance in parts]

    def draws(self, count: int) -> Floats:
        """(count, d + k) points, each normal in its share."""
        from scipy.special import ndtr

        normal = lattice(count, len(self.means[0]) + 1)
        which = np.searchsorted(np.cumsum(self.share), ndtr(normal[:, -1]), side="right")
        which = np.minimum(which, len(self.means) - 1)
        return np.stack(
            [self.means[c] + self.roots[c] @ row[:-1] for c, row in zip(which, normal, strict=True)]
        )

    def log_density(self, at: Floats) -> Floats:
        """Of each point (n,)."""
        terms = []
        for share, mean, root in zip(self.share, self.means, self.roots, strict=True):
            white = np.linalg.solve(root, (at - mean).T)
            height = np.log(np.diag(root)).sum() + 0.5 * len(mean) * np.log(2.0 * np.pi)
            terms.append(np.log(share) - 0.5 * np.sum(white**2, axis=0) - height)
        return np.asarray(np.logaddexp.reduce(np.stack(terms), axis=0))


def _normal(cell: Cell, d: int) -> tuple[Floats, Floats]:
    """Mean and covariance of a cell's normal with the severities as they are."""
    scale = np.concatenate([np.ones(d), spread_of(cell.width)])
    mean = cell.mean * scale
    mean[d:] += cell.severity
    return mean, WIDER * cell.covariance * np.outer(scale, scale)


def _weighed(
    question: Asked,
    causes: tuple[str, ...],
    at: Floats,
    values: Floats,
    proposal: _Proposal,
    noise: Noise | Blend,
    cells: list[Cell],
) -> Drawn:
    d = question.healthy.count
    z, severity = at[:, :d], at[:, d:]
    inside = np.all((severity >= 0.0) & (severity <= 1.0), axis=1)
    likelihood = _likelihood(question.values - values, severity, cells, noise)
    prior = -0.5 * np.sum(z * z, axis=1) - 0.5 * d * np.log(2.0 * np.pi)
    log_weight = np.where(inside, prior + likelihood - proposal.log_density(at), DEAD)
    log_weight = np.minimum(log_weight, log_mean(log_weight) + 0.5 * np.log(len(at)))
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    effective = float(1.0 / np.sum(weight**2))
    evidence = log_mean(log_weight)
    if effective < LEAST_EFFECTIVE or evidence < 0.5 * DEAD:
        evidence = evidence_of(cells)
        effective = min(effective, LEAST_EFFECTIVE - 1.0)
    return Drawn(causes, z, np.clip(severity, 0.0, 1.0), values, weight, evidence, effective)


def _likelihood(rest: Floats, severity: Floats, cells: list[Cell], noise: Noise | Blend) -> Floats:
    """Logarithm of each draw's likelihood (n,), with the blur of the cell its severity lies in."""
    middles = np.stack([cell.severity for cell in cells])
    nearest = np.abs(severity[:, None, :] - middles).sum(axis=2).argmin(axis=1)
    found = np.empty(len(rest))
    for k in np.unique(nearest):
        inside = nearest == k
        found[inside] = noise.log_density(rest[inside], blur_of(cells[k].effect))
    return found


def lattice(count: int, size: int) -> Floats:
    """(count, size) standard normal points, every column spread evenly and in an order of its own.

    A Latin hypercube: each column has one point in each of `count` slices of equal probability,
    so that means and spreads are nearly those of the normal whatever `count`; the orders are
    always the same for a `count` and a `size`, and differ between sizes.
    Source: M. D. McKay, R. J. Beckman and W. J. Conover, Technometrics 21 (1979), 239-245 (from
    memory).
    """
    from scipy.special import ndtri

    rng = np.random.default_rng((count, size))
    order = np.argsort(rng.random((size, count)), axis=1)
    return np.asarray(ndtri((order.T + 0.5) / count))
