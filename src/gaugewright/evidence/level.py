"""The level a quantity held in one stretch, and how it went with speed.

Cycle means are regressed on speed and on time together, so that hunting and a slow course are
explained and not counted as noise; what is left is noise that remembers (`noise`).  The level
is the fit at the stretch's mean speed and mid-time: for a steady stretch its mean.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.lateness import delay_of, evidence_of_delay, read_at
from gaugewright.evidence.memo import remembered
from gaugewright.evidence.noise import Regression, regress_many
from gaugewright.evidence.speed_noise import UNTIMED_S, speed_noise_share

Floats = npt.NDArray[np.float64]

OUTLYING = 6.0
"""A cycle further from the fit than this many robust deviations is left out and counted."""
CURVED = 3.5
"""A slow course is fitted with a bend when the bend is this many standard errors (J)."""
DRIFTING = 3.0
REMEMBERED = 2000
"""So many levels are remembered, a few hundred bytes each: those of some dozen jobs."""
HUNTING_SHARE = 0.03
"""Hunting: the middle 90 % of the cycle speeds span more than this share of their mean (J)."""


@dataclass(frozen=True)
class Level:
    """A level with its slope on speed.

    `value` holds at `speed_rpm` and mid-time; `scale` (2, 2) is the scale matrix of value and
    slope, to be read with Student's t of `dof`.  `support_rpm` is the 5th to 95th percentile of
    the cycle speeds.  `drift` is the course's steepness per second with its standard error.
    """

    value: float
    slope: float
    scale: Floats
    dof: float
    speed_rpm: float | None
    support_rpm: tuple[float, float] | None
    mid_s: float
    length_s: float
    cycles: int
    outlying: int
    inflation: float
    residual_sd: float
    drift: float
    drift_error: float
    behaviour: str

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty of the value, to be used with `dof`."""
        return float(np.sqrt(self.scale[0, 0]))

    @property
    def low(self) -> float:
        """Lower end of the 95 % interval of the value."""
        return self.value - coverage_factor(self.dof) * self.standard_uncertainty

    @property
    def high(self) -> float:
        """Upper end of the 95 % interval of the value."""
        return self.value + coverage_factor(self.dof) * self.standard_uncertainty

    @property
    def has_interval(self) -> bool:
        """Is anything known of how well the value is known?  Not with a single cycle."""
        return bool(np.isfinite(self.scale[0, 0]))

    def at(self, speed_rpm: float | None) -> tuple[float, float]:
        """Value and variance at another speed, along the slope."""
        if speed_rpm is None or self.speed_rpm is None:
            return self.value, float(self.scale[0, 0])
        way = np.array([1.0, speed_rpm - self.speed_rpm])
        return self.value + self.slope * float(way[1]), float(way @ self.scale @ way)


def coverage_factor(dof: float | None) -> float:
    """The 97.5 % point of Student's t; 1.96 where the degrees of freedom are not limited."""
    from scipy.special import ndtri, stdtrit

    return float(ndtri(0.975)) if dof is None else float(stdtrit(max(dof, 1.0), 0.975))


def fit_level(
    values: Floats,
    time_s: Floats,
    duration_s: Floats,
    speed_rpm: Floats | None = None,
    *,
    sampled_speed: bool = False,
) -> Level:
    """The level of one series of cycle means; see `fit_levels`.

    `sampled_speed` says that the speed comes from a column that may be late: its lateness is
    then found first, and the speed read that much later.
    """
    series = np.asarray(values, dtype=float)
    if sampled_speed and speed_rpm is not None:
        told = [evidence_of_delay(time_s, series, time_s, speed_rpm)]
        late, timed = delay_of(told)
        inside = time_s + late <= time_s[-1]
        late_speed = read_at(time_s + late, time_s, speed_rpm)
        speed_rpm = np.where(inside, late_speed, np.nan)
        untimed = 0.0 if timed else UNTIMED_S
        runs = 1 + int(np.count_nonzero(np.diff(late_speed)))
        refresh = float(time_s[-1] - time_s[0]) / runs
        return fit_levels(series[:, None], time_s, duration_s, speed_rpm, untimed, refresh)[0]
    return fit_levels(series[:, None], time_s, duration_s, speed_rpm)[0]


def fit_levels(
    series: Floats,
    time_s: Floats,
    duration_s: Floats,
    speed_rpm: Floats | None = None,
    untimed_s: float = 0.0,
    refresh_s: float = 0.0,
) -> list[Level]:
    """What level did each quantity hold in this stretch?

    Parameters: `series` (n, m) cycle means, NaN where a cycle has none; `time_s` (n,) cycle
    middles; `duration_s` (n,) weights; `speed_rpm` (n,) or None where no speed is known;
    `untimed_s` by how much a sampled speed may be late without having been timed, `refresh_s`
    how far its samples are apart.
    Returns one Level a column, in the unit of the series.  Raises ValueError for a column
    without a single value.
    """
    doubt = 0.0 if speed_rpm is None else speed_noise_share(time_s, speed_rpm, untimed_s, refresh_s)
    return [
        _doubted(_one_level(series[:, k], time_s, duration_s, speed_rpm), doubt)
        for k in range(series.shape[1])
    ]


def _doubted(level: Level, share: float) -> Level:
    """The level with its slope's doubt: a noisy speed flattens the slope by its share."""
    if not level.speed_rpm or not np.isfinite(level.scale[1, 1]):
        return level
    flattened = max(abs(level.value) / level.speed_rpm, abs(level.slope)) * share
    scale = level.scale.copy()
    scale[1, 1] += flattened**2
    return replace(level, scale=scale)


@remembered(REMEMBERED)
def _one_level(
    values: Floats, time_s: Floats, duration_s: Floats, speed_rpm: Floats | None
) -> Level:
    known = np.isfinite(values)
    if speed_rpm is not None:
        known &= np.isfinite(speed_rpm)
    if not known.any():
        raise ValueError("no cycle of this stretch has a value")
    speed = None if speed_rpm is None else speed_rpm[known]
    kept, outlying = _without_outliers(values[known], time_s[known], speed)
    speed = None if speed is None else speed[kept]
    return _fit(values[known][kept], time_s[known][kept], duration_s[known][kept], speed, outlying)


def _without_outliers(
    values: Floats, time_s: Floats, speed: Floats | None
) -> tuple[npt.NDArray[np.bool_], int]:
    """Which cycles stand with the others: a robust fit, repeated until it settles."""
    kept = np.ones(len(values), dtype=bool)
    if len(values) < 12:
        return kept, 0
    design = _design(time_s, speed, np.ones(len(values)), bend=True)
    for _ in range(4):
        beta, *_ = np.linalg.lstsq(design[kept], values[kept], rcond=None)
        off = np.abs(values - design @ beta)
        robust = 1.4826 * float(np.median(off[kept]))
        standing = off <= OUTLYING * max(robust, 1e-12 * float(np.max(np.abs(values))) + 1e-300)
        if np.array_equal(standing, kept) or standing.sum() < 0.7 * len(values):
            break
        kept = standing
    return kept, int(len(values) - kept.sum())


def _design(time_s: Floats, speed: Floats | None, weight: Floats, *, bend: bool = False) -> Floats:
    """Columns: one, speed about its mean, time about mid-time, and its square for a bend."""
    columns = [np.ones(len(time_s))]
    if speed is not None and np.ptp(speed) > 0:
        columns.append(speed - np.average(speed, weights=weight))
    if np.ptp(time_s) > 0:
        course = (time_s - 0.5 * (time_s[0] + time_s[-1])) / (0.5 * np.ptp(time_s))
        columns.append(course)
        if bend:
            columns.append(course**2)
    return np.column_stack(columns)


def _affordable(design: Floats, count: int) -> Floats:
    """With a handful of cycles the slow course, then the slope, is not asked for."""
    width = design.shape[1]
    while width > 1 and count < 2 * width + 2:
        width -= 1
    return design[:, :width]


def _fit(
    values: Floats, time_s: Floats, weight: Floats, speed: Floats | None, outlying: int
) -> Level:
    count = len(values)
    has_slope = speed is not None and bool(np.ptp(speed) > 0)
    if count < 3:
        return _too_few(values, time_s, weight, speed, outlying)
    design = _affordable(_design(time_s, speed, weight), count)
    found = regress_many(design, values[:, None])[0]
    if count >= 40 and np.ptp(time_s) > 0:
        bent = regress_many(_design(time_s, speed, weight, bend=True), values[:, None])[0]
        if abs(bent.coefficients[-1]) > CURVED * np.sqrt(bent.scale[-1, -1]):
            found = bent
    slope_at = 1 if has_slope and len(found.coefficients) > 1 else None
    course_at = 1 + int(has_slope) if len(found.coefficients) > 1 + has_slope else None
    return _level(values, time_s, weight, speed, outlying, found, slope_at, course_at)


def _level(
    values: Floats,
    time_s: Floats,
    weight: Floats,
    speed: Floats | None,
    outlying: int,
    found: Regression,
    slope_at: int | None,
    course_at: int | None,
) -> Level:
    pick = [0] if slope_at is None else [0, slope_at]
    scale = np.zeros((2, 2))
    scale[: len(pick), : len(pick)] = found.scale[np.ix_(pick, pick)]
    if slope_at is None:
        scale[1, 1] = np.inf if speed is not None else 0.0
    half = 0.5 * float(np.ptp(time_s)) or 1.0
    drift, drift_error = 0.0, 0.0
    if course_at is not None:
        drift = float(found.coefficients[course_at]) / half
        drift_error = float(np.sqrt(found.scale[course_at, course_at])) / half
    return Level(
        value=float(found.coefficients[0]),
        slope=float(found.coefficients[slope_at]) if slope_at is not None else 0.0,
        scale=scale,
        dof=found.dof,
        speed_rpm=None if speed is None else float(np.average(speed, weights=weight)),
        support_rpm=None if speed is None else _support(speed),
        mid_s=0.5 * float(time_s[0] + time_s[-1]),
        length_s=2 * half,
        cycles=len(values),
        outlying=outlying,
        inflation=found.inflation,
        residual_sd=found.residual_sd,
        drift=drift,
        drift_error=drift_error,
        behaviour=_behaviour(found, drift * half, drift_error * half, speed),
    )


def _support(speed: Floats) -> tuple[float, float]:
    low, high = np.percentile(speed, [5.0, 95.0])
    return float(low), float(high)


def _behaviour(found: Regression, course: float, error: float, speed: Floats | None) -> str:
    """Drifting, hunting or steady: the word for how the stretch was held."""
    large = abs(2 * course) > max(0.01 * abs(found.coefficients[0]), 0.5 * found.residual_sd)
    if error > 0 and abs(course) > DRIFTING * error and large:
        return "drifting"
    if speed is not None and len(speed) >= 8:
        low, high = _support(speed)
        if high - low > HUNTING_SHARE * float(np.mean(speed)):
            return "hunting"
    return "steady"


def _too_few(
    values: Floats, time_s: Floats, weight: Floats, speed: Floats | None, outlying: int
) -> Level:
    """One or two cycles: a value, and a spread that only says how little is known."""
    spread = float(np.ptp(values)) / np.sqrt(2.0) if len(values) > 1 else np.inf
    mean = float(np.average(values, weights=weight))
    scale = np.array([[spread**2 / len(values), 0.0], [0.0, 0.0 if speed is None else np.inf]])
    return Level(
        value=mean,
        slope=0.0,
        scale=scale,
        dof=1.0,
        speed_rpm=None if speed is None else float(np.average(speed, weights=weight)),
        support_rpm=None if speed is None else _support(speed),
        mid_s=float(np.mean(time_s)),
        length_s=float(np.sum(weight)),
        cycles=len(values),
        outlying=outlying,
        inflation=1.0,
        residual_sd=spread,
        drift=0.0,
        drift_error=0.0,
        behaviour="steady",
    )
