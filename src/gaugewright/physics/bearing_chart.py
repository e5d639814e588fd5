"""The charts of a full journal bearing of finite length, as a table and its interpolation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaugewright.physics.numbers import Floats, Numbers

ECCENTRICITIES = (0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.97)
TABLE: dict[float, tuple[tuple[float, ...], ...]] = {
    0.0: (
        (0.240, 0.123, 0.0626, 0.0389, 0.0210, 0.0115, 0.00375),
        (69.1, 67.3, 61.9, 54.3, 42.2, 31.6, 18.2),
        (4.80, 2.57, 1.52, 1.20, 0.961, 0.756, 0.456),
        (3.03, 2.83, 2.26, 1.56, 0.783, 0.389, 0.116),
        (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
        (0.826, 0.814, 0.764, 0.667, 0.495, 0.358, 0.197),
    ),
    1.0: (
        (1.33, 0.631, 0.264, 0.121, 0.0446, 0.0188, 0.00474),
        (79.5, 74.0, 63.1, 50.6, 36.2, 26.5, 15.5),
        (26.4, 12.8, 5.79, 3.22, 1.70, 1.05, 0.514),
        (3.37, 3.59, 3.99, 4.33, 4.62, 4.74, 4.82),
        (0.150, 0.280, 0.497, 0.680, 0.842, 0.919, 0.973),
        (0.540, 0.529, 0.484, 0.415, 0.313, 0.247, 0.152),
    ),
    2.0: (
        (4.31, 2.03, 0.779, 0.319, 0.0923, 0.0313, 0.00609),
        (81.6, 74.9, 61.5, 48.1, 33.3, 23.7, 13.8),
        (85.6, 40.9, 17.0, 8.10, 3.26, 1.60, 0.610),
        (3.43, 3.72, 4.29, 4.85, 5.41, 5.69, 5.88),
        (0.173, 0.318, 0.552, 0.730, 0.874, 0.939, 0.980),
        (0.523, 0.506, 0.441, 0.365, 0.267, 0.206, 0.126),
    ),
    4.0: (
        (16.2, 7.57, 2.83, 1.07, 0.261, 0.0736, 0.0101),
        (82.3, 75.2, 60.9, 46.7, 31.0, 21.9, 12.2),
        (322.0, 153.0, 61.1, 26.7, 8.80, 3.50, 0.922),
        (3.45, 3.76, 4.37, 4.99, 5.60, 5.91, 6.12),
        (0.180, 0.330, 0.567, 0.746, 0.884, 0.945, 0.984),
        (0.515, 0.489, 0.415, 0.334, 0.240, 0.180, 0.108),
    ),
}
"""d/l -> rows over `ECCENTRICITIES`: Sommerfeld number, attitude in degrees, f r/c, Q/(r c N l),
Qs/Q, P/pmax.  Source: the classical finite-bearing tables for a full bearing whose film starts
at its widest place at the pressure of the surroundings, from memory; each number agrees within
6 % (most within 1 %) with an independent solution of Reynolds' equation, kept with the tests.
The infinite bearing's flow from 0.8 on and all of its 0.97 are from that solution."""

_GRID = np.concatenate([np.geomspace(1e-6, 0.1, 150, endpoint=False), np.linspace(0.1, 0.97, 300)])


@dataclass(frozen=True)
class Film:
    """A bearing's running film, without units.

    `eccentricity` shaft's offset over clearance (least film over clearance is 1 minus it),
    `attitude_deg` angle from the load to the least film, `friction` f r/c, `flow` Q/(r c N l),
    `side_share` Qs/Q, `pressure_ratio` mean over greatest film pressure.
    """

    eccentricity: Numbers
    attitude_deg: Numbers
    friction: Numbers
    flow: Numbers
    side_share: Numbers
    pressure_ratio: Numbers


def film(sommerfeld: Numbers, length_ratio: Numbers) -> Film:
    """How does the shaft run, for its load, speed and oil?

    Parameters: `sommerfeld`, (r/c)^2 mu N / P, above 0; `length_ratio` l/d from 1/4 up.
    Returns the film.  Raises ValueError for a ratio below 1/4.
    Source: `TABLE`, interpolated as `eccentricity` and `film_at` say.

    Example: `film(0.135, 1.0).friction` is 3.48.
    """
    return film_at(eccentricity(sommerfeld, length_ratio), length_ratio)


def eccentricity(sommerfeld: Numbers, length_ratio: Numbers) -> Numbers:
    """How far off its centre does the shaft run, over the clearance?

    Parameters: as `film`.
    Returns 0.000001 to 0.97, the table's reach: a number beyond it counts as its end.
    Raises ValueError for a ratio below 1/4.
    Source: `TABLE`; in the logarithm of the Sommerfeld number along a column, and across the
    lengths by `over_length` at equal eccentricity (at equal Sommerfeld number, as the textbooks
    use it, the film comes out up to 17 % wrong between the tabled lengths; so it is within 2 %).

    Example: `eccentricity(0.135, 1.0)` is 0.573.
    """
    columns = [np.exp(_dense(d)[0]) for d in TABLE]
    parts = _shares(1.0 / _checked(length_ratio), tuple(TABLE))

    def number(place: npt.NDArray[np.intp]) -> Numbers:
        return _mixed(parts, [column[place] for column in columns])

    wanted = np.asarray(sommerfeld, dtype=np.float64)
    below = np.zeros(np.broadcast_shapes(wanted.shape, np.shape(length_ratio)), dtype=np.intp)
    for step in 2 ** np.arange(int(np.log2(len(_GRID))), -1, -1):
        further = np.minimum(below + step, len(_GRID) - 2)
        below = np.where(number(further) >= wanted, further, below)
    thick, thin = np.log(number(below)), np.log(number(below + 1))
    part = np.clip((thick - np.log(wanted)) / (thick - thin), 0.0, 1.0)
    found: Numbers = _GRID[below] + part * (_GRID[below + 1] - _GRID[below])
    return found


def film_at(eccentricity: Numbers, length_ratio: Numbers) -> Film:
    """What film has a shaft that runs at this eccentricity?

    Parameters: `eccentricity` to 0.97 (that is taken beyond); `length_ratio` from 1/4 up.
    Returns the film.  Raises ValueError for a ratio below 1/4.
    Source: `TABLE`.  Friction by its ratio to full-film shear with `over_length`; the others,
    which stay finite for the shortest bearing, by the cubic in d/(l + d) (our own: within 2 %,
    0.02 in side share, for l/d to 1; flow 12 %, side share 0.06 off at l/d 2).

    Example: `film_at(0.6, 1.0).flow` is 4.33.
    """
    slender = 1.0 / _checked(length_ratio)
    parts = _shares(slender / (1.0 + slender), tuple(d / (1.0 + d) for d in TABLE))
    columns = [[np.interp(eccentricity, _GRID, row) for row in _dense(d)] for d in TABLE]
    sommerfeld, attitude, drag, flow, side, ratio = zip(*columns, strict=True)
    shear = 2 * np.pi**2 / np.sqrt(1.0 - np.square(np.clip(eccentricity, _GRID[0], _GRID[-1])))
    friction = (np.exp(s) * k * shear for s, k in zip(sommerfeld, drag, strict=True))
    return Film(
        eccentricity=eccentricity,
        attitude_deg=_mixed(parts, attitude),
        friction=over_length(length_ratio, *friction),
        flow=_mixed(parts, flow),
        side_share=_mixed(parts, side),
        pressure_ratio=_mixed(parts, ratio),
    )


def over_length(
    length_ratio: Numbers, infinite: Numbers, one: Numbers, half: Numbers, quarter: Numbers
) -> Numbers:
    """What is a bearing's value between those for l/d infinite, 1, 1/2 and 1/4?

    The interpolation formula of machine design's bearing chapters (printed as eq. 12-16 in one
    of them), which is the cubic in d/l through 0, 1, 2 and 4.
    Parameters: `length_ratio` l/d from 1/4 up; the four values at the same Sommerfeld number.

    Example: `over_length(2.0, 0.98, 0.83, 0.61, 0.36)` is 0.920.
    """
    parts = _shares(1.0 / np.asarray(length_ratio), tuple(TABLE))
    return _mixed(parts, (infinite, one, half, quarter))


def short_bearing_sommerfeld(eccentricity: Numbers, length_ratio: Numbers) -> Numbers:
    """Which Sommerfeld number has a short bearing at this eccentricity?

    S (l/d)^2 = (1 - e^2)^2 / (pi e sqrt(pi^2 (1 - e^2) + 16 e^2))
    Parameters: `eccentricity` above 0, below 1; `length_ratio` l/d, good to a tenth below 1/4.
    Source: short-bearing theory (closed form, from memory; half film from widest to narrowest).

    Example: `short_bearing_sommerfeld(0.6, 0.25)` is 1.0005.
    """
    e2 = eccentricity * eccentricity
    below = np.pi * eccentricity * np.sqrt(np.pi**2 * (1 - e2) + 16 * e2)
    return (1 - e2) ** 2 / (below * length_ratio * length_ratio)


def _checked(length_ratio: Numbers) -> Floats:
    if not np.all(np.asarray(length_ratio) >= 0.25):
        raise ValueError(f"a length of {length_ratio} diameters is below 1/4, where the table ends")
    return np.asarray(length_ratio, dtype=np.float64)


def _shares(x: Floats, nodes: tuple[float, ...]) -> list[Floats]:
    """How much each node's value counts at x: Lagrange's weights."""
    return [
        np.prod([(x - other) / (node - other) for other in nodes if other != node], axis=0)
        for node in nodes
    ]


def _mixed(parts: Sequence[Numbers], values: Sequence[Numbers]) -> Numbers:
    total: Numbers = 0.0
    for part, value in zip(parts, values, strict=True):
        total = total + part * value
    return total


@lru_cache
def _dense(slenderness: float) -> tuple[Floats, ...]:
    """A column on a fine grid of eccentricities: ln S, attitude, friction over shear, and so on.

    S is carried as its ratio to the short bearing's, friction as its ratio to the shear of a
    full film: both change little, and stay what they are toward the centre.
    """
    e = np.array(ECCENTRICITIES)
    sommerfeld, attitude, friction, *others = (np.array(row) for row in TABLE[slenderness])
    against_short = np.log(sommerfeld / short_bearing_sommerfeld(e, 1.0))
    shear = 2 * np.pi**2 * sommerfeld / np.sqrt(1 - e**2)
    ends = np.pi, 0.0, 2 * others[2][0] - others[2][1]
    return (
        _smooth(against_short, against_short[0]) + np.log(short_bearing_sommerfeld(_GRID, 1.0)),
        _smooth(attitude, 2 * attitude[0] - attitude[1]),
        _smooth(friction / shear, 1.0),
        *(_smooth(row, end) for row, end in zip(others, ends, strict=True)),
    )


def _smooth(row: Floats, at_centre: float) -> Floats:
    """A row of the table over -ln(1 - e), without overshoot."""
    from scipy.interpolate import PchipInterpolator

    curve = PchipInterpolator(-np.log(1 - np.array((0.0, *ECCENTRICITIES))), (at_centre, *row))
    return np.asarray(curve(-np.log(1 - _GRID)), dtype=np.float64)
