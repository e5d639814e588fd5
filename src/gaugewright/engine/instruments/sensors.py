"""Sensors as they are: slow, a little wrong, fed by a supply that is never quite 5 V."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.physics.numbers import Floats, Numbers


@dataclass(frozen=True)
class Sensor:
    """A sensor that puts out a voltage for a quantity (in that quantity's own SI unit).

    `low`, `high`: its range; `low_v`, `high_v`: what it is meant to put out there, at a supply
    of `supply_v`.  `zero`: what it shows too much at `low`; `gain`: how much of a change it
    shows.  `bend`: the two parts (A, B) of its smooth deviation A cos w + B sin w, w from 0 at
    `low` to 90 degrees at `high`: what the job format calls `accuracy` is the standard size of
    A and of B.  `zero_per_k`: how far the zero moves for each kelvin of its body over
    `warm_from_degc`.  `lag_s`: its own first-order delay.  `noise_v`: standard deviation.
    """

    low: float
    high: float
    low_v: float = 0.5
    high_v: float = 4.5
    supply_v: float = 5.0
    ratiometric: bool = False
    zero: float = 0.0
    gain: float = 1.0
    bend: tuple[float, float] = (0.0, 0.0)
    zero_per_k: float = 0.0
    warm_from_degc: float = 20.0
    lag_s: float = 0.0
    noise_v: float = 0.0

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise ValueError(f"found a range from {self.low} to {self.high}; put the lower first")

    @property
    def volts_per_unit(self) -> float:
        """The slope it is meant to have."""
        return (self.high_v - self.low_v) / (self.high - self.low)


def shown(sensor: Sensor, true: Numbers, body_degc: Numbers | None = None) -> Numbers:
    """What the sensor makes of a steady true value, in the quantity's unit.

    Parameters: true value (n,); temperature of the sensor's body (n,), None: as calibrated.
    Returns: (n,) with zero, gain, smooth deviation and the drift of a warm zero.

    Example: `shown(Sensor(0.0, 7e5, zero=1000.0), 0.0)` is 1000.0.
    """
    share = (np.asarray(true, dtype=np.float64) - sensor.low) / (sensor.high - sensor.low)
    angle = 0.5 * np.pi * share
    deviation = sensor.bend[0] * np.cos(angle) + sensor.bend[1] * np.sin(angle)
    warmth = 0.0 if body_degc is None else np.asarray(body_degc) - sensor.warm_from_degc
    straight = sensor.low + sensor.gain * share * (sensor.high - sensor.low)
    return np.asarray(straight + sensor.zero + deviation + sensor.zero_per_k * warmth)


def volts(
    sensor: Sensor,
    true: Numbers,
    supply_v: Numbers | None = None,
    body_degc: Numbers | None = None,
) -> Floats:
    """The sensor's steady output (n,) V; a ratiometric one goes with its supply.

    It cannot leave the span between ground and its supply.
    """
    fed = sensor.supply_v if supply_v is None else supply_v
    nominal = sensor.low_v + sensor.volts_per_unit * (shown(sensor, true, body_degc) - sensor.low)
    scale = np.asarray(fed) / sensor.supply_v if sensor.ratiometric else 1.0
    return np.asarray(np.clip(nominal * scale, 0.0, fed), dtype=np.float64)


def output(
    sensor: Sensor,
    true: Floats,
    interval_s: float,
    rng: np.random.Generator,
    supply_v: Numbers | None = None,
    body_degc: Numbers | None = None,
) -> Floats:
    """The sensor's output over time (n,) V: what it makes of the values, late and noisy.

    Parameters: true values (n,) every `interval_s`; the source of its noise; its supply and
    the temperature of its body, each a number or (n,).
    """
    late = lagged(true, interval_s, sensor.lag_s)
    steady = volts(sensor, late, supply_v, body_degc)
    return steady + rng.normal(scale=sensor.noise_v, size=len(steady))


def lagged(values: Floats, interval_s: float, lag_s: float) -> Floats:
    """Values (n,) after a first-order delay, exact for what is straight between samples.

    It starts settled at the first value.  A step shows 63 % of itself after `lag_s`.
    """
    if lag_s <= 0.0 or not len(values):
        return values
    from scipy.signal import lfilter

    ratio = interval_s / lag_s
    keep = float(np.exp(-ratio))
    ahead = -np.expm1(-ratio) / ratio
    taps = [1.0 - ahead, ahead - keep]
    settled = [taps[1] * values[0] + keep * values[0]]
    late, _ = lfilter(taps, [1.0, -keep], values, zi=settled)
    return np.asarray(late, dtype=np.float64)
