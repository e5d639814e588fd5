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
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.causes.lines import Hypothesis, Line, Place, lines_at, rough_lines
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

    def log_density(self, rest: Floats) -> Floats:
        """Logarithm of the density of what is left over, (n, m) -> (n,); `DEAD` for NaN."""
        factor = np.linalg.cholesky(self.covariance)
        white = np.linalg.solve(factor, np.nan_to_num(rest).T)
        height = np.log(np.diag(factor)).sum() + 0.5 * len(factor) * np.log(2.0 * np.pi)
        found = -0.5 * np.sum(white * white, axis=0) - height
        return np.where(np.isfinite(rest).all(axis=1), found, DEAD)


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

    @property
    def place(self) -> Place:
        """Where it is."""
        return Place(self.causes, self.severity, self.width)


def cells_of(
    question: Asked,
    hypotheses: Sequence[Hypothesis],
    noise: Noise,
    grid: Mapping[int, int],
) -> dict[Hypothesis, list[Cell]]:
    """Every hypothesis in every cell; `grid`: cells a severity is cut in, by how many causes."""
    return sharpened(question, rough_cells(question, hypotheses, noise, grid).cells, noise)


@dataclass(frozen=True)
class RoughCells:
    """Every hypothesis in every cell by rough lines, and the slopes along z (m, d) of each."""

    cells: dict[Hypothesis, list[Cell]]
    along_z: dict[Hypothesis, Floats]


def rough_cells(
    question: Asked,
    hypotheses: Sequence[Hypothesis],
    noise: Noise,
    grid: Mapping[int, int],
    alone: Mapping[Hypothesis, Floats] | None = None,
) -> RoughCells:
    """About how well each hypothesis predicts the readings.

    `alone`: slopes along z of each cause alone and of none, where those of two are to be added up.
    """
    rough = rough_lines(question, hypotheses, grid, alone)
    flat = [pair for rows in rough.lines.values() for pair in rows]
    points = updated([line for _, line in flat], question, noise)
    cells: dict[Hypothesis, list[Cell]] = {}
    for (place, _), point in zip(flat, points, strict=True):
        cells.setdefault(place.causes, []).append(cell_of(place, point))
    return RoughCells(cells, rough.along_z)


def sharpened(
    question: Asked, cells: Mapping[Hypothesis, Sequence[Cell]], noise: Noise
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
    return Cell(place.causes, place.severity, place.width, **vars(point))


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


def updated(lines: list[Line], question: Asked, noise: Noise) -> list[Point]:
    """The normals that the readings leave of (z, severity), and the evidence of each line."""
    found: dict[int, Point] = {}
    for size in {line.slopes.shape[1] for line in lines}:
        which = [k for k, line in enumerate(lines) if line.slopes.shape[1] == size]
        points = _updated_alike([lines[k] for k in which], question, noise)
        found.update(zip(which, points, strict=True))
    return [found[k] for k in range(len(lines))]


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
    whole[:, index, index] += np.where(foreseen, 0.0, UNFORESEEN)
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
