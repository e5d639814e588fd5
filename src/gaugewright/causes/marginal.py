"""How well a hypothesis predicts all readings at once, everything unknown integrated out.

Unknown are the sound engine's own numbers (standard normal, z) and each fault's severity (even
from 0 to 1).  Severity is taken in cells; within a cell prediction is brought to a straight line
in z and severity at the point the readings pull it to (iterated extended Kalman update), where
the integral is that of a normal.  The mixture of these normals over the cells is then the
proposal of a quasi-Monte Carlo run over the virtual engine itself (`sampling`), which corrects
what is not straight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.causes.model import Asked, Variants, scaled_predictions

Floats = npt.NDArray[np.float64]

STEP_Z = 0.25
"""Difference in z for the slopes, in standard deviations."""
STEP_SEVERITY = 0.04
REACH_Z = 3.5
"""The point a line is drawn at stays within so many standard deviations."""
DEAD = -1e4
"""Logarithm of the evidence of an engine that would not run."""
DIED = -6.0
"""What a hypothesis loses for each reading of an engine that by its prediction would not have run:
the engine's form may be off where a cold or lean engine only just runs (judgement)."""
HOPELESS = 25.0
"""A cell of two causes whose evidence is so far behind (natural logarithm) is not brought to a
second line."""
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

    causes: tuple[str, ...]
    severity: Floats
    width: Floats
    log_evidence: float
    mean: Floats
    covariance: Floats
    off: Floats
    off_variance: Floats


def cells_of(
    question: Asked, hypotheses: Sequence[tuple[str, ...]], noise: Noise, grid: dict[int, int]
) -> dict[tuple[str, ...], list[Cell]]:
    """Every hypothesis in every cell; `grid`: cells a severity is cut in, by how many causes."""
    middles = [
        (causes, severity, np.full(len(causes), 1.0 / grid[len(causes)]))
        for causes in hypotheses
        for severity in _grid(len(causes), grid[len(causes)])
    ]
    points = _updated(_lines(question, middles, None), question, noise)
    near = _within_reach(middles, points)
    again = [np.clip(points[k].mean, -REACH_Z, REACH_Z) for k in near]
    lines = _lines(question, [middles[k] for k in near], again)
    for k, point in zip(near, _updated(lines, question, noise), strict=True):
        points[k] = point
    found: dict[tuple[str, ...], list[Cell]] = {}
    for (causes, severity, width), point in zip(middles, points, strict=True):
        cell = Cell(causes, severity, width, **vars(point))
        found.setdefault(causes, []).append(cell)
    return found


def _within_reach(
    middles: list[tuple[tuple[str, ...], Floats, Floats]], points: list[_Point]
) -> list[int]:
    """The cells worth a second line: those of one cause, and of two what is not hopelessly behind.

    A first line misses by tens where a regulator or a seal lets go, so that one cause alone, which
    the pairs are built on, is never given up by it.
    """
    evidence = np.array([point.log_evidence for point in points])
    if not len(evidence):
        return []
    near = evidence > evidence.max() - HOPELESS
    return [k for k, (causes, _, _) in enumerate(middles) if len(causes) < 2 or near[k]]


@dataclass(frozen=True)
class Screen:
    """Slopes of one cause alone, from which those of two together are put together."""

    slopes: dict[tuple[str, float], Floats]
    sound: Floats


def screen_of(question: Asked, singles: list[str], cells: int) -> Screen:
    """The slopes of every cause alone at the middles of so many cells, and of no cause."""
    middles = [
        ((cause,), severity, np.full(1, 1.0 / cells))
        for cause in singles
        for severity in _grid(1, cells)
    ]
    whole = [*middles, ((), np.zeros(0), np.zeros(0))]
    lines = _lines(question, whole, None)
    slopes = {
        (causes[0], float(severity[0])): line.slopes
        for (causes, severity, _), line in zip(middles, lines, strict=False)
    }
    return Screen(slopes, lines[-1].slopes)


def screened(
    question: Asked, pairs: Sequence[tuple[str, ...]], noise: Noise, screen: Screen, cells: int
) -> dict[tuple[str, ...], float]:
    """About how well each pair predicts the readings: its own values, slopes added up."""
    d = question.healthy.count
    severities = _grid(2, cells)
    z = np.zeros((len(severities), d))
    blocks = [Variants(pair, np.stack(severities), z) for pair in pairs]
    found = scaled_predictions(question, blocks) if pairs else []
    lines = [
        _Line(value, _added(screen, pair, severity, d), np.zeros(d + 2))
        for pair, values in zip(pairs, found, strict=True)
        for value, severity in zip(values, severities, strict=True)
    ]
    points = _updated(lines, question, noise)
    evidence = np.array([point.log_evidence for point in points])
    evidence = evidence.reshape(len(pairs), len(severities))
    return {pair: log_mean(row) for pair, row in zip(pairs, evidence, strict=True)}


def _added(screen: Screen, pair: tuple[str, ...], severity: Floats, d: int) -> Floats:
    one, other = (screen.slopes[cause, float(s)] for cause, s in zip(pair, severity, strict=True))
    z = one[:, :d] + other[:, :d] - screen.sound
    return np.concatenate([z, one[:, d:], other[:, d:]], axis=1)


def _grid(count: int, cells: int) -> list[Floats]:
    """The middles of the cells, every combination of `count` severities."""
    if count == 0:
        return [np.zeros(0)]
    middle = (np.arange(cells) + 0.5) / cells
    mesh = np.meshgrid(*([middle] * count), indexing="ij")
    return list(np.stack([axis.ravel() for axis in mesh], axis=1))


@dataclass(frozen=True)
class _Line:
    """Prediction about a point: value (m,) there, slopes (m, d + k), and the point itself."""

    value: Floats
    slopes: Floats
    at: Floats


@dataclass(frozen=True)
class _Point:
    log_evidence: float
    mean: Floats
    covariance: Floats
    off: Floats
    off_variance: Floats


def spread_of(width: Floats) -> Floats:
    """Standard deviation of an even spread over a cell."""
    return np.asarray(width / np.sqrt(12.0))


def _lines(
    question: Asked,
    middles: list[tuple[tuple[str, ...], Floats, Floats]],
    points: list[Floats] | None,
) -> list[_Line]:
    """Prediction and slopes at a point of each cell, all solved in one go."""
    d = question.healthy.count
    blocks = []
    at_all = []
    for index, (causes, severity, width) in enumerate(middles):
        at = np.zeros(d + len(causes)) if points is None else points[index]
        at = _within(at, severity, width, d)
        at_all.append(at)
        blocks.append(_around(causes, severity, width, at, d))
    found = scaled_predictions(question, blocks)
    return [
        _line(values, at, causes, width, d)
        for values, at, (causes, _, width) in zip(found, at_all, middles, strict=True)
    ]


def _within(at: Floats, severity: Floats, width: Floats, d: int) -> Floats:
    """The point with its severities where there are any: from 0 to a step short of 1."""
    spread = spread_of(width)
    low, high = -severity / spread, (1.0 - STEP_SEVERITY - severity) / spread
    return np.concatenate([at[:d], np.clip(at[d:], low, high)])


def _around(
    causes: tuple[str, ...], severity: Floats, width: Floats, at: Floats, d: int
) -> Variants:
    """The point, and a step from it along each z and each severity."""
    k = len(causes)
    z = np.tile(at[:d], (1 + d + k, 1))
    z[1 + np.arange(d), np.arange(d)] += STEP_Z
    grave = np.tile(severity + at[d:] * spread_of(width), (1 + d + k, 1))
    grave[1 + d + np.arange(k), np.arange(k)] += STEP_SEVERITY
    return Variants(causes, grave, z)


def _line(values: Floats, at: Floats, causes: tuple[str, ...], width: Floats, d: int) -> _Line:
    k = len(causes)
    slopes = np.empty((values.shape[1], d + k))
    slopes[:, :d] = (values[1 : 1 + d] - values[0]).T / STEP_Z
    slopes[:, d:] = (values[1 + d :] - values[0]).T / STEP_SEVERITY * spread_of(width)
    return _Line(values[0], np.where(np.isfinite(slopes), slopes, 0.0), at)


def _updated(lines: list[_Line], question: Asked, noise: Noise) -> list[_Point]:
    """The normals that the readings leave of (z, severity), and the evidence of each line."""
    found: dict[int, _Point] = {}
    for size in {line.slopes.shape[1] for line in lines}:
        which = [k for k, line in enumerate(lines) if line.slopes.shape[1] == size]
        points = _updated_alike([lines[k] for k in which], question, noise)
        found.update(zip(which, points, strict=True))
    return [found[k] for k in range(len(lines))]


def _updated_alike(lines: list[_Line], question: Asked, noise: Noise) -> list[_Point]:
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
        _Point(
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
