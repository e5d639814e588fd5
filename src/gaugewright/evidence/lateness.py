"""How a speed is to be read, told by the oil pressure that follows it: how late, how smoothed.

A logger's speed column may trail the engine by half a second.  Read at its own stamps it
explains the hunting of the pressure badly; read as much later as it trails, well.  The delay
belongs to the column, so all its stretches vote together.

Pulses whose edges jitter give cycle speeds with fresh noise, on which every slope is flattened.
Where smoothed speeds explain the pressure better than single cycles' do, they are taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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
WINDOWS_S = (0.0, 0.4, 0.75)
"""Lengths over which the speed of pulses may be smoothed: less than any engine hunts in (J)."""


@dataclass(frozen=True)
class Pace:
    """How a speed is read: `lag_s` later, smoothed over `window_s`; `timed` if that is told."""

    lag_s: float = 0.0
    timed: bool = True
    window_s: float = 0.0


AS_IT_IS = Pace()


def smoothed(values: Floats, cycle_s: float, window_s: float) -> Floats:
    """(n,) parabolas fitted through a window of neighbours, read at its middle.

    A running mean would flatten hunting, a parabola follows it.  Windows of less than five
    cycles leave the values as they are.  Weights after A. Savitzky and M. J. E. Golay,
    Analytical Chemistry 36 (1964) 1627-1639, in closed form for second degree.
    """
    half = int(window_s / (2.0 * cycle_s))
    if half < 2 or len(values) < 2 * half + 1:
        return values
    place = np.arange(-half, half + 1)
    weight = 3.0 * (3 * half**2 + 3 * half - 1 - 5 * place**2)
    weight /= (2 * half - 1) * (2 * half + 1) * (2 * half + 3)
    beyond = np.pad(values, half, mode="reflect", reflect_type="odd")
    return np.asarray(np.convolve(beyond, weight, mode="valid"), dtype=np.float64)


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


def evidence_of_window(time_s: Floats, values: Floats, speeds: Sequence[Floats]) -> Floats | None:
    """What one stretch says of each window of `speeds`: as `evidence_of_delay` does of delays."""
    known = np.isfinite(values)
    if known.sum() < LEAST_CYCLES:
        return None
    time, held = time_s[known], values[known]
    left = np.array([_unexplained(time, held, time, speed[known], 0.0) for speed in speeds])
    if not left.min() > 0:
        return None
    return np.asarray(REMEMBERED * len(time) * np.log(left), dtype=np.float64)


def window_of(told: Sequence[Floats | None]) -> float:
    """The window that explains the pressure best, none unless one does much better."""
    votes = [one for one in told if one is not None]
    if not votes:
        return 0.0
    total = np.sum(votes, axis=0)
    best = int(np.argmin(total))
    return WINDOWS_S[best] if total[0] - total[best] > SURE else 0.0


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
