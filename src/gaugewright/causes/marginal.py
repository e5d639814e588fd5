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

from gaugewright.causes.lines import Hypothesis, Place, Rough, lines_at, rough_lines
from gaugewright.causes.meeting import Blend, Noise, Part, Point, log_evidences, updated
from gaugewright.causes.model import Asked

Floats = npt.NDArray[np.float64]

REACH_Z = 3.5
"""The point a line is drawn at stays within so many standard deviations."""
HOPELESS = 15.0
"""A cell whose evidence by a rough line is so far behind (natural logarithm) gets no line of its
own, unless it is the best of its cause alone."""


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


def rough_evidence(question: Asked, rough: Rough, part: Part) -> dict[Hypothesis, float]:
    """Logarithm of each hypothesis' evidence, by its rough lines and one covariance of a blend."""
    flat = [line for rows in rough.lines.values() for _, line in rows]
    logs = iter(part.log_weight + log_evidences(flat, question, [part.noise])[0])
    return {h: log_mean(np.array([next(logs) for _ in rows])) for h, rows in rough.lines.items()}


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


def log_mean(values: Floats) -> float:
    """Logarithm of the mean of exponentials."""
    top = float(np.max(values))
    return top + float(np.log(np.mean(np.exp(values - top))))


def evidence_of(cells: list[Cell]) -> float:
    """Logarithm of a hypothesis' evidence: its cells are equally probable before."""
    return log_mean(np.array([cell.log_evidence for cell in cells]))
