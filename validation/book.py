"""Levels that share errors, and what an observation of those errors does to them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from validation.noise import Floats

Shared = dict[str, float]


@dataclass(frozen=True)
class Estimate:
    """A level: value, own variance, slope on speed, and sensitivities to shared errors."""

    value: float
    variance: float
    shared: Shared
    per_rpm: float = 0.0
    per_rpm_variance: float = 0.0
    mean_rpm: float = 0.0
    dof: float | None = None

    def at(self, speed_rpm: float) -> Estimate:
        """The same level at another speed, along its own slope."""
        away = speed_rpm - self.mean_rpm
        variance = self.variance + away**2 * self.per_rpm_variance
        return Estimate(
            self.value + self.per_rpm * away,
            variance,
            self.shared,
            self.per_rpm,
            self.per_rpm_variance,
            speed_rpm,
            self.dof,
        )

    def plus(self, other: Estimate, sign: float) -> Estimate:
        """This level plus or minus another whose own noise is independent of it."""
        names = self.shared.keys() | other.shared.keys()
        shared = {n: self.shared.get(n, 0.0) + sign * other.shared.get(n, 0.0) for n in names}
        return Estimate(
            self.value + sign * other.value,
            self.variance + other.variance,
            shared,
            self.per_rpm + sign * other.per_rpm,
            self.per_rpm_variance + other.per_rpm_variance,
            self.mean_rpm,
            min((d for d in (self.dof, other.dof) if d is not None), default=None),
        )


class Book:
    """Unit normal shared errors, conditioned on the job's engine-off zeros."""

    def __init__(self, zeros: list[tuple[float, Shared, float]]) -> None:
        names = sorted({name for _, shared, _ in zeros for name in shared})
        self.index = {name: place for place, name in enumerate(names)}
        size = len(names)
        rows = np.array([self._row(shared) for _, shared, _ in zeros]).reshape(len(zeros), size)
        noise = np.zeros((len(zeros), len(zeros)))
        noise += (
            np.diag(np.array([variance for _, _, variance in zeros], dtype=np.float64))
            if zeros
            else 0.0
        )
        seen = np.array([innovation for innovation, _, _ in zeros])
        gain = rows.T @ np.linalg.pinv(rows @ rows.T + noise)
        self.mean = gain @ seen.reshape(len(zeros))
        self.covariance = np.eye(size) - gain @ rows

    def _row(self, shared: Shared) -> Floats:
        row = np.zeros(len(self.index))
        for name, value in shared.items():
            if name in self.index:
                row[self.index[name]] = value
        return row

    def corrected(self, level: Estimate) -> tuple[float, float]:
        """Value and standard uncertainty with all shared errors."""
        row = self._row(level.shared)
        rest = sum(v**2 for n, v in level.shared.items() if n not in self.index)
        variance = level.variance + rest + float(row @ self.covariance @ row)
        return level.value + float(row @ self.mean), float(np.sqrt(variance))

    def covariance_of(self, one: Estimate, other: Estimate) -> float:
        """Covariance of two levels by their shared errors alone."""
        rest = sum(
            v * other.shared.get(n, 0.0) for n, v in one.shared.items() if n not in self.index
        )
        return rest + float(self._row(one.shared) @ self.covariance @ self._row(other.shared))
