"""How far two clocks stand apart, from a signal that both recordings hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.recording.types import Floats

_MOST_POINTS = 1 << 18
_LEAST_OVERLAP = 20
_CLEAR = 0.5
_RIVAL = 0.9
_GRID_SHARE = 0.01


@dataclass(frozen=True)
class _Grid:
    """Both signals on grids of one spacing, each from its own start."""

    step_s: float
    a: Floats
    b: Floats
    start_a_s: float
    start_b_s: float


def offset_between(
    time_a: Floats,
    values_a: Floats,
    time_b: Floats,
    values_b: Floats,
    within_s: float | None = None,
) -> tuple[float, float]:
    """What has to be added to b's clock to reach a's?

    The correlation of the two signals over their overlap is worked out for every shift on a
    grid of the slower one's spacing; around the highest, b is fitted to a with offset, gain and
    shift free.

    Parameters: instants `time_a` (n,), `time_b` (m,), increasing, in seconds, and the signal
    that both recorded, `values_a` (n,), `values_b` (m,), in any unit, NaN where missing;
    `within_s`: look only for offsets of at most this size (silent: anywhere the two can overlap
    by a quarter of the shorter one).
    Returns the offset in seconds and its standard uncertainty, which has the scatter of the fit
    with its autocorrelation and 1 % of the grid's step (what simulated pairs of loggers show
    on top), not a delay that one of the sensors may have.
    Raises ValueError, saying why, where the clocks do not overlap or no shift stands out.
    """
    grid = _on_grid(time_a, values_a, time_b, values_b)
    lags, correlation = _correlation(grid)
    offsets = lags * grid.step_s + grid.start_a_s - grid.start_b_s
    correlation = _allowed(grid, lags, correlation, offsets, within_s)
    peak = _clear_peak(correlation)
    coarse = float(offsets[peak]) + grid.step_s * _vertex(correlation[peak - 1 : peak + 2])
    offset, uncertainty = _refined(grid, coarse)
    return offset, float(np.hypot(uncertainty, _GRID_SHARE * grid.step_s))


def _on_grid(time_a: Floats, values_a: Floats, time_b: Floats, values_b: Floats) -> _Grid:
    time_a, values_a = _filled(time_a, values_a, "first")
    time_b, values_b = _filled(time_b, values_b, "second")
    longest = max(time_a[-1] - time_a[0], time_b[-1] - time_b[0])
    spacing = max(float(np.median(np.diff(time_a))), float(np.median(np.diff(time_b))))
    step = max(spacing, float(longest) / _MOST_POINTS)
    return _Grid(
        step,
        _averaged(time_a, values_a, step),
        _averaged(time_b, values_b, step),
        float(time_a[0]),
        float(time_b[0]),
    )


def _filled(time_s: Floats, values: Floats, which: str) -> tuple[Floats, Floats]:
    good = np.isfinite(values)
    if good.sum() < _LEAST_OVERLAP:
        raise ValueError(f"the {which} signal has only {int(good.sum())} values")
    if np.ptp(values[good]) == 0:
        raise ValueError(f"the {which} signal never changes, so nothing tells its place in time")
    return time_s[good], values[good]


def _averaged(time_s: Floats, values: Floats, step: float) -> Floats:
    """The mean over a step around each point of the grid, from the integral of the values."""
    widths = np.diff(time_s)
    integral = np.concatenate([[0.0], np.cumsum(widths * (values[1:] + values[:-1]) / 2)])
    count = int((time_s[-1] - time_s[0]) / step) + 1
    middle = time_s[0] + step * np.arange(count)
    if float(np.median(widths)) > 0.5 * step:
        return np.asarray(np.interp(middle, time_s, values))
    left = np.clip(middle - step / 2, time_s[0], time_s[-1])
    right = np.clip(middle + step / 2, time_s[0], time_s[-1])
    area = np.interp(right, time_s, integral) - np.interp(left, time_s, integral)
    return np.asarray(area / (right - left))


def _correlation(grid: _Grid) -> tuple[Floats, Floats]:
    """Pearson's correlation over the overlap, for each lag of b in grid steps."""
    a, b = grid.a - grid.a.mean(), grid.b - grid.b.mean()
    size = 1 << (a.size + b.size - 2).bit_length()

    def crossed(left: Floats, right: Floats) -> Floats:
        spectrum = np.fft.rfft(left, size) * np.conj(np.fft.rfft(right, size))
        full = np.fft.irfft(spectrum, size)
        return np.concatenate([full[size - b.size + 1 :], full[: a.size]])

    count = np.maximum(np.round(crossed(np.ones_like(a), np.ones_like(b))), 1)
    sum_a, sum_b = crossed(a, np.ones_like(b)), crossed(np.ones_like(a), b)
    var_a = crossed(a * a, np.ones_like(b)) - sum_a**2 / count
    var_b = crossed(np.ones_like(a), b * b) - sum_b**2 / count
    both = crossed(a, b) - sum_a * sum_b / count
    floor = 1e-9 * a.size * float(a.var()) * 1e-3 + 1e-300
    good = (var_a > floor) & (var_b > 1e-12 * b.size * float(b.var()))
    scale = np.sqrt(np.where(good, var_a * var_b, 1.0))
    lags = np.arange(-b.size + 1, a.size).astype(np.float64)
    return lags, np.where(good, both / scale, 0.0)


def _allowed(
    grid: _Grid, lags: Floats, correlation: Floats, offsets: Floats, within_s: float | None
) -> Floats:
    """The correlation, and no value where the overlap is too short or the offset too large."""
    overlap = np.minimum(grid.a.size, lags + grid.b.size) - np.maximum(0, lags)
    least = max(_LEAST_OVERLAP, 0.25 * min(grid.a.size, grid.b.size))
    allowed = overlap >= least
    if within_s is not None:
        allowed &= np.abs(offsets) <= within_s + grid.step_s
    if not allowed.any():
        asked = f" with an offset of at most {within_s:g} s" if within_s is not None else ""
        raise ValueError(f"the two clocks do not overlap{asked}")
    return np.where(allowed, correlation, np.nan)


def _clear_peak(correlation: Floats) -> int:
    peak = int(np.nanargmax(correlation))
    height = float(correlation[peak])
    if height < _CLEAR:
        raise ValueError(
            f"the two signals agree at no shift (highest correlation {height:.2f}), so they tell "
            "no offset"
        )
    if peak in (0, correlation.size - 1) or np.isnan(correlation[peak - 1 : peak + 2]).any():
        raise ValueError(
            "the two signals agree best at the edge of their overlap, which is no sign"
        )
    rival = _rival(correlation, peak)
    if 1 - rival < (1 - height) / _RIVAL + 1e-9 or rival > 0.98 * height:
        raise ValueError(
            f"several shifts fit almost equally well (correlations {height:.3f} and {rival:.3f}), "
            "so none is sure"
        )
    return peak


def _rival(correlation: Floats, peak: int) -> float:
    """The highest correlation outside the hill on whose top the peak stands."""
    filled = np.where(np.isnan(correlation), -1.0, correlation)
    low = filled < 0.7 * filled[peak]
    left = np.flatnonzero(low[:peak])
    right = np.flatnonzero(low[peak:])
    outside = filled.copy()
    start = int(left[-1]) if left.size else 0
    stop = peak + int(right[0]) if right.size else filled.size
    outside[start : stop + 1] = -1.0
    return float(outside.max())


def _vertex(three: Floats) -> float:
    bend = float(three[0] - 2 * three[1] + three[2])
    return 0.0 if bend >= 0 else 0.5 * float(three[0] - three[2]) / bend


def _refined(grid: _Grid, offset_s: float) -> tuple[float, float]:
    """Fit b to a by least squares with the shift free; its uncertainty with autocorrelation."""
    on_a = grid.start_a_s + grid.step_s * np.arange(grid.a.size)
    on_b = grid.start_b_s + grid.step_s * np.arange(grid.b.size)
    slope = np.gradient(grid.b, grid.step_s)
    started, uncertainty = offset_s, np.inf
    for _ in range(12):
        inside = (on_a - offset_s >= on_b[0]) & (on_a - offset_s <= on_b[-1])
        at = on_a[inside] - offset_s
        model = np.interp(at, on_b, grid.b)
        design = np.column_stack([np.ones_like(at), model, np.interp(at, on_b, slope)])
        solution, *_ = np.linalg.lstsq(design, grid.a[inside], rcond=None)
        shift = -float(solution[2]) / float(solution[1])
        uncertainty = _uncertainty(design, grid.a[inside] - design @ solution, float(solution[1]))
        offset_s += float(np.clip(shift, -grid.step_s, grid.step_s))
        if abs(shift) < 1e-4 * grid.step_s:
            break
    if abs(offset_s - started) > 3 * grid.step_s:
        raise ValueError("the shift cannot be told to better than a few samples")
    return offset_s, uncertainty


def _uncertainty(design: Floats, residual: Floats, gain: float) -> float:
    """Standard error of the shift from the scores' long-run variance (Newey and West 1987)."""
    inverse = np.linalg.pinv(design.T @ design)
    scores = design * residual[:, None]
    reach = max(1, int(1.3 * residual.size ** (1 / 3)))
    middle = scores.T @ scores
    for lag in range(1, reach + 1):
        part = scores[lag:].T @ scores[:-lag]
        middle = middle + (1 - lag / (reach + 1)) * (part + part.T)
    variance = (inverse @ middle @ inverse)[2, 2]
    return float(np.sqrt(max(variance, 0.0)) / abs(gain))
