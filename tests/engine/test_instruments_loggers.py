"""Loggers and their files, each against its own definition."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.engine.instruments.dialects import Column, Dialect, file_bytes
from gaugewright.engine.instruments.loggers import Converter, Logger, rows, taken


def test_a_converter_knows_its_steps_and_no_others() -> None:
    ten = Converter(10, 0.0, 5.0)
    made = ten.converted(np.linspace(-1.0, 6.0, 5000))
    assert len(np.unique(made)) == 1024
    assert np.unique(np.diff(np.unique(made))) == pytest.approx(5.0 / 1024.0)
    assert made.min() == 0.0
    assert made.max() == pytest.approx(5.0 - 5.0 / 1024.0)


def test_within_its_range_it_is_out_by_half_a_step_at_most() -> None:
    twelve = Converter(12, -10.0, 10.0)
    true = np.random.default_rng(0).uniform(-9.9, 9.9, size=2000)
    off = twelve.converted(true) - true
    assert np.abs(off).max() <= 0.5 * twelve.step_v * (1.0 + 1e-9)
    # Uniform over a step: its standard deviation is the step over the root of 12.
    assert np.std(off) == pytest.approx(twelve.step_v / np.sqrt(12.0), rel=0.05)


def test_a_fast_clock_shows_more_than_has_passed() -> None:
    fast = Logger(100.0, starts_s=3.0, clock_ppm=200.0)
    assert fast.own_s(np.array(3.0 + 3600.0)) == pytest.approx(3600.72)
    assert fast.true_s(np.array(3600.72)) == pytest.approx(3603.0)


def test_a_logger_records_from_its_start_on_its_own_clock() -> None:
    late = Logger(50.0, starts_s=7.36, clock_ppm=-300.0)
    own = rows(late, 60.0, np.random.default_rng(0))
    assert own[0] == 0.0
    assert np.diff(own) == pytest.approx(0.02)
    time = np.arange(0.0, 60.0, 1e-3)
    assert taken(late, own, time, time) == pytest.approx(7.36 + own * 1.0003, abs=1e-5)


def test_rows_are_lost_as_often_as_stated() -> None:
    own = rows(Logger(1000.0, lost_share=0.05), 20.0, np.random.default_rng(1))
    assert 1.0 - len(own) / 20_001 == pytest.approx(0.05, abs=0.008)
    assert np.all(np.diff(own) > 0.0)


def test_a_slow_logger_carries_its_values_forward() -> None:
    slow = Logger(100.0, refresh_hz=4.0)
    own = rows(slow, 10.0, np.random.default_rng(2))
    time = np.arange(0.0, 10.1, 1e-3)
    got = taken(slow, own, time, time)
    assert len(np.unique(got)) == 41
    assert np.all(got <= own + 1e-9)
    assert np.max(own - got) == pytest.approx(0.24)


def test_the_plain_dialect() -> None:
    column = Column("p", "kPa", np.array([1.5, 2.25]), 1)
    assert (
        file_bytes(Dialect(), np.array([0.0, 0.5]), [column]) == b"time,p\n0.000,1.5\n0.500,2.2\n"
    )


def test_another_dialect_with_everything_in_it() -> None:
    other = Dialect(
        delimiter=";",
        decimal=",",
        newline="\r\n",
        encoding="latin-1",
        preamble=("ambient;21 °C", ""),
        time="t",
        time_unit="ms",
        time_scale=1000.0,
        time_places=0,
        units_row=True,
        missing="-",
    )
    column = Column("ch1", "V", np.array([1.25, np.nan]), 2)
    assert file_bytes(other, np.array([0.0, 0.02]), [column]).split(b"\r\n") == [
        b"ambient;21 \xb0C",
        b"",
        b"t;ch1",
        b"ms;V",
        b"0;1,25",
        b"20;-",
        b"",
    ]


def test_no_clock_column_where_the_logger_writes_none() -> None:
    column = Column("p", "V", np.array([-0.0]), 2)
    assert file_bytes(Dialect(time=""), np.array([0.0]), [column]) == b"p\n0.00\n"


def test_one_mark_for_two_things_is_refused() -> None:
    with pytest.raises(ValueError, match="use two marks"):
        Dialect(decimal=",")
