"""Errors that several readings share, kept as one Gaussian with its covariance.

A sensor's calibration points, its deviation curve, a hand gauge, the barometer: each is a
block of parameters theta with mean zero and a covariance.  A reading carries its sensitivity
to them (`Gradient`, true value = indicated + gradient . theta), so that a difference of two
readings keeps only what does not cancel.  An engine-off zero is an observation that narrows
the book for every reading at once.

Source: JCGM 100:2008, 5.2 (correlated input quantities) and F.1.2; the update is the
ordinary conditional of a joint normal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Gradient = Mapping[str, Floats]


@dataclass(frozen=True)
class SharedErrors:
    """The shared parameters of one job: where each block lies, their mean and covariance."""

    blocks: Mapping[str, slice] = field(default_factory=dict)
    mean: Floats = field(default_factory=lambda: np.zeros(0))
    covariance: Floats = field(default_factory=lambda: np.zeros((0, 0)))

    def with_block(self, name: str, covariance: npt.ArrayLike) -> SharedErrors:
        """The book with one more block of mean zero and this (k, k) covariance."""
        if name in self.blocks:
            raise ValueError(f"block {name!r} is in the book already")
        block = np.atleast_2d(np.asarray(covariance, dtype=float))
        old, new = len(self.mean), len(self.mean) + len(block)
        joint = np.zeros((new, new))
        joint[:old, :old] = self.covariance
        joint[old:, old:] = block
        blocks = {**self.blocks, name: slice(old, new)}
        return SharedErrors(blocks, np.append(self.mean, np.zeros(len(block))), joint)

    def vector(self, gradient: Gradient) -> Floats:
        """The gradient as one vector over all parameters of the book."""
        full = np.zeros(len(self.mean))
        for name, part in gradient.items():
            full[self.blocks[name]] += part
        return full

    def observe(self, gradient: Gradient, discrepancy: float, variance: float) -> SharedErrors:
        """The book after learning that gradient . theta = discrepancy, with this variance."""
        h = self.vector(gradient)
        gain = self.covariance @ h
        spread = float(h @ gain) + variance
        if spread <= 0.0:
            return self
        mean = self.mean + gain * ((discrepancy - float(h @ self.mean)) / spread)
        return SharedErrors(self.blocks, mean, self.covariance - np.outer(gain, gain) / spread)

    def correction(self, gradient: Gradient) -> float:
        """What is to be added to an indicated value with this gradient."""
        return float(self.vector(gradient) @ self.mean)

    def between(self, first: Gradient, second: Gradient) -> float:
        """The covariance of two readings' shared errors; with itself, the variance."""
        return float(self.vector(first) @ self.covariance @ self.vector(second))


def plus(first: Gradient, second: Gradient, factor: float = 1.0) -> dict[str, Floats]:
    """The gradient of first + factor * second."""
    total = {name: np.array(part, dtype=float) for name, part in first.items()}
    for name, part in second.items():
        total[name] = total.get(name, np.zeros(len(part))) + factor * np.asarray(part)
    return total


def times(gradient: Gradient, factor: float) -> dict[str, Floats]:
    """The gradient of factor times a reading."""
    return {name: factor * np.asarray(part) for name, part in gradient.items()}
