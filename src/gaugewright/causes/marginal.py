"""How well a hypothesis predicts all readings at once, everything unknown integrated out.

Unknown are the sound engine's own numbers (standard normal, z) and each fault's severity (even
from 0 to 1).  Severity is taken in cells; within a cell prediction is brought to a straight line
in z and severity at the point the readings pull it to (iterated extended Kalman update), where
the integral is that of a normal.  The mixture of these normals over the cells is then the
proposal of a quasi-Monte Carlo run over the virtual engine itself (`sampling`), which corrects
what is not straight.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.causes.lines import Hypothesis, Line, Place, Rough, lines_at, rough_lines
from gaugewright.causes.model import Asked

Floats = npt.NDArray[np.float64]

REACH_Z = 3.5
"""The point a line is drawn at stays within so many standard deviations."""
DEAD = -1e4
"""Logarithm of the evidence of an engine that would not run."""
DIED = -6.0
"""What a hypothesis loses for each reading of an engine that by its prediction would not have run:
the engine's form may be off where a cold or lean engine only just runs (judgement)."""
HOPELESS = 25.0
"""A cell whose evidence by a rough line is so far behind (natural logarithm) gets no line of its
own, unless it is the best of its cause alone."""
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
        height = np.log(np.diag(factor)).sum() + 0.5 * len(factor) * np.log(2.0 * np.pi)
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


@dataclass(frozen=True)
class Cell:
    """A hypothesis within one cell of severities: the normal the readings leave.

    `severity` (k,) the cell's middle and `width` (k,) its size; `log_evidence`; `mean` (d + k,)
    and `covariance` of (z, severity in units of the cell's spread).  `off` (m,): each reading
    less what all the others make of it, and `off_variance` (m,) of that difference.
    """

    causes: Hypothesis
    severity: Floats
    width: Floats
    log_evidence: float
    mean: Floats
    covariance: Floats
    off: Floats
    off_variance: Floats
    effect: Floats | float = 0.0

    @property
    def place(self) -> Place:
        """Where it is."""
        return Place(self.causes, self.severity, self.width, effect=self.effect)


def cells_of(
    question: Asked,
    hypotheses: Sequence[Hypothesis],
    noise: Noise | Blend,
    grid: Mapping[int, int],
) -> dict[Hypothesis, list[Cell]]:
    """Every hypothesis in every cell; `grid`: cells a severity is cut in, by how many causes."""
    rough = rough_lines(question, hypotheses, grid)
    return sharpened(question, rough_cells(question, rough, noise), noise)


def rough_cells(
    question: Asked, rough: Rough, noise: Noise | Blend
) -> dict[Hypothesis, list[Cell]]:
    """About how well each hypothesis predicts the readings, by its rough lines."""
    flat = [pair for rows in rough.lines.values() for pair in rows]
    points = updated([line for _, line in flat], question, noise)
    cells: dict[Hypothesis, list[Cell]] = {}
    for (place, _), point in zip(flat, points, strict=True):
        cells.setdefault(place.causes, []).append(cell_of(place, point))
    return cells


def sharpened(
    question: Asked, cells: Mapping[Hypothesis, Sequence[Cell]], noise: Noise | Blend
) -> dict[Hypothesis, list[Cell]]:
    """The same cells, those within reach by a line at the point the readings pull them to."""
    flat = [cell for rows in cells.values() for cell in rows]
    near = _within_reach(flat)
    places = [flat[row].place for row in near]
    starts = [np.clip(flat[row].mean, -REACH_Z, REACH_Z) for row in near]
    points = updated(lines_at(question, places, starts), question, noise)
    better = dict(zip(near, map(cell_of, places, points), strict=True))
    found: dict[Hypothesis, list[Cell]] = {}
    for row, cell in enumerate(flat):
        found.setdefault(cell.causes, []).append(better.get(row, cell))
    return found


def cell_of(place: Place, point: Point) -> Cell:
    """A cell by its place and what the readings leave there."""
    return Cell(place.causes, place.severity, place.width, **vars(point), effect=place.effect)


def _within_reach(cells: Sequence[Cell]) -> list[int]:
    """The cells worth a line of their own: what is not hopelessly behind, and the best cell of each
    cause alone.

    A rough line misses by tens where a regulator or a seal lets go, so that one cause alone is
    never given up by it.
    """
    if not cells:
        return []
    evidence = np.array([cell.log_evidence for cell in cells])
    best: dict[Hypothesis, int] = {}
    for row, cell in enumerate(cells):
        if len(cell.causes) < 2 and evidence[row] > evidence[best.setdefault(cell.causes, row)]:
            best[cell.causes] = row
    near = set(np.flatnonzero(evidence > evidence.max() - HOPELESS)) | set(best.values())
    return sorted(int(row) for row in near)


@dataclass(frozen=True)
class Point:
    """What the readings leave of a line; fields as in `Cell`."""

    log_evidence: float
    mean: Floats
    covariance: Floats
    off: Floats
    off_variance: Floats


def updated(lines: list[Line], question: Asked, noise: Noise | Blend) -> list[Point]:
    """The normals that the readings leave of (z, severity), and the evidence of each line."""
    found: dict[int, Point] = {}
    for size in {line.slopes.shape[1] for line in lines}:
        which = [k for k, line in enumerate(lines) if line.slopes.shape[1] == size]
        alike = [lines[k] for k in which]
        parts = blend_of(noise).parts
        runs = [_updated_alike(alike, question, part.noise) for part in parts]
        weights = [part.log_weight for part in parts]
        points = [_blended(weights, each) for each in zip(*runs, strict=True)]
        found.update(zip(which, points, strict=True))
    return [found[k] for k in range(len(lines))]


def blur_of(effect: Floats | float) -> Floats:
    """Variance of a prediction by what is not known of the cause's own effect on it."""
    return np.asarray(np.square(SIGNATURE_SHARE * np.asarray(effect)))


def _blended(log_weights: Sequence[float], points: Sequence[Point]) -> Point:
    """The point by the covariance that fits it best, with the evidence of all."""
    logs = np.array([w + p.log_evidence for w, p in zip(log_weights, points, strict=True)])
    best = points[int(logs.argmax())]
    return replace(best, log_evidence=float(np.logaddexp.reduce(logs)))


def _updated_alike(lines: list[Line], question: Asked, noise: Noise) -> list[Point]:
    """Lines of one size, all at once.

    A reading that cannot be foreseen (the engine would not run) counts as not made, at the price
    of `DIED`.
    """
    value = np.stack([line.value for line in lines])
    foreseen = np.isfinite(value)
    slopes = np.stack([line.slopes for line in lines]) * foreseen[:, :, None]
    at = np.stack([line.at for line in lines])
    rest = np.where(foreseen, question.values - value, 0.0) + np.einsum("gms,gs->gm", slopes, at)
    whole = slopes @ slopes.transpose(0, 2, 1) + noise.covariance
    index = np.arange(rest.shape[1])
    effect = np.stack([np.broadcast_to(line.effect, rest.shape[1]) for line in lines])
    whole[:, index, index] += np.where(foreseen, blur_of(effect), UNFORESEEN)
    factor = np.linalg.cholesky(whole)
    back = np.linalg.inv(factor)
    white = np.einsum("gij,gj->gi", back, rest)
    gain = back @ slopes
    height = np.log(np.einsum("gii->gi", factor)).sum(axis=1) + 0.5 * len(index) * LOG_2_PI
    lost = np.count_nonzero(~foreseen, axis=1) * (DIED + 0.5 * (LOG_2_PI + np.log(UNFORESEEN)))
    evidence = np.where(
        foreseen.any(axis=1), lost - 0.5 * np.sum(white * white, axis=1) - height, DEAD
    )
    sharp = np.sum(back * back, axis=1)
    off = np.einsum("gij,gi->gj", back, white) / sharp
    mean = np.einsum("gms,gm->gs", gain, white)
    return [
        Point(
            log_evidence=float(evidence[k]),
            mean=mean[k],
            covariance=np.eye(slopes.shape[2]) - gain[k].T @ gain[k],
            off=np.where(foreseen[k], off[k], np.nan),
            off_variance=1.0 / sharp[k],
        )
        for k in range(len(lines))
    ]


def log_mean(values: Floats) -> float:
    """Logarithm of the mean of exponentials."""
    top = float(np.max(values))
    return top + float(np.log(np.mean(np.exp(values - top))))


def evidence_of(cells: list[Cell]) -> float:
    """Logarithm of a hypothesis' evidence: its cells are equally probable before."""
    return log_mean(np.array([cell.log_evidence for cell in cells]))
