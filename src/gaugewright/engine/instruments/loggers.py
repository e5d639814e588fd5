"""Loggers: their own clock, their converter, rows they lose, values they carry forward."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.physics.numbers import Floats


@dataclass(frozen=True)
class Converter:
    """A logger's converter: `bits` evenly over `low_v` to `high_v`, clipped at both ends."""

    bits: int
    low_v: float = 0.0
    high_v: float = 5.0

    @property
    def step_v(self) -> float:
        """The size of one step."""
        return float((self.high_v - self.low_v) / 2**self.bits)

    def converted(self, values_v: Floats) -> Floats:
        """Voltages (n,) as the converter gives them back: whole steps, none beyond its ends."""
        steps = np.floor((values_v - self.low_v) / self.step_v + 0.5)
        return np.asarray(self.low_v + np.clip(steps, 0, 2**self.bits - 1) * self.step_v)


@dataclass(frozen=True)
class Logger:
    """A logger's clock and habits.

    Its own time 0 is the true time `starts_s`.  `clock_ppm`: how much too fast its clock runs,
    in millionths.  `rate_hz`: rows a second by its own clock.  `lost_share`: rows that never
    reach the file.  `refresh_hz`: where set, it asks its sources only this often and carries
    what it got forward from row to row.
    """

    rate_hz: float
    starts_s: float = 0.0
    clock_ppm: float = 0.0
    lost_share: float = 0.0
    refresh_hz: float | None = None

    def true_s(self, own_s: Floats) -> Floats:
        """The true time at which its clock shows this: (n,) s."""
        return self.starts_s + own_s / (1.0 + 1e-6 * self.clock_ppm)

    def own_s(self, true_s: Floats) -> Floats:
        """What its clock shows at this true time: (n,) s."""
        return (true_s - self.starts_s) * (1.0 + 1e-6 * self.clock_ppm)


def rows(logger: Logger, until_s: float, rng: np.random.Generator) -> Floats:
    """The rows of its file by its own clock (n,) s, up to this true time.

    The first row is never among the lost.
    """
    last = logger.own_s(np.array(until_s))
    own = np.arange(int(np.floor(last * logger.rate_hz)) + 1) / logger.rate_hz
    kept = rng.random(len(own)) >= logger.lost_share
    kept[:1] = True
    return np.asarray(own[kept], dtype=np.float64)


def taken(logger: Logger, own_s: Floats, time_s: Floats, values: Floats) -> Floats:
    """What the logger puts into its rows (n,), of a signal (m,) on the true clock.

    Parameters: the rows by the logger's clock; the true clock and the signal on it.  Between
    the signal's samples it is taken as straight.
    """
    asked = own_s
    if logger.refresh_hz is not None:
        asked = np.floor(own_s * logger.refresh_hz + 1e-9) / logger.refresh_hz
    at = np.interp(logger.true_s(asked), time_s, values)
    return np.asarray(at, dtype=np.float64)
