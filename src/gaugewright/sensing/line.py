"""The straight line through points whose ordinates are uncertain.

Source: JCGM 100:2008, H.3 (calibration line by least squares); weighted form as in any text on
linear least squares.  Written about the weighted mean of the abscissae, where level and slope
are uncorrelated.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Line:
    """y = level + slope * (x - centre), and how well the points hold it.

    `level_variance` and `slope_variance` are those of the fit for the standard uncertainties
    handed in (for unit weights: per unit variance of a point); level and slope are
    uncorrelated about `centre`.  `chi2` is the weighted sum of squared residuals, `dof` the
    number of points less two.
    """

    centre: float
    level: float
    slope: float
    level_variance: float
    slope_variance: float
    chi2: float
    dof: int

    @property
    def intercept(self) -> float:
        """The line's value at x = 0."""
        return self.level - self.slope * self.centre

    @property
    def residual_sd(self) -> float:
        """The scatter of the points about the line, in units of their standard uncertainty."""
        return float(np.sqrt(self.chi2 / self.dof)) if self.dof > 0 else 0.0

    def variance_at(self, x: float) -> float:
        """The variance of the line's value at x."""
        return self.level_variance + (x - self.centre) ** 2 * self.slope_variance

    @property
    def correlation(self) -> float:
        """The correlation of intercept and slope."""
        spread = self.level_variance + self.centre**2 * self.slope_variance
        return float(-self.centre * np.sqrt(self.slope_variance / spread))


def fit_line(x: npt.ArrayLike, y: npt.ArrayLike, sigma: npt.ArrayLike = 1.0) -> Line:
    """Which line do these points hold, and how surely?

    Parameters: `x`, `y` (n,) with at least two different x; `sigma` the standard uncertainty of
    each y, one number or (n,), above zero.
    Returns: the weighted-least-squares `Line`; its variances follow `sigma` as given and are
    not rescaled by the lack of fit.
    Raises: ValueError where all x are equal.
    """
    abscissae, ordinates = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    weights = 1.0 / np.broadcast_to(np.asarray(sigma, dtype=float), abscissae.shape) ** 2
    total = float(weights.sum())
    centre, level = (float(weights @ values) / total for values in (abscissae, ordinates))
    away = abscissae - centre
    spread = float(weights @ away**2)
    if spread <= 0.0:
        raise ValueError("all points of the line lie at one abscissa")
    slope = float((weights * away) @ (ordinates - level)) / spread
    residuals = ordinates - level - slope * away
    chi2 = float(weights @ residuals**2)
    return Line(centre, level, slope, 1.0 / total, 1.0 / spread, chi2, len(abscissae) - 2)
