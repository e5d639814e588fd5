"""The instruments of a job, each with the errors that job.toml states as standard uncertainties."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.ignition import PickUp
from gaugewright.engine.instruments.loggers import Converter
from gaugewright.engine.instruments.sensors import Sensor, output, volts
from gaugewright.engine.parameters import Engine
from gaugewright.physics.numbers import Floats
from validation.causes.engines import Rng, pick

Table = dict[str, Any]
BAR_PA, KPA = 1e5, 1e3


@dataclass(frozen=True)
class Transducer:
    """A sensor as it is while the job lasts, and its [[sensor]] of job.toml."""

    sensor: Sensor
    table: Table
    supply_v: float

    def record(self, rng: Rng, over_pa: Floats, interval_s: float) -> Floats:
        """What the logger writes of it (n,) V."""
        put_out = output(self.sensor, over_pa, interval_s, rng, self.supply_v)
        return Converter(14).converted(put_out)


@dataclass(frozen=True)
class Bench:
    """How everything is measured in one job.

    `speed`: "ignition" or "column"; `warmth`: "column", "hand", "coolant" or "none";
    `crankcase`: "volts", "column" or "hand"; `scanned`: trims and manifold pressure from a
    scan tool's file, else noted by hand.  Errors are those of the instruments read by hand.
    """

    oil: Transducer
    case: Transducer
    speed: str
    warmth: str
    crankcase: str
    scanned: bool
    as_text: bool
    pick_up: PickUp | None
    warmth_error_k: float
    case_error_pa: float
    manifold_error_pa: float
    gauge_error_pa: float
    gauge_sigma_pa: float


def draw_bench(rng: Rng, build: Build, engine: Engine) -> Bench:
    """Instruments of one job; `engine` says what is wrong with the measurement itself."""
    indication = engine.indication
    speed = "ignition" if build.ignition != "compression" and rng.random() < 0.6 else "column"
    gauge_sigma = float(rng.choice([3e3, 5e3, 8e3]))
    return Bench(
        oil=_oil(rng, float(np.asarray(indication.zero_pa)), float(np.asarray(indication.gain))),
        case=_case(rng),
        speed=speed,
        warmth=pick(rng, {"column": 0.6, "hand": 0.25, "coolant": 0.1, "none": 0.05}),
        crankcase=pick(rng, {"volts": 0.5, "column": 0.2, "hand": 0.3}),
        scanned=bool(rng.random() < 0.55),
        as_text=bool(rng.random() < 0.25),
        pick_up=PickUp(shape="square", missed=0.002) if speed == "ignition" else None,
        warmth_error_k=1.5 * float(rng.standard_normal()),
        case_error_pa=150.0 * float(rng.standard_normal()),
        manifold_error_pa=800.0 * float(rng.standard_normal()),
        gauge_error_pa=gauge_sigma * float(rng.standard_normal()),
        gauge_sigma_pa=gauge_sigma,
    )


def _oil(rng: Rng, zero_pa: float, gain: float) -> Transducer:
    """The oil transducer, calibrated; then whatever went wrong with it since."""
    high = float(rng.choice([7.0, 10.0])) * BAR_PA
    size = float(rng.uniform(0.0025, 0.008)) * high
    ratiometric = bool(rng.random() < 0.5)
    made = _made(rng, (0.0, high), size, ratiometric)
    at = np.array([0.0, 1.0, 2.0, 4.0]) * BAR_PA
    table = _stated(rng, "oil transducer", made, at, size, ("bar", BAR_PA))
    used = _with_bend(rng, made, size)
    sick = _changed(used, zero_pa, gain)
    supply = round(float(rng.uniform(4.88, 5.06)), 2) if ratiometric else 5.0
    return Transducer(sick, table | ({"supply": "5 V"} if ratiometric else {}), supply)


def _case(rng: Rng) -> Transducer:
    span = (-25.0 * KPA, 25.0 * KPA)
    size = float(rng.uniform(80.0, 250.0))
    made = _made(rng, span, size, ratiometric=False)
    at = np.array([-8.0, -3.0, 0.0, 3.0, 8.0]) * KPA
    table = _stated(rng, "crankcase transducer", made, at, size, ("kPa", KPA))
    return Transducer(_with_bend(rng, made, size), table, 5.0)


def _made(rng: Rng, span: tuple[float, float], size: float, ratiometric: bool) -> Sensor:
    """A sensor off by zero and gain, which its calibration finds."""
    return Sensor(
        *span,
        ratiometric=ratiometric,
        zero=2.0 * size * float(rng.standard_normal()),
        gain=1.0 + 0.01 * float(rng.standard_normal()),
        lag_s=0.003,
        noise_v=0.002,
    )


def _with_bend(rng: Rng, sensor: Sensor, size: float) -> Sensor:
    """The smooth deviation that the job format calls accuracy."""
    from dataclasses import replace

    bend = size * rng.standard_normal(2)
    return replace(sensor, bend=(float(bend[0]), float(bend[1])))


def _changed(sensor: Sensor, zero_pa: float, gain: float) -> Sensor:
    from dataclasses import replace

    return replace(sensor, zero=gain * sensor.zero + zero_pa, gain=gain * sensor.gain)


def _stated(
    rng: Rng, name: str, sensor: Sensor, at_pa: Floats, size: float, unit: tuple[str, float]
) -> Table:
    """[[sensor]]: its points, each pressure off by a standard normal error of its size."""
    word, scale = unit
    each, common = 0.5 * size, 0.4 * size
    true = at_pa + each * rng.standard_normal(len(at_pa)) + common * float(rng.standard_normal())
    shown = volts(sensor, true)
    low, high = sensor.low / scale, sensor.high / scale
    return {
        "name": name,
        "reference": "atmosphere",
        "points": [
            [f"{v:.4f} V", f"{pa / scale:g} {word}"] for v, pa in zip(shown, at_pa, strict=True)
        ],
        "point_uncertainty": f"{each / scale:.5f} {word}",
        "points_common": f"{common / scale:.5f} {word}",
        "accuracy": f"{size / scale:.5f} {word}",
        "range": [f"{low:g} {word}", f"{high:g} {word}"],
    }
