"""Jobs by another hand: the same again from the same seed, valid, and scored as said."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from validation.elsewhere.bench import hand_gauge, oil_sensor
from validation.elsewhere.case import Case, case, stream, turn
from validation.elsewhere.causes import can_be_together, catalogue, truth
from validation.elsewhere.faults import Effect, together
from validation.elsewhere.ideal import features, matrix, names
from validation.elsewhere.learner import figures as learner_figures
from validation.elsewhere.learner import labelled, library, tempered
from validation.elsewhere.make import make
from validation.elsewhere.rows import figures, leading, log_share, printed, reliability, row
from validation.elsewhere.score import lines, numbers_in
from validation.elsewhere.session import Mark, Recording, recordings
from validation.elsewhere.tables import table
from validation.elsewhere.write import write_job

from gaugewright.job.folder import read
from gaugewright.job.words import OBSERVATIONS


def made(folder: Path, numbers: range = range(3)) -> dict[str, bytes]:
    make("trade", 3, numbers, folder)
    files = (path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


def test_the_same_seed_gives_the_same_bytes(tmp_path: Path) -> None:
    first, again = made(tmp_path / "a"), made(tmp_path / "b")
    assert first == again
    assert any(name.endswith(".csv") or name.endswith(".parquet") for name in first)


def test_another_seed_gives_another_job() -> None:
    assert case("even", 1, 0).car != case("even", 2, 0).car
    assert case("even", 1, 0).car != case("trade", 1, 0).car


@pytest.mark.parametrize("kind", ["even", "trade"])
def test_what_is_written_is_a_valid_job(kind: str, tmp_path: Path) -> None:
    for number in range(8):
        one = case(kind, 11, number)
        write_job(one, tmp_path / str(number))
        job, _ = read(tmp_path / str(number))
        told = {limit.name for limit in job.limits}
        assert told == {limit.name for limit in one.limits}
        assert bool(job.recordings) != one.plan.by_hand


def test_truth_lies_outside_of_the_job(tmp_path: Path) -> None:
    files = made(tmp_path, range(1))
    told = json.loads(files["truth/0000.json"])
    assert set(told["causes"]) <= set(catalogue())
    inside = b"".join(data for name, data in files.items() if name.startswith("0000/job"))
    assert not any(cause.encode() in inside for cause in told["causes"])


def test_what_is_recorded_is_about_what_is_true() -> None:
    for number in range(8):
        one = case("even", 21, number)
        for recording in recordings(stream("even", 21, number, "write"), one):
            for mark in recording.marks:
                check_stretch(one, recording, mark)


def check_stretch(one: Case, recording: Recording, mark: Mark) -> None:
    inside = (recording.time > mark.start + 1.0) & (recording.time < mark.end)
    true = one.level(mark.held)
    if mark.held.kind != "vent":
        mean = {what: values[inside].mean() for what, values in recording.values.items()}
        assert mean["gauge"] == pytest.approx(true.true_gauge, rel=0.08, abs=1.0)
        assert mean["crank"] == pytest.approx(true.crank, abs=0.4)
        assert mean["rpm"] == pytest.approx(true.rpm, abs=25.0)


def test_a_sensor_errs_by_what_is_stated_of_it() -> None:
    """Output through the stated points, against the truth, in the stated standard uncertainty."""
    off = []
    for seed in range(400):
        sensor = oil_sensor(np.random.default_rng([9, seed]))
        output, stated = np.array(sensor.points).T
        shown = np.polyval(np.polyfit(output, stated, 1), sensor.volts(np.array([300.0])))
        line = np.vander(output, 2)
        at = np.array([float(sensor.volts(np.array([300.0]))[0]), 1.0])
        points = sensor.point_uncertainty**2 * at @ np.linalg.inv(line.T @ line) @ at
        off.append((shown[0] - 300.0) / np.sqrt(sensor.accuracy**2 + points))
    assert np.std(off) == pytest.approx(1.0, abs=0.12)
    assert np.mean(off) == pytest.approx(0.0, abs=0.15)


def test_a_hand_gauge_errs_by_what_is_stated_of_it() -> None:
    off = []
    for seed in range(600):
        rng = np.random.default_rng([10, seed])
        gauge = hand_gauge(rng, "second")
        value, reading_off = gauge.read(rng, 100.0 + 0.01 * seed)
        off.append((value - 100.0 - 0.01 * seed) / np.hypot(gauge.accuracy, reading_off))
    assert np.std(off) == pytest.approx(1.0, abs=0.1)


def test_every_cause_has_its_turn_once_in_a_round() -> None:
    count = len(catalogue())
    for start in (0, count):
        assert sorted(turn("even", 4, start + n) for n in range(count)) == list(range(count))


def test_one_in_four_has_two_faults_that_can_go_together() -> None:
    truths = [truth(np.random.default_rng([8, n]), "trade", 0) for n in range(400)]
    pairs = [one.causes for one in truths if len(one.causes) == 2]
    assert 0.15 < len(pairs) / 400 < 0.35
    assert all(can_be_together(*pair) for pair in pairs)
    assert not any("nothing-wrong" in pair for pair in pairs)


def test_two_faults_add_up() -> None:
    one = Effect(below_idle=-0.2, trim_idle=5.0, set_idle=1.0)
    both = together({"a": one, "b": replace(one, set_idle=None, ceiling=0.8)})
    assert (both.below_idle, both.trim_idle, both.set_idle, both.ceiling) == (-0.4, 10.0, 1.0, 0.8)
    assert together({"a": one, "b": one}, cured=("a",)) == one


def weighed(causes: list[str], given: dict[str, float], number: int = 0) -> dict[str, object]:
    told = {"kind": "even", "number": number, "causes": causes, "link": "single"}
    return row(told | {"severity": {}, "holds": {}}, given, 1.0)


def test_a_share_is_of_all_causes_and_none_of_these_never_right() -> None:
    one = weighed(["oil-thin"], {"oil-thin": 0.5, "worn-pump": 0.75, "none-of-these": 0.0})
    assert log_share(one) == pytest.approx(np.log(0.4))
    outside = weighed(["oil-thin"], {"oil-thin": 0.3, "none-of-these": 0.7})
    assert leading(outside) == "none-of-these"
    assert figures([one, outside])["top_cause"][0] == 0.0


def test_a_cause_that_was_given_up_costs_the_floor() -> None:
    one = weighed(["oil-thin"], {"worn-pump": 1.0})
    assert log_share(one) == pytest.approx(np.log(1e-6))
    assert "oil-thin" in printed(figures([one]))


def test_reliability_counts_by_tenths() -> None:
    rows = [weighed(["a"], {"a": 0.95, "b": 0.05}), weighed(["b"], {"a": 0.95, "b": 0.05})]
    table = {ten["from"]: ten for ten in reliability(rows)}
    assert table[0.9]["true"] == 0.5
    assert table[0.0]["true"] == 0.5


def test_lines_cut_off_are_left_out_and_parts_cover_all(tmp_path: Path) -> None:
    kept = tmp_path / "rows.jsonl"
    kept.write_text('{"number": 0}\n{"numb', encoding="utf-8")
    assert lines(kept) == [{"number": 0}]
    (tmp_path / "truth").mkdir()
    for number in range(5):
        (tmp_path / "truth" / f"{number:04d}.json").write_text("{}", encoding="utf-8")
    assert numbers_in(tmp_path, "1/2", None) + numbers_in(tmp_path, "2/2", None) == [0, 2, 4, 1, 3]
    with pytest.raises(SystemExit, match="write which part of how many"):
        numbers_in(tmp_path, "3/2", None)


def test_every_word_is_one_of_the_job_formats() -> None:
    told = table("seen")
    rows = [("sound", told["sound"]), *told["cause"].items()]
    for cause, row_of in rows:
        for what, weights in row_of.items():
            assert set(weights) <= set(OBSERVATIONS[what]), (cause, what)
    assert set(told["cause"]) <= set(catalogue())
    assert set(told["codes"]) - {"sound", "low-pressure"} <= set(catalogue())


def test_ideal_features_tell_only_what_the_job_holds() -> None:
    for number in range(20):
        one = case("trade", 5, number)
        told = features(one)
        kinds = {held.kind for held in one.stretches}
        assert ("fast p" in told) == ("fast" in kinds)
        assert ("hot crank" in told) == (one.plan.crank != "")
        assert any(name.startswith("lamp: ") for name in told) == ("lamp" in dict(one.seen))


def test_missing_features_are_marked() -> None:
    told = [features(case("trade", 5, number)) for number in range(6)]
    table_of = matrix(told, names(told))
    assert np.isnan(table_of).any()
    assert not np.isnan(table_of[:, names(told).index("hot p")]).any()


def test_the_yardstick_counts_both_of_two_faults() -> None:
    some = [case("trade", 8, number) for number in range(30)]
    rows, causes, weights = labelled(some)
    assert len(rows) == sum(len(one.truth.causes) for one in some)
    assert weights.sum() == pytest.approx(len(some))
    sure = np.zeros((len(some), len(catalogue())))
    sure[rows, causes] = weights
    assert learner_figures(sure, some)["log_share"] == pytest.approx(0.0)
    assert learner_figures(tempered(1.0 - sure, 1.0), some)["top_cause"] == 0.0


def test_without_its_library_the_yardstick_says_what_would_do() -> None:
    with pytest.raises(SystemExit, match="install it into an environment of its own"):
        library("no_such_part")
