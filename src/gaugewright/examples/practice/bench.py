"""The sensors of a practice job: how they truly are, and how the technician calibrated them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from gaugewright.engine.instruments.hoses import Hose, air_hose, oil_hose
from gaugewright.engine.instruments.sensors import Sensor, volts
from gaugewright.engine.parameters import Indication
from gaugewright.examples.practice.levels import Level
from gaugewright.physics.numbers import Floats

BAR_PA, KPA = 1e5, 1e3
WARM_ZERO = 0.003
"""How far a warm body moves the zero, of the sensor's own deviation for each kelvin (judgement:
a hot zero is one of the smaller errors of a sensor that was zeroed warm)."""
OIL_RANGE_PA = (0.0, 10e5)
OIL_POINTS_PA = {1: (0.0, 1e5, 2e5, 3e5, 4.5e5), 2: (0.0, 1e5, 2e5, 4e5), 3: (0.0, 1.5e5, 4e5)}
NEAR_RANGE_PA = (-25e3, 25e3)
NEAR_POINTS_PA = (-10e3, -4e3, 0.0, 4e3, 10e3)
ABSOLUTE_RANGE_PA = (15e3, 115e3)
ABSOLUTE_POINTS_PA = (-12e3, -5e3, 0.0, 5e3, 12e3)
"""Over the outside air: what a hand pump and a gauge beside it can do."""


@dataclass(frozen=True)
class Fitted:
    """A sensor in its place.

    `table`: its [[sensor]] of job.toml.  `supply_v`: what feeds it in the car, None where that
    is not told.  `hose`: between tap and sensor; `hose_table`: the same in job.toml.
    """

    sensor: Sensor
    table: dict[str, Any]
    supply_v: float | None = None
    hose: Hose | None = None
    hose_table: dict[str, str] | None = None

    @property
    def name(self) -> str:
        """Its name in job.toml."""
        return str(self.table["name"])


def oil_fitted(level: Level, indication: Indication, rng: np.random.Generator) -> Fitted:
    """The oil transducer of this level, on the main gallery.

    Parameters: what is wrong with the measurement itself, beside the sensor's own errors.
    """
    size = level.accuracy * (OIL_RANGE_PA[1] - OIL_RANGE_PA[0])
    bend = size * rng.normal(size=2)
    calibrated = Sensor(
        *OIL_RANGE_PA,
        ratiometric=True,
        zero=0.6 * size * rng.normal(),
        gain=1.0 + 0.004 * rng.normal(),
        bend=(float(bend[0]), float(bend[1])),
        zero_per_k=WARM_ZERO * size * rng.normal(),
        lag_s=0.002,
        noise_v=level.noise_v,
    )
    table = {
        "name": "oil transducer",
        "reference": "atmosphere",
        "points": points(calibrated, np.array(OIL_POINTS_PA[level.number]), size, "bar", rng),
        **_uncertainties(size, "mbar", 100.0),
        "range": ["0 bar", "10 bar"],
        "supply": "5 V",
    }
    supply = 5.0 if level.number == 1 else round(float(rng.uniform(4.85, 5.05)), 2)
    hose, hose_table = _oil_line(level, rng)
    return Fitted(_as_used(calibrated, indication), table, supply, hose, hose_table)


def _as_used(calibrated: Sensor, indication: Indication) -> Sensor:
    """The same sensor with what has gone wrong with the measurement since."""
    from dataclasses import replace

    gain = float(np.asarray(indication.gain))
    zero = float(np.asarray(indication.zero_pa))
    return replace(calibrated, gain=calibrated.gain * gain, zero=calibrated.zero * gain + zero)


def _oil_line(level: Level, rng: np.random.Generator) -> tuple[Hose | None, dict[str, str] | None]:
    """At level 3 a hose, with some air left in it; else the sensor sits in the block."""
    if level.number < 3:
        return None, None
    length = round(float(rng.uniform(0.3, 0.8)), 1)
    bubble = float(rng.uniform(0.5e-8, 3e-8))
    told = {"length": f"{length:g} m", "bore": "4 mm", "holds": "oil"}
    return oil_hose(length, 0.004, bubble, 250e3), told


def crankcase_fitted(level: Level, barometer_pa: float, rng: np.random.Generator) -> Fitted:
    """The crankcase sensor on the dipstick tube: a near-zero one at level 1, else an old
    manifold sensor that measures absolute pressure."""
    size = level.crankcase_pa
    bend = size * rng.normal(size=2)
    near = level.number == 1
    sensor = Sensor(
        *(NEAR_RANGE_PA if near else ABSOLUTE_RANGE_PA),
        low_v=0.5 if near else 0.25,
        high_v=4.5 if near else 4.75,
        zero=0.5 * size * rng.normal(),
        bend=(float(bend[0]), float(bend[1])),
        lag_s=0.01,
        noise_v=0.6 * level.noise_v,
    )
    at = np.array(NEAR_POINTS_PA if near else ABSOLUTE_POINTS_PA)
    at = at if near else at + barometer_pa
    low, high = (-25, 25) if near else (15, 115)
    table = {
        "name": "crankcase transducer",
        "reference": "atmosphere" if near else "vacuum",
        "points": points(sensor, at, size, "kPa", rng),
        **_uncertainties(size, "kPa", KPA),
        "range": [f"{low} kPa", f"{high} kPa"],
    }
    told = {"length": "1 m", "bore": "4 mm", "holds": "air"}
    return Fitted(sensor, table, None, air_hose(1.0, 0.004), told)


def points(
    sensor: Sensor, at_pa: Floats, size_pa: float, unit: str, rng: np.random.Generator
) -> list[list[str]]:
    """Calibration points as job.toml states them: volts against a gauge that errs a little.

    Each point is out by `size_pa` of its own and by 0.8 of it that all share.
    """
    gauge = at_pa + size_pa * rng.normal(size=len(at_pa)) + 0.8 * size_pa * rng.normal()
    shown_v = volts(sensor, at_pa)
    scale, places = (BAR_PA, 4) if unit == "bar" else (KPA, 3)
    return [
        [f"{v:.4f} V", f"{p / scale + 0.0:.{places}f} {unit}"]
        for v, p in zip(shown_v, gauge, strict=True)
    ]


def _uncertainties(size_pa: float, unit: str, scale: float) -> dict[str, str]:
    return {
        "point_uncertainty": f"{size_pa / scale:.3g} {unit}",
        "points_common": f"{0.8 * size_pa / scale:.3g} {unit}",
        "accuracy": f"{size_pa / scale:.3g} {unit}",
    }
