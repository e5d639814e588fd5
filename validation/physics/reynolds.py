"""Reynolds' equation on a grid: a full journal bearing whose film breaks where it would be pulled.

Dimensionless: theta from the widest gap, z from the middle of the bearing in half lengths,
h = 1 + eps cos(theta), pressure in 6 mu U r/c^2.  The film's end is not assumed: pressure may not
be negative, and where it is zero the film has broken (a linear complementarity problem, solved by
exchanging the set of wet points until it holds still).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix, csr_matrix, diags
from scipy.sparse.linalg import spsolve

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Film:
    """What a bearing's film carries and leaks, by the charts' names."""

    sommerfeld: float
    """(r/c)^2 mu N/P."""
    friction: float
    """f r/c on the journal, the whole circle wetted."""
    flow: float
    """Q/(r c N l) entering at the widest gap."""
    side_share: float
    """What leaves by the sides, of Q."""
    attitude_degrees: float
    """From the load's line to the narrowest gap."""


@dataclass(frozen=True)
class Grid:
    """Cell-centred in z (half the length), nodes in theta; dry at the widest gap."""

    around: int = 360
    across: int = 24

    @property
    def d_theta(self) -> float:
        return 2.0 * np.pi / self.around

    @property
    def d_z(self) -> float:
        return 1.0 / self.across

    @property
    def theta(self) -> Floats:
        return np.arange(1, self.around) * self.d_theta


def _matrix(grid: Grid, eps: float, ratio: float) -> tuple[csr_matrix, Floats]:
    """The balance of every cell: conductances to its neighbours, and the wedge's supply.

    `ratio` is l/d; across, the gradient is scaled with (d/l)^2.
    """
    rows, n = grid.around - 1, grid.across
    numbers = np.arange(rows * n).reshape(rows, n)
    around = (1.0 + eps * np.cos(grid.theta[:-1] + 0.5 * grid.d_theta)) ** 3 / grid.d_theta**2
    across = (1.0 + eps * np.cos(grid.theta)) ** 3 / (ratio * grid.d_z) ** 2
    first = (1.0 + eps * np.cos(0.5 * grid.d_theta)) ** 3 / grid.d_theta**2
    total = np.zeros((rows, n))
    total[:-1] += around[:, None]
    total[1:] += around[:, None]
    total[[0, -1]] += first
    total[:, :-1] += across[:, None]
    total[:, 1:] += across[:, None]
    total[:, -1] += 2.0 * across
    pairs = [
        (numbers[:-1], numbers[1:], np.broadcast_to(around[:, None], (rows - 1, n))),
        (numbers[:, :-1], numbers[:, 1:], np.broadcast_to(across[:, None], (rows, n - 1))),
    ]
    i = np.concatenate([a.ravel() for a, b, _ in pairs] + [b.ravel() for a, b, _ in pairs])
    j = np.concatenate([b.ravel() for a, b, _ in pairs] + [a.ravel() for a, b, _ in pairs])
    k = np.concatenate([c.ravel() for *_, c in pairs] * 2)
    links = coo_matrix((-k, (i, j)), shape=(rows * n, rows * n))
    half = 0.5 * grid.d_theta
    wedge = eps * (np.cos(grid.theta - half) - np.cos(grid.theta + half)) / grid.d_theta
    return (diags(total.ravel()) + links).tocsr(), np.repeat(wedge, n)


def pressures(grid: Grid, eps: float, ratio: float) -> Floats:
    """Pressure at every cell, none negative, shape (around - 1, across)."""
    matrix, supply = _matrix(grid, eps, ratio)
    wet = supply > 0.0
    pressure = np.zeros(len(supply))
    for _ in range(60):
        pressure[:] = 0.0
        pressure[wet] = spsolve(matrix[wet][:, wet], supply[wet])
        surplus = supply - matrix @ pressure
        now = np.where(wet, pressure > 0.0, surplus > 1e-12)
        if bool(np.all(now == wet)):
            return pressure.reshape(grid.around - 1, grid.across)
        wet = now
    raise RuntimeError("the wet part of the film does not settle")


def film(eps: float, ratio: float, grid: Grid | None = None) -> Film:
    """Sommerfeld number, friction, flow, side flow and attitude at an eccentricity and l/d."""
    grid = grid or Grid()
    pressure = pressures(grid, eps, ratio)
    line = pressure.mean(axis=1)
    along = -float(np.sum(line * np.cos(grid.theta))) * grid.d_theta
    aside = float(np.sum(line * np.sin(grid.theta))) * grid.d_theta
    load = float(np.hypot(along, aside))
    entering, leaking = _flows(grid, eps, ratio, pressure)
    drag = _drag(grid, eps, line)
    return Film(
        sommerfeld=1.0 / (6.0 * np.pi * load),
        friction=drag / (6.0 * load),
        flow=2.0 * np.pi * entering,
        side_share=leaking / entering,
        attitude_degrees=float(np.degrees(np.arctan2(aside, along))),
    )


def _flows(grid: Grid, eps: float, ratio: float, pressure: Floats) -> tuple[float, float]:
    """Entering at the widest gap, and leaving by both sides, in U c l."""
    first = 1.0 + eps * np.cos(0.5 * grid.d_theta)
    push = 0.5 * first**3 * float(pressure[0].mean()) / grid.d_theta
    entering = 0.5 * first - push
    gap = (1.0 + eps * np.cos(grid.theta)) ** 3
    steep = pressure[:, -1] / (0.5 * grid.d_z) / ratio**2
    leaking = 0.5 * float(np.sum(gap * steep)) * grid.d_theta
    return entering, leaking


def _drag(grid: Grid, eps: float, line: Floats) -> float:
    """The journal's drag, in mu U r l/c: shear of the whole circle and of the pressure's slope."""
    gap = 1.0 + eps * np.cos(grid.theta)
    steep = np.gradient(np.concatenate([[0.0], line, [0.0]]), grid.d_theta)[1:-1]
    couette = 1.0 / (1.0 + eps) + float(np.sum(1.0 / gap))
    return (couette + 3.0 * float(np.sum(gap * steep))) * grid.d_theta
