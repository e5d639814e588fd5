"""The generator by itself: what it writes reads back, and its truths are what they say."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from validation.engine import Engine, Held, viscosity_cst
from validation.instruments import draw_sensor
from validation.recipe import draw_recipe
from validation.timeline import Manner, run

from validation import story

QUIET = Manner(0.0, 1.0, 0.0, 0.0, 0.5, 0.0, 0.0, 0.0, 0.0, 0.0)


def held_idle() -> Held:
    return Held("first", "as found", ("nothing",), 800.0, -5.0, 16.0, 40.0, 16.0, 40.0)


def quiet_engine() -> Engine:
    return Engine(
        visit="first",
        grade="5W-30",
        base_kpa=100.0,
        base_rpm=800.0,
        base_degc=85.0,
        rise=0.8,
        exponent=0.9,
        slope=1.0,
        found_kpa=-5.0,
        crankcase_per_rpm=0.0,
        relief_kpa=450.0,
        step_rpm=None,
        step_factor=1.5,
        barometer_kpa=98.0,
        conditions=(held_idle(),),
    )


def test_job_toml_reads_back_as_it_was_meant(tmp_path: Path) -> None:
    for number in range(6):
        folder = tmp_path / str(number)
        made = story.make(7, number, folder)
        with (folder / "job.toml").open("rb") as file:
            read = tomllib.load(file)
        assert read == {key: value for key, value in made.job.items() if value != []}
        for recording in read["recording"]:
            assert (folder / recording["file"]).stat().st_size > 1000


def test_without_noise_the_plain_mean_is_the_truth() -> None:
    engine = quiet_engine()
    course = run(np.random.default_rng(1), engine, QUIET, 0.0, 500.0)
    inside = (course.time_s > 16.5) & (course.time_s < 39.5)
    assert course.gauge_kpa[inside].mean() == pytest.approx(95.0, abs=1e-6)
    truth = engine.level(held_idle(), "oil-pressure", "crankcase", 800.0, 85.0)
    assert truth == pytest.approx(100.0)
    assert course.mean_speed(16.0, 40.0) == pytest.approx(800.0, rel=1e-6)


def test_a_slope_of_nought_leaves_the_gauge_where_it_was() -> None:
    engine = replace(quiet_engine(), slope=0.0)
    moved = replace(held_idle(), crankcase_kpa=1.0)
    assert engine.level(moved, "oil-pressure", "atmosphere", 800.0, 85.0) == pytest.approx(95.0)
    assert engine.level(moved, "oil-pressure", "crankcase", 800.0, 85.0) == pytest.approx(94.0)


def test_sensor_errors_have_the_stated_size() -> None:
    """Over many sensors: true minus nominal, in units of the stated uncertainty at 100 kPa."""
    scores = []
    for seed in range(1500):
        rng = np.random.default_rng([3, seed])
        sensor = draw_sensor(rng, "s", "atmosphere", 0.0, 1000.0, False)
        nominal = float(sensor.nominal(sensor.output(np.array([100.0])))[0])
        size = float(np.sqrt(sum(v**2 for v in sensor.sensitivities(100.0).values())))
        scores.append((100.0 - nominal) / size)
    assert np.std(scores) == pytest.approx(1.0, abs=0.06)
    assert np.mean(scores) == pytest.approx(0.0, abs=0.08)


def test_viscosity_line_agrees_with_the_trades_ratios() -> None:
    """A 5W-30 is 1.78 times as thick at 60 degC and 0.63 times at 100 as at 80: in-house."""
    ratio = viscosity_cst("5W-30", 60.0) / viscosity_cst("5W-30", 80.0)
    assert float(ratio) == pytest.approx(1.78, abs=0.04)


def test_recipes_cover_the_kinds() -> None:
    recipes = [draw_recipe(np.random.default_rng([5, k])) for k in range(300)]
    assert {r.speed_source for r in recipes} == {
        "coil-on-plug",
        "wasted-spark",
        "distributor",
        "column",
        "none",
    }
    assert {r.temperature for r in recipes} == {"column", "hand", "coolant", "unknown"}
