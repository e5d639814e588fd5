"""Practice jobs: the same for the same seed, honest about their truth, and never without one."""

from __future__ import annotations

import base64
import dataclasses
import errno
import os
import tomllib
import zlib
from pathlib import Path

import numpy as np
import pytest

from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.parameters import Engine
from gaugewright.errors import InputError, OutputError
from gaugewright.examples.practice import make as making
from gaugewright.examples.practice import seal
from gaugewright.examples.practice.levels import LEVELS
from gaugewright.examples.practice.make import job_files, make
from gaugewright.examples.practice.scenario import (
    COMES_UP,
    SOUND,
    drawn,
    drawn_causes,
    lamp_drift,
    runs,
)
from gaugewright.examples.practice.setting import random_build
from gaugewright.examples.practice.symptoms import CAUSES
from gaugewright.examples.practice.timeline import BLOCK_S, blocked_s
from gaugewright.examples.practice.truth import Fault, TrueReading, Truth
from gaugewright.job.folder import read
from gaugewright.job.words import OBSERVATIONS

RATE_HZ = 1000.0
"""Low, for speed: enough for everything but a spark's ringing."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("practice") / "job"
    make(made, 1, 5, ["worn-bearings"], RATE_HZ)
    return made


@pytest.fixture(scope="module")
def files() -> dict[int, dict[str, bytes]]:
    """The files of two awkward jobs by their seed."""
    return {seed: job_files(3, seed, rate_hz=RATE_HZ) for seed in (1, 2)}


@pytest.fixture
def quickly(files: dict[int, dict[str, bytes]], monkeypatch: pytest.MonkeyPatch) -> None:
    """Jobs of seeds 1 and 2 aren't made anew: only where they are put is looked at."""
    monkeypatch.setattr(making, "job_files", lambda _level, seed, _causes, _rate: files[seed])


def some_truth(**changes: object) -> Truth:
    reading = TrueReading("hot idle", "oil-pressure", "atmosphere", "kPa", 70.0, 70.0, 130.0, 12.0)
    told = Truth(2, 7, (Fault("worn-pump", 0.5, "twice"),), (), (reading,), {"job.toml": "ab"})
    return dataclasses.replace(told, **changes)  # type: ignore[arg-type]


def test_every_cause_that_can_be_drawn_is_a_fault_and_has_words() -> None:
    assert set(COMES_UP) | {SOUND} == set(FAULTS) == set(CAUSES)


@pytest.mark.parametrize("cause", CAUSES)
def test_what_a_cause_leaves_to_be_seen_is_in_the_job_formats_lists(cause: str) -> None:
    words = CAUSES[cause]
    lists = {
        "oil-level": words.level,
        "oil-smell": words.smell,
        "oil-foam": words.foam,
        "noise": words.noise,
        "smoke": words.smoke,
        "began": words.began,
        "done-before": words.before,
    }
    for what, said in lists.items():
        assert set(said) <= set(OBSERVATIONS[what]), what


@pytest.mark.slow
def test_the_same_seed_gives_the_same_bytes_and_another_does_not(
    files: dict[int, dict[str, bytes]],
) -> None:
    first, other = files[1], files[2]
    assert first == job_files(3, 1, rate_hz=RATE_HZ)
    assert first["job.toml"] != other["job.toml"]
    assert first[seal.SEALED] != other[seal.SEALED]


def test_the_folder_is_a_job_and_says_nothing_of_its_cause(folder: Path) -> None:
    job, _ = read(folder)
    text = (folder / "job.toml").read_text("utf-8")
    assert "bearing" not in text
    assert {entry.file for entry in job.recordings} == {
        "recordings/cold-engine.csv",
        "recordings/engine.csv",
        "recordings/scan.csv",
    }


def test_the_truth_cannot_be_read_by_accident(folder: Path) -> None:
    assert b"bearing" not in (folder / seal.SEALED).read_bytes()
    truth = seal.opened(folder).truth
    assert [fault.cause for fault in truth.faults] == ["worn-bearings"]
    assert "clearance" in truth.faults[0].tells


def test_the_truth_agrees_with_the_recordings(folder: Path) -> None:
    # Each true reading against the mean of the recorded column through the sensor's points,
    # which a level 1 sensor keeps to within a kilopascal or two.
    job = tomllib.loads((folder / "job.toml").read_text("utf-8"))
    points = next(s for s in job["sensor"] if s["name"] == "oil transducer")["points"]
    at_v, at_kpa = (np.array([float(p[i].split()[0]) for p in points]) for i in (0, 1))
    slope, offset = np.polyfit(at_v, 100.0 * at_kpa, 1)
    rows = np.genfromtxt(folder / "recordings/engine.csv", delimiter=",", names=True)
    entry = next(e for e in job["recording"] if e["file"] == "recordings/engine.csv")
    gauge = ("oil-pressure", "atmosphere")
    told = seal.opened(folder).truth.readings
    true = {one.condition: one for one in told if (one.quantity, one.reference) == gauge}
    compared = 0
    for condition in entry["condition"]:
        low, high = (round(RATE_HZ * float(condition[end].split()[0])) for end in ("from", "to"))
        if condition["name"] in true:
            shown = slope * rows["oil_v"][low:high].mean() + offset
            assert shown == pytest.approx(true[condition["name"]].true, abs=3.0)
            compared += 1
    assert compared == 4


def test_what_gave_it_away_is_what_the_fault_moved_most(folder: Path) -> None:
    truth = seal.opened(folder).truth
    given = list(truth.gave_it_away())
    assert given
    assert given[0].quantity == "oil-pressure"
    assert given[0].steady < given[0].sound
    assert given[0].stands_out == max(reading.stands_out for reading in truth.readings)


@pytest.mark.usefixtures("quickly")
def test_a_job_replaces_an_untouched_one_and_nothing_else(tmp_path: Path) -> None:
    make(tmp_path / "job", 3, 1, rate_hz=RATE_HZ)
    make(tmp_path / "job", 3, 2, rate_hz=RATE_HZ)
    assert seal.opened(tmp_path / "job").truth.seed == 2
    (tmp_path / "job" / "notes.txt").write_text("mine")
    with pytest.raises(InputError, match=r"notes\.txt is new or changed; name a folder"):
        make(tmp_path / "job", 3, 2, rate_hz=RATE_HZ)
    assert seal.opened(tmp_path / "job").truth.seed == 2
    assert {path.name for path in tmp_path.iterdir()} == {"job"}


@pytest.mark.usefixtures("quickly")
def test_a_job_that_was_worked_on_is_left_alone(tmp_path: Path) -> None:
    make(tmp_path / "job", 3, 1, rate_hz=RATE_HZ)
    job = tmp_path / "job" / "job.toml"
    job.write_text(job.read_text("utf-8") + "\n# what I think\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"in which job\.toml is new or changed"):
        make(tmp_path / "job", 3, 1, rate_hz=RATE_HZ)


def test_a_folder_of_something_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "photo.jpg").write_bytes(b"")
    with pytest.raises(InputError) as refused:
        make(tmp_path, 1, 1, rate_hz=RATE_HZ)
    assert str(refused.value) == (
        f"{tmp_path}: it holds photo.jpg, which gaugewright practise did not put there; "
        "name a folder that is new or empty."
    )
    with pytest.raises(InputError, match="it is a file; name a folder"):
        make(tmp_path / "photo.jpg", 1, 1, rate_hz=RATE_HZ)


@pytest.mark.usefixtures("quickly")
def test_a_job_is_made_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make(tmp_path / "job", 3, 1, rate_hz=RATE_HZ)
    before = (tmp_path / "job" / "job.toml").read_bytes()

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    for name in ("job", "another"):
        with pytest.raises(OutputError, match="No space left on device"):
            make(tmp_path / name, 3, 2, rate_hz=RATE_HZ)
    assert {path.name for path in tmp_path.iterdir()} == {"job"}
    assert (tmp_path / "job" / "job.toml").read_bytes() == before


def test_an_envelope_gives_back_what_was_put_in(tmp_path: Path) -> None:
    (tmp_path / seal.SEALED).write_bytes(seal.sealed(some_truth()))
    inside = seal.opened(tmp_path)
    assert inside.truth == some_truth()
    assert inside.changed == ("job.toml",)


def test_a_job_that_was_changed_is_noticed(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_bytes(b"format = 1\n")
    truth = some_truth(files={"job.toml": seal.digest(b"format = 1\n")})
    (tmp_path / seal.SEALED).write_bytes(seal.sealed(truth))
    assert seal.opened(tmp_path).changed == ()
    (tmp_path / "job.toml").write_bytes(b"format = 1 \n")
    assert seal.opened(tmp_path).changed == ("job.toml",)


def with_contents(plain: bytes, stated: bytes | None = None) -> bytes:
    body = base64.b64encode(zlib.compress(plain))
    seals = f"contents: sha256 {seal.digest(stated or plain)}\njob.toml: sha256 ab\n\n"
    return f"{seal.HEAD}\n{seal.OPENS}\n{seals}".encode() + body + b"\n"


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "it does not begin with"),
        (b"\xff\xfe", "it cannot be read"),
        (b"practice truth, format 9\n\n\n\n\nAAAA\n", "it does not begin with"),
        (with_contents(b"{}", b"{ }"), "its contents are not those it was sealed with"),
        (with_contents(b"{}"), "its contents are no truth of a practice job"),
        (with_contents(b"[1]"), "its contents are no truth of a practice job"),
        (with_contents(b"{}")[:-8] + b"!!!!\n", "its contents are damaged"),
        (with_contents(b"{}")[:-6] + b"\n", "its contents are damaged"),
        (
            seal.sealed(some_truth()).replace(b"job.toml: sha256 ab", b"job.toml: sha256 cd"),
            "it names another job.toml than its contents do",
        ),
    ],
)
def test_a_damaged_envelope_is_told_in_one_sentence(
    tmp_path: Path, data: bytes, found: str
) -> None:
    (tmp_path / seal.SEALED).write_bytes(data)
    with pytest.raises(InputError) as refused:
        seal.opened(tmp_path)
    assert str(refused.value).startswith(f"{tmp_path / seal.SEALED}: {found}")
    assert str(refused.value).endswith("; make the job again with its level and seed.")


def test_no_envelope_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="it is not there; name a folder that gaugewright prac"):
        seal.opened(tmp_path)


@pytest.mark.parametrize("level", LEVELS)
def test_drawn_faults_are_as_bad_as_the_level_says_and_the_engine_runs(level: int) -> None:
    for seed in range(6):
        scenario = drawn(level, seed, np.random.default_rng([level, seed]))
        assert runs(scenario.build, scenario.faulty)
        assert all(0.0 < fault.severity <= 1.0 for fault in scenario.faults)
        assert len(scenario.faults) <= (1 if level == 1 else 2)
        assert scenario.seen.observations["lamp"] in OBSERVATIONS["lamp"]


def test_levels_differ_in_how_many_faults_there_are() -> None:
    rng = np.random.default_rng(6)
    counts = {
        number: np.array([len(drawn_causes(level, rng)) for _ in range(500)])
        for number, level in LEVELS.items()
    }
    assert set(counts[1]) == {1}
    # One in four and one in two have a second fault, of those with any (0.95 and 0.92).
    assert np.mean(counts[2]) == pytest.approx(0.95 * 1.25 + 0.05, abs=0.07)
    assert np.mean(counts[3]) == pytest.approx(0.92 * 1.5 + 0.08, abs=0.07)


def test_a_lamp_that_misleads_is_told_beside_the_faults() -> None:
    rng = np.random.default_rng(7)
    engine = Engine()
    told = [lamp_drift(LEVELS[3], ("worn-pump",), engine, rng) for _ in range(200)]
    assert np.mean([bool(sentences) for _, sentences in told]) == pytest.approx(0.4, abs=0.1)
    for changed, sentences in told:
        drifted = float(changed.indication.switch_pa)
        assert bool(sentences) == (drifted != engine.indication.switch_pa)
        assert all(f"closes at {drifted / 1e3:.0f} kPa" in sentence for sentence in sentences)
    assert lamp_drift(LEVELS[1], ("worn-pump",), engine, rng) == (engine, ())


def test_a_vent_is_blocked_for_seconds_only() -> None:
    # At most 10 s, and never until the crankcase is 3 kPa over (common practice, no source).
    for seed in range(5):
        scenario = drawn(1, seed, np.random.default_rng([1, seed]))
        assert BLOCK_S[0] <= blocked_s(scenario.build, scenario.faulty) <= BLOCK_S[1] < 10.0


def test_builds_vary_and_hold_together() -> None:
    rng = np.random.default_rng(3)
    builds = [random_build(rng) for _ in range(200)]
    assert {build.cylinders for build in builds} == {3, 4, 6}
    assert {build.ventilation for build in builds} == {"regulator", "valve", "orifice"}
    assert all(build.ignition != "wasted-spark" or build.cylinders % 2 == 0 for build in builds)
    assert all(isinstance(build, Build) for build in builds)
