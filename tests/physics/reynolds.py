"""An independent solution of Reynolds' equation for a full journal bearing, by differences.

div(h^3 grad p) = dh/dtheta with h = 1 + eps cos(theta), p = 0 at the widest film and at the
ends and nowhere negative (film ends where p and its slope are 0).
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import spsolve


@dataclass(frozen=True)
class Film:
    sommerfeld: float
    attitude_deg: float
    friction: float
    flow: float
    side_share: float
    pressure_ratio: float


def solve(eccentricity: float, length_ratio: float, around: int = 180, along: int = 24) -> Film:
    """`length_ratio` may be infinite; half the bearing's length is solved, by symmetry."""
    theta = np.linspace(0.0, 2 * np.pi, around + 1)
    h = 1.0 + eccentricity * np.cos(theta)
    middle = (1.0 + eccentricity * np.cos(theta[:-1] + np.pi / around)) ** 3
    ratio2 = 0.0 if np.isinf(length_ratio) else length_ratio**-2.0
    p = _pressures(h, middle, theta[1], 1.0 / along, ratio2, along)
    weights = np.ones(along + 1)
    weights[[0, -1]] = 0.5
    weights /= weights.sum()
    mean = p @ weights
    x, y = (np.trapezoid(mean * f(theta), theta) for f in (np.cos, np.sin))
    force = np.hypot(x, y)
    sommerfeld = 1.0 / (6.0 * np.pi * force)
    attitude = np.arctan2(y, -x)
    friction = 2 * np.pi**2 * sommerfeld / np.sqrt(1 - eccentricity**2)
    # half a step from the widest place, where the difference is centred
    flow = np.pi * (0.5 * (h[0] + h[1]) - middle[0] * mean[1] / theta[1])
    # what crosses the ends: the slope there by a parabola through three nodes
    end_slope = (1.5 * p[:, -1] - 2.0 * p[:, -2] + 0.5 * p[:, -3]) * along
    side = np.pi * ratio2 * np.trapezoid(-(h**3) * end_slope, theta)
    return Film(
        sommerfeld=sommerfeld,
        attitude_deg=np.degrees(attitude),
        friction=friction + 0.5 * eccentricity * np.sin(attitude),
        flow=flow,
        side_share=side / flow,
        pressure_ratio=force / (2.0 * p.max()),
    )


def _pressures(h, middle, step, slice_, ratio2, along):
    """p on (around + 1, along + 1) nodes; the last index runs from mid-length to the end."""
    inner = len(h) - 2
    one_way = (
        sparse.diags([-middle[1:-1], middle[:-1] + middle[1:], -middle[1:-1]], [-1, 0, 1]) / step**2
    )
    rows = along  # the one at the end is 0
    upper = np.full(rows - 1, -1.0)
    upper[0] = -2.0  # symmetry at mid-length
    other_way = (
        sparse.diags([np.full(rows - 1, -1.0), np.full(rows, 2.0), upper], [-1, 0, 1]) / slice_**2
    )
    matrix = sparse.kron(one_way, sparse.identity(rows)) + ratio2 * sparse.kron(
        sparse.diags(h[1:-1] ** 3), other_way
    )
    source = -np.repeat((h[2:] - h[:-2]) / (2 * step), rows)
    found = _not_negative(matrix.tocsr(), source)
    p = np.zeros((len(h), along + 1))
    p[1:-1, :-1] = found.reshape(inner, rows)
    if ratio2 == 0.0:  # no end to leave by
        p[:, -1] = p[:, -2]
    return p


def _not_negative(matrix, source):
    """p with p >= 0, matrix p >= source, one of both equal at each node (active sets)."""
    filled = np.ones(len(source), dtype=bool)
    for _ in range(100):
        p = np.zeros(len(source))
        p[filled] = spsolve(matrix[filled][:, filled], source[filled])
        rest = matrix @ p - source
        now = np.where(filled, p > 0, rest < 0)
        if np.array_equal(now, filled):
            return p
        filled = now
    raise AssertionError("the film's end was not found")
