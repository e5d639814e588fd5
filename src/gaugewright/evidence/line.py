"""The straight line through points that are uncertain in both directions.

Source: D. York et al., Am. J. Phys. 72 (2004) 367-375, in its matrix form with a full
covariance: the residuals z = y - a - b x have covariance Syy - b (Sxy + Syx) + b^2 Sxx.  For
two points the profile interval is Fieller's (E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175).
Standard errors are unscaled: the stated uncertainties are believed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

DIRECTIONS = 721


@dataclass(frozen=True)
class Scatter:
    """Points (k,) with the covariances of their errors, (k, k) each."""

    x: Floats
    y: Floats
    xx: Floats
    yy: Floats
    xy: Floats

    def misfit(self, slope: float) -> float:
        """Chi-squared of the best line with this slope, the intercept profiled out."""
        z = self.y - slope * self.x
        inverse = np.linalg.pinv(self.residual_covariance(slope), rcond=1e-12, hermitian=True)
        ones = np.ones(len(z))
        total = float(ones @ inverse @ ones)
        intercept = float(ones @ inverse @ z) / total
        return float((z - intercept) @ inverse @ (z - intercept))

    def residual_covariance(self, slope: float) -> Floats:
        """Covariance of y - slope x."""
        return self.yy - slope * (self.xy + self.xy.T) + slope**2 * self.xx


@dataclass(frozen=True)
class Line:
    """intercept + slope x, with the covariance (2, 2) of both, unscaled, and its chi-squared."""

    intercept: float
    slope: float
    covariance: Floats
    chi2: float
    dof: int


def line_through(points: Scatter) -> Line:
    """Which line is most likely, and how well is it known?

    Returns intercept and slope in the units of y and y/x.  Raises ValueError for fewer than two
    points.
    """
    if len(points.x) < 2:
        raise ValueError("a line needs two points")
    slope = _best_slope(points)
    weight = np.linalg.pinv(points.residual_covariance(slope), rcond=1e-12, hermitian=True)
    z = points.y - slope * points.x
    ones = np.ones(len(z))
    intercept = float(ones @ weight @ z) / float(ones @ weight @ ones)
    residual = z - intercept
    pulled = (points.xy - slope * points.xx) @ weight @ residual
    design = np.column_stack([ones, points.x - pulled])
    covariance = np.linalg.pinv(design.T @ weight @ design, hermitian=True)
    chi2 = float(residual @ weight @ residual)
    return Line(intercept, slope, covariance, chi2, len(z) - 2)


def _best_slope(points: Scatter) -> float:
    """The slope of least chi-squared: all directions first, then closer and closer."""
    if len(points.x) == 2:
        return float((points.y[1] - points.y[0]) / (points.x[1] - points.x[0]))
    scale = float(np.ptp(points.y) / np.ptp(points.x)) or 1.0
    angle = np.linspace(-np.pi / 2, np.pi / 2, DIRECTIONS)[1:-1]
    width = float(angle[1] - angle[0])
    best = float(angle[np.argmin([points.misfit(scale * np.tan(a)) for a in angle])])
    while width > 1e-9:
        near = best + width * np.linspace(-1.0, 1.0, 21)
        best = float(near[np.argmin([points.misfit(scale * np.tan(a)) for a in near])])
        width /= 8.0
    return float(scale * np.tan(best))


def slope_interval(points: Scatter, slope: float, factor: float) -> tuple[float, float]:
    """All slopes whose chi-squared is within factor^2 of the least; infinite where unbounded."""
    least = points.misfit(slope)
    return (
        _edge(points, slope, least + factor**2, -1.0),
        _edge(points, slope, least + factor**2, 1.0),
    )


def _edge(points: Scatter, slope: float, level: float, side: float) -> float:
    """Walk outwards until chi-squared passes the level, then halve."""
    step = 1e-3 * max(abs(slope), 0.1)
    inner, outer = slope, slope + side * step
    while points.misfit(outer) < level:
        inner, step = outer, step * 1.5
        outer = slope + side * step
        if step > 1e4:
            return side * float("inf")
    for _ in range(60):
        middle = 0.5 * (inner + outer)
        inner, outer = (middle, outer) if points.misfit(middle) < level else (inner, middle)
    return 0.5 * (inner + outer)
