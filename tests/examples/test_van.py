"""The example van holds what its story says, told apart from the code that analyses it."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path

import numpy as np
import pytest

from gaugewright.examples import van
from gaugewright.examples.van_run import STRETCHES, Run, run
from gaugewright.examples.van_truth import VisitTruth, thickness

STORY = {
    "as found": (95.0, 84.0, 11.0),
    "breather cleared": (82.0, 84.0, -2.0),
    "oil changed": (103.0, 105.0, -2.0),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("van")
    van.make(made)
    return made


@pytest.fixture(scope="module")
def runs() -> list[tuple[VisitTruth, Run]]:
    rng = np.random.default_rng(1)
    return [(visit, run(visit, rng)) for visit in van.truth()]


def test_truth_is_the_story() -> None:
    told = {v.name: (v.gauge_at_kpa, v.bearings_at_kpa, v.crankcase_at_kpa) for v in van.truth()}
    assert told == STORY


def test_oil_thins_as_the_trade_says() -> None:
    # A 5W-30 is 1.78 times as thick at 60 degC and 0.63 times at 100 degC as at 80 degC:
    # computed from the grade's usual viscosities, common practice, no source.
    assert thickness(np.array([60.0, 80.0, 100.0])) == pytest.approx([1.78, 1.0, 0.63], abs=0.005)


def test_idle_pressure_at_the_limits_speed_is_the_truth(
    runs: list[tuple[VisitTruth, Run]],
) -> None:
    for visit, lived in runs:
        held = (lived.time_s > 9.5) & (lived.time_s < 23.9)
        speed, warmth = lived.speed_rpm[held], lived.oil_degc[held]
        expected = visit.bearings_at_kpa * np.mean(speed / 820.0) * 1.0
        per_kelvin = 0.9 * 843.0 / (80.0 + 101.3) ** 2
        expected *= 1.0 + per_kelvin * (80.0 - np.mean(warmth))
        crankcase = np.mean(visit.crankcase_kpa(speed))
        assert np.mean(lived.oil_kpa[held]) == pytest.approx(expected + crankcase, abs=0.5)


def test_the_idle_hunts(runs: list[tuple[VisitTruth, Run]]) -> None:
    for _, lived in runs:
        held = (lived.time_s > 9.5) & (lived.time_s < 23.9)
        assert 8.0 < np.std(lived.speed_rpm[held]) < 40.0


def test_the_engine_stands_still_before_the_start(runs: list[tuple[VisitTruth, Run]]) -> None:
    _, start, end, did = STRETCHES[0]
    assert did == "engine-off"
    for _, lived in runs:
        off = (lived.time_s >= start) & (lived.time_s < end)
        assert np.all(lived.speed_rpm[off] == 0.0)
        assert lived.oil_kpa[off] == pytest.approx(0.0, abs=1e-9)


def test_the_pickup_rings(runs: list[tuple[VisitTruth, Run]]) -> None:
    _, lived = runs[0]
    held = (lived.time_s > 9.5) & (lived.time_s < 23.9)
    spark = lived.spark_v[held]
    crossings = np.count_nonzero((spark[1:] > 0.8) & (spark[:-1] <= 0.8))
    cycles = np.mean(lived.speed_rpm[held]) / 120.0 * 14.4
    assert crossings > 1.5 * cycles


def test_the_folder_holds_job_and_recordings_and_no_truth(folder: Path) -> None:
    names = {str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file()}
    expected = {"job.toml"}
    for number in (1, 2, 3):
        expected |= {f"recordings/visit-{number}-{kind}.csv" for kind in ("engine", "crankcase")}
    assert names == expected


def test_the_second_logger_writes_another_dialect(folder: Path) -> None:
    raw = (folder / "recordings/visit-1-crankcase.csv").read_bytes()
    assert b"\r\n" in raw
    assert b"21 \xb0C" in raw
    assert raw.splitlines()[7].count(b",") == 2
    assert raw.splitlines()[7].count(b";") == 1


def test_the_second_logger_agrees_with_the_truth_on_the_first_ones_clock(folder: Path) -> None:
    job = tomllib.loads((folder / "job.toml").read_text("utf-8"))
    points = next(s for s in job["sensor"] if s["name"] == "crankcase transducer")["points"]
    volts = [float(v.split()[0]) for v, _ in points]
    pressures = [float(p.split()[0]) for _, p in points]
    slope, offset = np.polyfit(volts, pressures, 1)
    text = (folder / "recordings/visit-1-crankcase.csv").read_text("latin-1").replace(",", ".")
    rows = np.array([line.split(";") for line in text.splitlines()[7:]], dtype=float)
    time = rows[:, 0] + float(job["recording"][1]["clock_offset"].split()[0])
    held = (time > 9.5) & (time < 23.9)
    assert np.mean(slope * rows[held, 1] + offset) - 97.6 == pytest.approx(11.1, abs=0.8)


def test_every_condition_lies_inside_its_recording(folder: Path) -> None:
    job = tomllib.loads((folder / "job.toml").read_text("utf-8"))
    for recording in job["recording"]:
        raw = (folder / recording["file"]).read_text("latin-1").splitlines()
        fast = recording.get("rate") == "10 kHz"
        first = 0.0 if fast else float(raw[7].split(";")[0].replace(",", "."))
        last = (len(raw) - 2) / 1e4 if fast else float(raw[-1].split(";")[0].replace(",", "."))
        for condition in recording["condition"]:
            assert first < float(condition["from"].split()[0])
            assert float(condition["to"].split()[0]) < last


def test_two_makings_are_the_same_and_another_seed_is_not(folder: Path, tmp_path: Path) -> None:
    van.make(tmp_path / "same")
    van.make(tmp_path / "other", seed=1)
    name = "recordings/visit-2-engine.csv"
    digests = [
        hashlib.sha256((where / name).read_bytes()).hexdigest()
        for where in (folder, tmp_path / "same", tmp_path / "other")
    ]
    assert digests[0] == digests[1] != digests[2]
