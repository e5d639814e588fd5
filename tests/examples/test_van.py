"""The example van holds what its story says, told apart from the code that analyses it."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path

import numpy as np
import pytest

from gaugewright.engine.run import Run
from gaugewright.examples import van, van_engine
from gaugewright.examples.van_run import STRETCHES, run
from gaugewright.examples.van_truth import VisitTruth

STORY = {
    "as found": (95.0, 84.0, 11.0),
    "breather cleared": (82.0, 84.0, -2.0),
    "oil changed": (103.0, 105.0, -2.0),
}
"""Gauge, bearings and crankcase at 820 rpm and 80 degC, kPa, as the tutorial tells it."""


@pytest.fixture(scope="module")
def folder(van_folder: Path) -> Path:
    return van_folder


@pytest.fixture(scope="module")
def runs() -> list[tuple[VisitTruth, Run]]:
    return [(visit, run(visit, 1)) for visit in van.truth()]


def idling(lived: Run) -> np.ndarray:
    """Marks (n,) where it idles hot, the first seconds left out."""
    return (lived.time_s > 13.0) & (lived.time_s < 23.9)


def test_truth_is_the_story() -> None:
    told = {v.name: (v.gauge_at_kpa, v.bearings_at_kpa, v.crankcase_at_kpa) for v in van.truth()}
    assert told.keys() == STORY.keys()
    for name, expected in STORY.items():
        assert told[name] == pytest.approx(expected, abs=0.05)


def test_the_numbers_that_stand_are_those_that_are_found() -> None:
    # Four digits: the story is told to a tenth of a kilopascal.
    assert vars(van_engine.NUMBERS) == pytest.approx(vars(van_engine.found()), rel=1e-4)


def test_the_story_hangs_on_its_numbers() -> None:
    off = van_engine.Numbers(**{**vars(van_engine.NUMBERS), "fuel_severity": 0.5})
    thinner = van_engine.at_the_limit(van_engine.engine(True, False, numbers=off))
    assert float(thinner.gallery_pa[0, 0]) < 82e3


def test_faults_are_the_catalogues_and_nothing_else_differs() -> None:
    found, cleared, changed = (visit.engine for visit in van.truth())
    assert found.crankcase.breathes < 0.02
    assert found.oil == cleared.oil
    assert cleared.crankcase == changed.crankcase
    assert cleared.oil.fuel_share > 0.02
    assert changed.oil.fuel_share == 0.0


def test_idle_pressure_is_the_truth(runs: list[tuple[VisitTruth, Run]]) -> None:
    # The engine in time against where the steady one settles, at the mean speed and warmth.
    for visit, lived in runs:
        held = idling(lived)
        speed, warmth = lived.lanes["speed_rpm"][held].mean(), lived.lanes["oil_degc"][held].mean()
        bearings = visit.bearings_kpa(np.array(speed), np.array(warmth))
        expected = bearings + visit.crankcase_kpa(np.array(speed))
        mean = lived.lanes["oil_gauge_pa"][held].mean() / 1e3
        assert mean == pytest.approx(float(expected), abs=0.8)


def test_bearings_never_feel_the_breather(runs: list[tuple[VisitTruth, Run]]) -> None:
    found, cleared, _ = van.truth()
    speeds = np.array([820.0, 2000.0])
    warm = np.array([80.0, 80.0])
    assert found.bearings_kpa(speeds, warm) == pytest.approx(
        cleared.bearings_kpa(speeds, warm), rel=1e-3
    )


def test_the_idle_hunts(runs: list[tuple[VisitTruth, Run]]) -> None:
    for _, lived in runs:
        assert 8.0 < np.std(lived.lanes["speed_rpm"][idling(lived)]) < 40.0


def test_the_engine_stands_still_before_the_start(runs: list[tuple[VisitTruth, Run]]) -> None:
    _, start, end, did = STRETCHES[0]
    assert did == "engine-off"
    for _, lived in runs:
        off = (lived.time_s >= start) & (lived.time_s < end)
        assert np.all(lived.lanes["speed_rpm"][off] == 0.0)
        assert lived.lanes["oil_gauge_pa"][off] == pytest.approx(0.0, abs=1e-6)


def test_the_crankcase_fills_in_seconds(runs: list[tuple[VisitTruth, Run]]) -> None:
    _, lived = runs[0]
    over = lived.lanes["crankcase_pa"] - van_engine.BAROMETER_PA
    settled = over[idling(lived)].mean()
    reached = lived.time_s[np.argmax(over > 0.9 * settled)]
    assert 1.0 < reached - 5.2 < 8.0


def test_the_pickup_rings(runs: list[tuple[VisitTruth, Run]]) -> None:
    _, lived = runs[0]
    held = idling(lived)
    spark = lived.lanes["ignition_v"][held]
    crossings = np.count_nonzero((spark[1:] > 0.8) & (spark[:-1] <= 0.8))
    cycles = np.mean(lived.lanes["speed_rpm"][held]) / 120.0 * 10.9
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
    held = (time > 13.0) & (time < 23.9)
    assert np.mean(slope * rows[held, 1] + offset) - 97.6 == pytest.approx(11.0, abs=0.8)


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


@pytest.mark.slow
def test_two_makings_are_the_same_and_another_seed_is_not(folder: Path, tmp_path: Path) -> None:
    van.make(tmp_path / "same")
    van.make(tmp_path / "other", seed=1)
    name = "recordings/visit-2-engine.csv"
    digests = [
        hashlib.sha256((where / name).read_bytes()).hexdigest()
        for where in (folder, tmp_path / "same", tmp_path / "other")
    ]
    assert digests[0] == digests[1] != digests[2]
