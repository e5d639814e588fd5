"""From a sensor's points to its line, and to the errors its readings share.

True value = line(V) + what the points' own errors do to the line + the error common to all
points + accuracy * (A cos wp + B sin wp), A and B standard normal, w a quarter turn over the
range.  The points' errors e_i reach the line through the weights w_i(V) of the fit; these are
linear in V, so that the sum of w_i(V) e_i is exactly level error + (V - centre) * tilt error.

Source: JCGM 100:2008, 5.2 and H.3; the deviation curve is the definition of `accuracy` in the
job format.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import Sensor
from gaugewright.quantities.said import said
from gaugewright.recording.types import Note
from gaugewright.sensing.line import Line, fit_line
from gaugewright.sensing.shared import SharedErrors

Floats = npt.NDArray[np.float64]

UNSTATED_SHARE = 0.01
"""Accuracy taken where nothing is stated, of the range (our judgement, flagged)."""
IMPROBABLE = 0.01
"""Below this probability of the points' scatter the line is said not to fit."""


@dataclass(frozen=True)
class Calibration:
    """A sensor's line from output to quantity, and the blocks of its shared errors.

    Outputs and quantities are in house units (V, Pa, ...); `slope` per output unit.  `sealed`
    sensors are shifted to read against vacuum.  `point_sd` is the standard uncertainty of a
    point that the readings carry, `common_sd` that shared by all points, `accuracy` the size
    of the deviation curve; `span` the width over which the curve makes a quarter turn.  `ends`
    are those of the range, or of the points where no range is stated.
    """

    sensor: str
    reference: str
    slope: float
    offset: float
    centre: float
    point_sd: float
    common_sd: float
    accuracy: float
    span: float
    range_low: float | None
    range_high: float | None
    ends: tuple[float, float]
    supply_v: float | None
    chi2: float
    dof: int
    notes: tuple[Note, ...] = ()

    @property
    def points_block(self) -> str:
        """The book's name for the errors of the points."""
        return f"{self.sensor}: points"

    @property
    def common_block(self) -> str:
        """The book's name for the error all points share."""
        return f"{self.sensor}: common"

    @property
    def curve_block(self) -> str:
        """The book's name for the deviation curve."""
        return f"{self.sensor}: curve"

    def pressure(self, output: npt.ArrayLike) -> Floats:
        """The quantity indicated by these outputs, house units in and out."""
        return self.offset + self.slope * np.asarray(output, dtype=np.float64)

    def gradient(self, pressure_pa: float) -> dict[str, Floats]:
        """d(true value)/d(shared parameters) at this indicated value, by block."""
        parts: dict[str, Floats] = {}
        if self.point_sd > 0.0:
            output = (pressure_pa - self.offset) / self.slope
            parts[self.points_block] = np.array([1.0, output - self.centre])
        if self.common_sd > 0.0:
            parts[self.common_block] = np.ones(1)
        if self.accuracy > 0.0:
            angle = 0.5 * np.pi * pressure_pa / self.span
            parts[self.curve_block] = np.array([np.cos(angle), np.sin(angle)])
        return parts


def calibrate(sensor: Sensor, book: SharedErrors) -> tuple[Calibration, SharedErrors]:
    """What line does this sensor follow, and what errors do its readings share?

    Parameters: a sensor with two or more points; the job's book of shared errors.
    Returns: its `Calibration`, and the book with the sensor's blocks added (points, common,
    curve: each only where it is not zero).  A sensor that is in the book already is an error.
    Raises: InputError where the points hold no line.
    Source: module docstring.
    """
    outputs = np.array([point[0].si for point in sensor.points])
    values = np.array([point[1].si for point in sensor.points])
    _refuse_flat(sensor, outputs, values)
    line = fit_line(outputs, values)
    point_sd, chi2, notes = _point_sd(sensor, line)
    accuracy, span, unstated = _accuracy(sensor, values)
    shift = sensor.sealed_at.si if sensor.reference == "sealed" and sensor.sealed_at else 0.0
    low, high = _range(sensor, shift)
    calibration = Calibration(
        sensor=sensor.name,
        reference="vacuum" if sensor.reference == "sealed" else sensor.reference,
        slope=line.slope,
        offset=line.intercept + shift,
        centre=line.centre,
        point_sd=point_sd,
        common_sd=sensor.points_common.si if sensor.points_common else 0.0,
        accuracy=accuracy,
        span=span,
        range_low=low,
        range_high=high,
        ends=(float(values.min()) + shift, float(values.max()) + shift)
        if low is None or high is None
        else (low, high),
        supply_v=sensor.supply.si if sensor.supply else None,
        chi2=chi2,
        dof=line.dof,
        notes=notes + unstated,
    )
    return calibration, _with_blocks(book, calibration, line)


def _with_blocks(book: SharedErrors, calibration: Calibration, line: Line) -> SharedErrors:
    if calibration.point_sd > 0.0:
        variances = np.array([line.level_variance, line.slope_variance])
        block = np.diag(variances * calibration.point_sd**2)
        book = book.with_block(calibration.points_block, block)
    if calibration.common_sd > 0.0:
        book = book.with_block(calibration.common_block, calibration.common_sd**2)
    if calibration.accuracy > 0.0:
        book = book.with_block(calibration.curve_block, np.eye(2) * calibration.accuracy**2)
    return book


def _refuse_flat(sensor: Sensor, outputs: Floats, values: Floats) -> None:
    place = f'sensor "{sensor.name}", points'
    if len(outputs) < 2 or np.ptp(outputs) == 0.0:
        found = f"{len(outputs)} point(s) at one output hold no line"
        raise InputError(Problem("job.toml", place, found, "give two points at different outputs"))
    if np.ptp(values) == 0.0:
        found = f"every point has the same value {sensor.points[0][1].text}"
        raise InputError(Problem("job.toml", place, found, "give two points at different values"))


def _point_sd(sensor: Sensor, line: Line) -> tuple[float, float, tuple[Note, ...]]:
    """The standard uncertainty each point carries, chi-squared against the stated one, notes."""
    if sensor.point_uncertainty is None:
        return _scatter(sensor, line)
    stated = sensor.point_uncertainty.si
    if line.dof < 1 or stated <= 0.0:
        return stated, 0.0, ()
    from scipy.special import chdtrc

    chi2 = line.chi2 / stated**2
    if chdtrc(line.dof, chi2) >= IMPROBABLE:
        return stated, chi2, ()
    wider = float(np.sqrt(chi2 / line.dof))
    text = said(
        "the points of {sensor} scatter {wider:.1f} times as far about their line as "
        "point_uncertainty says (chi-squared {chi2:.1f} on {dof} degrees of freedom); "
        "their uncertainty was widened by that factor",
        sensor=sensor.name,
        wider=wider,
        chi2=float(chi2),
        dof=line.dof,
    )
    return stated * wider, chi2, (Note("calibration-lack-of-fit", text),)


def _scatter(sensor: Sensor, line: Line) -> tuple[float, float, tuple[Note, ...]]:
    """More than two points, none stated: their scatter, widened for its few degrees of freedom."""
    if line.dof < 1 or line.chi2 <= 0.0:
        return 0.0, 0.0, ()
    from scipy.special import stdtrit

    wider = float(stdtrit(line.dof, 0.975)) / 1.959964
    text = said(
        "{sensor} states no point_uncertainty: the scatter of its {points} points about their "
        "line was taken, times {wider:.2f} for its few degrees of freedom",
        sensor=sensor.name,
        points=line.dof + 2,
        wider=wider,
    )
    return line.residual_sd * wider, float(line.dof), (Note("calibration-scatter", text),)


def _accuracy(sensor: Sensor, values: Floats) -> tuple[float, float, tuple[Note, ...]]:
    """The size of the deviation curve, the width of its quarter turn, a note if unstated."""
    span = abs(sensor.range[1].si - sensor.range[0].si) if sensor.range else 0.0
    span = span or float(np.ptp(values))
    if sensor.accuracy is not None:
        return sensor.accuracy.si, span, ()
    if sensor.point_uncertainty is not None or sensor.points_common is not None:
        return 0.0, span, ()
    text = said(
        "{sensor} states no uncertainty at all: 1 % of its {over} was taken",
        sensor=sensor.name,
        over=said("range") if sensor.range else said("points' span"),
    )
    return UNSTATED_SHARE * span, span, (Note("calibration-unstated", text),)


def _range(sensor: Sensor, shift: float) -> tuple[float | None, float | None]:
    if sensor.range is None:
        return None, None
    ends = sorted(end.si + shift for end in sensor.range)
    return ends[0], ends[1]
