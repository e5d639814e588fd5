"""The van's recordings as two unlike loggers write them."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from gaugewright.engine.instruments.dialects import Column, Dialect, file_bytes
from gaugewright.engine.instruments.disturbances import MAINS_HZ, noise
from gaugewright.engine.instruments.hoses import air_hose, through
from gaugewright.engine.instruments.loggers import Converter, Logger, rows, taken
from gaugewright.engine.instruments.sensors import Sensor, lagged, output, volts
from gaugewright.engine.run import Run
from gaugewright.examples.van_run import RATE_HZ
from gaugewright.examples.van_sensors import SUPPLY_V

SLOW_RATE_HZ = 50.0
HOSE = air_hose(1.0, 0.004)
LAG_S = 0.02
"""An old manifold sensor is slow (judgement)."""
CONVERTER = Converter(12)
FIRST = Dialect(time="")
SECOND = Dialect(
    delimiter=";",
    decimal=",",
    newline="\r\n",
    encoding="latin-1",
    preamble=(
        "second logger, bench trolley",
        "interval;20 ms",
        "channel 1;crankcase, at the dipstick tube",
        "ambient;21 °C",
        "",
    ),
    time_places=2,
    units_row=True,
)


def write_first_logger(path: Path, lived: Run, sensor: Sensor, rng: np.random.Generator) -> None:
    """The engine logger: 10 kHz, commas, no clock column, a 12-bit converter on oil_v.

    Beside it an improvised ignition pick-up, into which the mains hums.
    """
    count = len(lived.time_s)
    oil_v = output(sensor, lived.lanes["oil_gauge_pa"], 1.0 / RATE_HZ, rng, SUPPLY_V)
    humming = 0.03 * np.sin(2.0 * np.pi * MAINS_HZ * lived.time_s)
    spark_v = lived.lanes["ignition_v"] + humming + noise(count, 0.02, rng)
    columns = [
        Column("oil_v", "V", CONVERTER.converted(oil_v), 4),
        Column("spark_v", "V", np.clip(spark_v, -5.0, 5.0), 2),
        Column("oil_degc", "degC", lived.lanes["oil_degc"] + noise(count, 0.05, rng), 1),
    ]
    path.write_bytes(file_bytes(FIRST, lived.time_s, columns))


def write_second_logger(
    path: Path, lived: Run, sensor: Sensor, starts_s: float, rng: np.random.Generator
) -> None:
    """The trolley's logger: 50 Hz, a preamble, semicolons, decimal commas, Latin-1, CRLF.

    Parameters: when it was started, on the first logger's clock.
    """
    logger = Logger(SLOW_RATE_HZ, starts_s)
    own_s = rows(logger, float(lived.time_s[-1]) - 0.3, rng)[round(SLOW_RATE_HZ) :]
    felt = lagged(through(lived.lanes["crankcase_pa"], 1.0 / RATE_HZ, HOSE), 1.0 / RATE_HZ, LAG_S)
    absolute = taken(logger, own_s, lived.time_s, felt)
    put_out = volts(sensor, absolute) + noise(len(own_s), sensor.noise_v, rng)
    path.write_bytes(file_bytes(SECOND, own_s, [Column("ch1", "V", put_out, 4)]))
