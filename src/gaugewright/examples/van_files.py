"""The van's recordings as two unlike loggers write them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaugewright.examples.van_run import Run
from gaugewright.examples.van_sensors import CrankcaseSensor, OilSensor

Floats = npt.NDArray[np.float64]

CONVERTER_V = 5.0 / 4096.0
PREAMBLE = (
    "second logger, bench trolley",
    "interval;20 ms",
    "channel 1;crankcase, at the dipstick tube",
    "ambient;21 °C",
    "",
    "time;ch1",
    "s;V",
)


def write_first_logger(path: Path, lived: Run, sensor: OilSensor, rng: np.random.Generator) -> None:
    """The engine logger: 10 kHz, commas, no clock column, a 12-bit converter on oil_v."""
    import polars

    oil_v = sensor.volts(lived.oil_kpa) + rng.normal(scale=0.004, size=len(lived.oil_kpa))
    warm = lived.oil_degc + rng.normal(scale=0.05, size=len(lived.oil_degc))
    columns = {
        "oil_v": np.round(np.round(oil_v / CONVERTER_V) * CONVERTER_V, 4),
        "spark_v": np.round(np.clip(lived.spark_v, -5.0, 5.0), 2),
        "oil_degc": np.round(warm, 1),
    }
    polars.DataFrame(columns).write_csv(path)


def write_second_logger(
    path: Path, lived: Run, sensor: CrankcaseSensor, rng: np.random.Generator
) -> None:
    """The trolley's logger: 50 Hz, a preamble, semicolons, decimal commas, Latin-1, CRLF."""
    volts = sensor.volts(lived.crankcase_kpa)
    volts = volts + rng.normal(scale=0.003, size=len(volts))
    rows = [
        f"{t:.2f};{v:.4f}".replace(".", ",") for t, v in zip(lived.slow_time_s, volts, strict=True)
    ]
    text = "\r\n".join([*PREAMBLE, *rows, ""])
    path.write_bytes(text.encode("latin-1"))
