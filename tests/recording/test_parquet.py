"""Parquet: numeric clocks, dates with times, times of day, durations."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from gaugewright.job.model import RecordingEntry
from gaugewright.recording.reading import read

Making = Callable[..., RecordingEntry]
START = dt.datetime(2031, 3, 4, 23, 59, 58)
CLOCKS: dict[str, Any] = {
    "numbers": [n / 4 for n in range(16)],
    "dates": [START + dt.timedelta(seconds=n / 4) for n in range(16)],
    "times of day": [(START + dt.timedelta(seconds=n / 4)).time() for n in range(16)],
    "durations": [dt.timedelta(seconds=n / 4) for n in range(16)],
}


@pytest.mark.parametrize("clock", CLOCKS)
def test_clocks(tmp_path: Path, making: Making, clock: str) -> None:
    frame = pl.DataFrame({"clock": CLOCKS[clock], "p [kPa]": np.arange(16, dtype=np.float32)})
    frame.write_parquet(tmp_path / "run.parquet")
    recorded = read(making("run.parquet", "p", time="clock"), tmp_path)
    column = recorded.columns["p"]
    assert_allclose(column.time_s, np.arange(16) / 4)
    assert_array_equal(column.values, np.arange(16))
    assert column.unit == "kPa"
    assert recorded.rows == 16


def test_milliseconds_whole_numbers_and_missing_values(tmp_path: Path, making: Making) -> None:
    values = [None if n == 3 else n % 7 for n in range(1000)]
    frame = pl.DataFrame({"t [ms]": [n * 20 for n in range(1000)], "p": values})
    frame.write_parquet(tmp_path / "run.parquet")
    column = read(making("run.parquet", "p", time="t [ms]"), tmp_path).columns["p"]
    assert column.time_s[-1] == pytest.approx(999 * 0.02)
    assert np.isnan(column.values[3])
    assert [(n.code, n.count) for n in column.notes] == [("values-missing", 1)]


def test_rate_alone(tmp_path: Path, making: Making) -> None:
    pl.DataFrame({"p": np.sin(np.arange(50))}).write_parquet(tmp_path / "run.parquet")
    column = read(making("run.parquet", "p", rate_hz=100), tmp_path).columns["p"]
    assert column.interval_s == pytest.approx(0.01)
    assert column.time_s[-1] == pytest.approx(0.49)
