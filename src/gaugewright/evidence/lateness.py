"""How late a sampled speed column is, told by the oil pressure that follows the speed.

A logger's speed column may trail the engine by half a second.  Read at its own stamps it
explains the hunting of the pressure badly; read as much later as it trails, well.  The delay
belongs to the column, so all its stretches vote together.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

STEP_S = 0.1
DELAYS_S = np.arange(0.0, 1.5 + 1e-9, STEP_S)
"""A sampled speed is looked for up to this late (J)."""
LEAST_CYCLES = 30
REMEMBERED = 0.3
"""Cycles remember one another: this share of them counts as independent (J)."""
SURE = 8.0
"""The least and the most likely delay differ by this much in twice the log likelihood."""


def read_at(at_s: Floats, time_s: Floats, values: Floats) -> Floats:
    """A smooth series read between its points: straight lines would flatten fast hunting."""
    if len(time_s) < 4 or not np.isfinite(values).all():
        return np.interp(at_s, time_s, values)
    from scipy.interpolate import CubicSpline

    inside = np.clip(at_s, time_s[0], time_s[-1])
    return np.asarray(CubicSpline(time_s, values)(inside), dtype=np.float64)


def evidence_of_delay(
    time_s: Floats, values: Floats, speed_time_s: Floats, speed_rpm: Floats
) -> Floats | None:
    """What one stretch says of each delay: minus twice its log likelihood, but for a constant.

    Parameters: cycle middles and pressures (n,) of the stretch; times and values (m,) of the
    speed, which may reach beyond it.  None where there are too few cycles to tell.
    """
    inner = np.isfinite(values) & (time_s + DELAYS_S[-1] <= speed_time_s[-1])
    if inner.sum() < LEAST_CYCLES or not np.isfinite(speed_rpm).all():
        return None
    time, held = time_s[inner], values[inner]
    left = np.array([_unexplained(time, held, speed_time_s, speed_rpm, d) for d in DELAYS_S])
    if not left.min() > 0:
        return None
    return np.asarray(REMEMBERED * len(time) * np.log(left), dtype=np.float64)


def _unexplained(
    time: Floats, values: Floats, speed_time: Floats, speed_rpm: Floats, delay: float
) -> float:
    """Sum of squares left by a line on the speed read `delay` later; pressure rises with speed."""
    speed = read_at(time + delay, speed_time, speed_rpm)
    columns = np.column_stack([np.ones(len(time)), time - time.mean(), speed - speed.mean()])
    beta, *_ = np.linalg.lstsq(columns, values, rcond=None)
    if beta[2] <= 0:
        columns = columns[:, :2]
        beta, *_ = np.linalg.lstsq(columns, values, rcond=None)
    return float(np.sum((values - columns @ beta) ** 2))


def delay_of(told: Sequence[Floats | None]) -> tuple[float, bool]:
    """The delay that all stretches of a column agree on best, and whether they tell one at all.

    Returns (0, False) where the pressure follows the speed too little to time it.
    """
    votes = [one for one in told if one is not None]
    if not votes:
        return 0.0, False
    total = np.sum(votes, axis=0)
    best = int(np.argmin(total))
    if float(total.max() - total[best]) < SURE:
        return 0.0, False
    if not 0 < best < len(total) - 1:
        return float(DELAYS_S[best]), True
    before, here, after = total[best - 1 : best + 2]
    bend = before - 2 * here + after
    off = 0.5 * STEP_S * (before - after) / bend if bend > 0 else 0.0
    return float(DELAYS_S[best] + off), True
