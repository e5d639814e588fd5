"""Where straight lines meet readings: how probable the readings are, and what they leave open.

The readings' covariance, or several of which one holds, nobody knows which, comes on top of what
the lines themselves leave unknown; the rest is the algebra of normals (R. E. Kalman, J. Basic Eng.
82, 1960, 35-45, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.causes.lines import Line
from gaugewright.causes.model import Asked

Floats = npt.NDArray[np.float64]
Which = npt.NDArray[np.intp]

DEAD = -1e4
"""Logarithm of the evidence of an engine that would not run."""
DIED = -6.0
"""What a hypothesis loses for each reading of an engine that by its prediction would not have run:
the engine's form may be off where a cold or lean engine only just runs (judgement)."""
LOG_2_PI = float(np.log(2.0 * np.pi))
SIGNATURE_SHARE = 0.2
"""Of what a cause does to a reading in the virtual engine: how far off that may be (judgement)."""
UNFORESEEN = 1.0e12
"""Variance of a reading that cannot be foreseen: as good as not made."""


@dataclass(frozen=True)
class Noise:
    """Covariance (m, m) of the readings with the model's own error, and its parts."""

    covariance: Floats

    @property
    def inverse(self) -> Floats:
        """Its inverse."""
        return np.asarray(np.linalg.inv(self.covariance))

    def log_density(self, rest: Floats, more: Floats | float = 0.0) -> Floats:
        """Logarithm of the density of what is left over, (n, m) -> (n,); `DEAD` for NaN.

        `more` (m,): variance of each beside the covariance.
        """
        factor = np.linalg.cholesky(self.covariance + np.diag(more + np.zeros(rest.shape[1])))
        white = np.linalg.solve(factor, np.nan_to_num(rest).T)
        height = np.log(np.diag(factor)).sum() + 0.5 * len(factor) * LOG_2_PI
        found = -0.5 * np.sum(white * white, axis=0) - height
        return np.where(np.isfinite(rest).all(axis=1), found, DEAD)


@dataclass(frozen=True)
class Part:
    """One covariance of a blend: how probable it is before (logarithm), and which groups of
    readings it holds the virtual engine to only loosely."""

    log_weight: float
    noise: Noise
    loose: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Blend:
    """Several covariances of which one holds, nobody knows which; the likeliest comes first."""

    parts: tuple[Part, ...]

    def log_density(self, rest: Floats, more: Floats | float = 0.0) -> Floats:
        """Logarithm of the density of what is left over, (n, m) -> (n,)."""
        rows = [part.log_weight + part.noise.log_density(rest, more) for part in self.parts]
        return np.asarray(np.logaddexp.reduce(np.stack(rows), axis=0))

    @property
    def leading(self) -> Part:
        """The likeliest one."""
        return self.parts[0]


def blend_of(noise: Noise | Blend) -> Blend:
    """One covariance as a blend of one."""
    return noise if isinstance(noise, Blend) else Blend((Part(0.0, noise),))


def blur_of(effect: Floats | float) -> Floats:
    """Variance of a prediction by what is not known of the cause's own effect on it."""
    return np.asarray(np.square(SIGNATURE_SHARE * np.asarray(effect)))


@dataclass(frozen=True)
class Point:
    """What the readings leave of a line; fields as in `marginal.Cell`."""

    log_evidence: float
    mean: Floats
    covariance: Floats
    off: Floats
    off_variance: Floats


def updated(lines: Sequence[Line], question: Asked, noise: Noise | Blend) -> list[Point]:
    """The normals that the readings leave of (z, severity), and the evidence of each line.

    Of a blend: the evidence of all its covariances, the normal by the one that fits the line best.
    """
    parts = blend_of(noise).parts
    found: dict[int, Point] = {}
    for which, alike in _alike(lines, question):
        logs = np.stack([p.log_weight + alike.log_evidence(p.noise) for p in parts])
        best, whole = logs.argmax(axis=0), np.logaddexp.reduce(logs, axis=0)
        for k in np.unique(best):
            mine = np.flatnonzero(best == k)
            points = alike.some(mine).points(parts[int(k)].noise)
            told = [
                replace(point, log_evidence=float(log))
                for point, log in zip(points, whole[mine], strict=True)
            ]
            found.update(zip(which[mine].tolist(), told, strict=True))
    return [found[k] for k in range(len(lines))]


def log_evidences(lines: Sequence[Line], question: Asked, noises: Sequence[Noise]) -> Floats:
    """Logarithm of the evidence of each line by each covariance, (covariances, lines)."""
    found = np.empty((len(noises), len(lines)))
    for which, alike in _alike(lines, question):
        for k, noise in enumerate(noises):
            found[k, which] = alike.log_evidence(noise)
    return found


def _alike(lines: Sequence[Line], question: Asked) -> Iterator[tuple[Which, _Alike]]:
    """The lines by how many slopes they have."""
    sizes = np.array([line.slopes.shape[1] for line in lines])
    for size in np.unique(sizes):
        which = np.flatnonzero(sizes == size)
        yield which, _Alike.of([lines[int(k)] for k in which], question)


@dataclass(frozen=True)
class _Alike:
    """n lines of one size, before any covariance is added.

    `rest` (n, m) of the readings; a reading that cannot be foreseen (the engine would not run)
    counts as not made, at the price of `DIED`.  `spread` (n, m, m): what the lines leave unknown.
    """

    foreseen: npt.NDArray[np.bool_]
    rest: Floats
    slopes: Floats
    spread: Floats

    @classmethod
    def of(cls, lines: Sequence[Line], question: Asked) -> _Alike:
        value = np.stack([line.value for line in lines])
        foreseen = np.isfinite(value)
        slopes = np.stack([line.slopes for line in lines]) * foreseen[:, :, None]
        at = np.stack([line.at for line in lines])
        rest = np.where(foreseen, question.values - value, 0.0)
        rest += np.einsum("gms,gs->gm", slopes, at)
        spread = slopes @ slopes.transpose(0, 2, 1)
        index = np.arange(rest.shape[1])
        effect = np.stack([np.broadcast_to(line.effect, rest.shape[1]) for line in lines])
        spread[:, index, index] += np.where(foreseen, blur_of(effect), UNFORESEEN)
        return cls(foreseen, rest, slopes, spread)

    def some(self, which: Which) -> _Alike:
        """Some of the lines."""
        if which.size == len(self.rest):
            return self
        return _Alike(*(array[which] for array in vars(self).values()))

    def _factor(self, noise: Noise) -> Floats:
        return np.asarray(np.linalg.cholesky(self.spread + noise.covariance))

    def log_evidence(self, noise: Noise) -> Floats:
        """Of each line, (n,)."""
        factor = self._factor(noise)
        white = np.asarray(np.linalg.solve(factor, self.rest[:, :, None])[:, :, 0])
        return self._log_evidence(factor, white)

    def _log_evidence(self, factor: Floats, white: Floats) -> Floats:
        height = np.log(np.einsum("gii->gi", factor)).sum(axis=1)
        height += 0.5 * white.shape[1] * LOG_2_PI
        died = np.count_nonzero(~self.foreseen, axis=1)
        lost = died * (DIED + 0.5 * (LOG_2_PI + np.log(UNFORESEEN)))
        found = lost - 0.5 * np.sum(white * white, axis=1) - height
        return np.where(self.foreseen.any(axis=1), found, DEAD)

    def points(self, noise: Noise) -> list[Point]:
        """What the readings leave of each line."""
        factor = self._factor(noise)
        back = np.linalg.inv(factor)
        white = np.einsum("gij,gj->gi", back, self.rest)
        gain = back @ self.slopes
        evidence = self._log_evidence(factor, white)
        sharp = np.sum(back * back, axis=1)
        off = np.where(self.foreseen, np.einsum("gij,gi->gj", back, white) / sharp, np.nan)
        mean = np.einsum("gms,gm->gs", gain, white)
        covariance = np.eye(gain.shape[2]) - gain.transpose(0, 2, 1) @ gain
        rows = zip(evidence.tolist(), mean, covariance, off, 1.0 / sharp, strict=True)
        return [Point(*row) for row in rows]
