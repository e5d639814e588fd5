"""Recordings: brought in, kept, drawn, damaged, and read the same as from their files."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from small import (
    AS_FOUND,
    CAP_OFF,
    CRANKCASE,
    HEAD,
    OIL,
    SPARK,
    csv,
    lived,
    recording,
    usual,
    write,
)

from gaugewright.analysis.analyse import analyse
from gaugewright.analysis.lanes import lanes_of
from gaugewright.errors import EditedElsewhere, InputError
from gaugewright.job.folder import read
from gaugewright.recording.reading import read as imported
from gaugewright.recording.types import Recorded
from gaugewright.store import imports
from gaugewright.store.changes import Change
from gaugewright.store.imports import LANES
from gaugewright.store.lines import Kept
from gaugewright.store.store import Store

MAPPING = {
    "time": "t",
    "signal": [
        {"column": "oil", "quantity": "oil-pressure", "unit": "kPa"},
        {"column": "spark", "quantity": "ignition"},
    ],
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return usual(tmp_path / "handed in")


@pytest.fixture
def small(lite: Store, folder: Path) -> Kept:
    return lite.take_in(folder).kept


def same(one: Recorded, other: Recorded) -> None:
    """Both hold the same to the last bit."""
    assert list(one.columns) == list(other.columns)
    for name, column in one.columns.items():
        twin = other.columns[name]
        assert np.array_equal(column.time_s, twin.time_s)
        assert np.array_equal(column.values, twin.values, equal_nan=True)
        assert twin.values.dtype == np.float64
        for key in ("name", "interval_s", "step", "unit", "notes"):
            assert getattr(column, key) == getattr(twin, key), key
    for key in ("name", "visit", "path", "sha256", "rows", "rate_hz", "guesses", "notes"):
        assert getattr(one, key) == getattr(other, key), key


@pytest.mark.parametrize(
    "table",
    [
        "t,oil,spark\n" + "".join(f"{k / 1000},{k % 7},{k % 3}\n" for k in range(500)),
        "t,oil,spark\n" + "".join(f"{k / 7:.4f},{k % 7 + 0.1},{k}\n" for k in range(500)),
        "t;oil;spark\ns;kPa;V\n" + "".join(f"{k};{k % 7},5;\n" for k in range(100)) + "100;;3\n",
        "t,oil,spark\n" + "".join(f"{k / 100},{k // 10},1e300\n" for k in range(200)),
    ],
)
def test_stored_lanes_give_what_the_file_gives(tmp_path: Path, table: str) -> None:
    job, folder = read(
        write(
            tmp_path,
            HEAD + recording("run", OIL.replace('\n  unit = "kPa"', '\n  unit = "kPa"'), SPARK),
            run=table,
        )
    )
    entry = job.recordings[0]
    found = imported(entry, folder)
    bag = imports.save(tmp_path / "lanes", found)
    same(imports.load(bag, entry), found)


@pytest.mark.slow
def test_findings_from_lanes_are_those_from_files(lite: Store, small: Kept, folder: Path) -> None:
    job, place = read(folder)
    direct = analyse(job, place)
    stored = lite.findings(small.id)
    assert stored.findings == direct.findings
    assert stored.files == direct.files
    assert stored.instruments == direct.instruments
    for one, other in zip(stored.pictures, direct.pictures, strict=True):
        for lane, twin in zip(one.lanes, other.lanes, strict=True):
            assert np.array_equal(lane.mean, twin.mean, equal_nan=True)


def test_a_recording_is_brought_in_with_its_entry(store: Store, kept: Kept, folder: Path) -> None:
    stages: list[str] = []
    file = folder / "recordings/run.csv"
    after = store.add_recording(kept.id, "hot", file, MAPPING, 1, progress=stages.append)
    entry = after.tables["recording"][0]
    assert (entry["name"], entry["file"], entry["time"]) == ("hot", "recordings/run.csv", "t")
    assert (after.folder / entry["file"]).read_bytes() == file.read_bytes()
    assert stages[0] == "keeping run.csv"
    assert stages[-1] == "writing it into the job"
    assert after.version == 2
    assert after.ready
    assert "recording" not in store.undo(kept.id, 2).tables
    assert store.redo(kept.id).ready


def test_several_devices_bring_recordings_in_at_once(
    store: Store, kept: Kept, folder: Path
) -> None:
    for name in ("a", "b"):
        (folder / f"{name}.csv").write_bytes(
            (folder / "recordings/run.csv").read_bytes() + name.encode() * 0
        )
        store.add_recording(kept.id, name, folder / f"{name}.csv", MAPPING, 1)
    names = [entry["name"] for entry in store.job(kept.id).tables["recording"]]
    assert names == ["a", "b"]


@pytest.mark.parametrize(
    ("mapping", "said"),
    [
        ({**MAPPING, "time": "clock"}, "no such column"),
        ({**MAPPING, "colour": "red"}, 'the key "colour", which is not known'),
        ({**MAPPING, "rate": "1 kHz"}, "found both time"),
        ({**MAPPING, "signal": [{"column": "oil", "quantity": "oil"}]}, "no quantity"),
        ({**MAPPING, "text": {"first_row": 9999999}}, "run.csv"),
    ],
)
def test_a_wrong_mapping_writes_nothing(
    store: Store, kept: Kept, folder: Path, mapping: dict[str, object], said: str
) -> None:
    with pytest.raises(InputError, match=said):
        store.add_recording(kept.id, "hot", folder / "recordings/run.csv", mapping, 1)
    assert store.job(kept.id) == kept


def test_a_name_that_is_taken_is_refused(lite: Store, small: Kept, folder: Path) -> None:
    with pytest.raises(InputError, match='the name "run" is given to 2 recordings'):
        lite.add_recording(small.id, "run", folder / "recordings/run.csv", MAPPING, 1)


def test_columns_can_be_mapped_after_a_recording_came_in(
    lite: Store, kept: Kept, folder: Path
) -> None:
    kept = lite.new_job("Tick", 4)
    after = lite.add_recording(kept.id, "hot", folder / "recordings/run.csv", {"time": "t"}, 1)
    assert not after.ready
    raw = lite.lanes(kept.id, 0)
    assert [(lane.column, lane.quantity, lane.unit) for lane in raw.lanes] == [
        ("oil", "", "as recorded"),
        ("crankcase", "", "as recorded"),
        ("spark", "", "as recorded"),
    ]
    after = lite.edit(kept.id, Change("recording.0.signal", None, MAPPING["signal"]), after.version)
    assert after.ready
    assert [(lane.quantity, lane.unit) for lane in lite.lanes(kept.id, 0).lanes] == [
        ("oil-pressure", "Pa"),
        ("ignition", "V"),
    ]


def test_lanes_are_drawn_in_house_units(lite: Store, small: Kept, folder: Path) -> None:
    found = lite.lanes(small.id, 0)
    assert (found.name, found.visit, found.rows) == ("run", "first", 20_000)
    assert (found.begin_s, found.end_s) == pytest.approx((0.0, 19.999))
    lane = found.lane("run/oil")
    assert (lane.quantity, lane.reference, lane.unit) == ("oil-pressure", "atmosphere", "Pa")
    time_s, values = lane.samples(3.0, 3.01)
    job, place = read(folder)
    column = imported(job.recordings[0], place).columns["oil"]
    inside = slice(*np.searchsorted(column.time_s, (3.0 - 1e-9, 3.01 + 1e-9)))
    assert np.allclose(time_s[: len(column.time_s[inside])], column.time_s[inside])
    assert np.allclose(values[: len(column.time_s[inside])], 1000 * column.values[inside])
    drawn = lane.window(2.0, 7.0, 50)
    assert drawn.shape == (50, 3)
    for k in range(50):
        part = column.values[(column.time_s >= 2 + 0.1 * k) & (column.time_s < 2.1 + 0.1 * k)]
        assert drawn[k, 2] == pytest.approx(1000 * part.mean(), rel=2e-3)
    assert lane.extremes() == pytest.approx(
        (1000 * column.values.min(), 1000 * column.values.max()), rel=1e-6
    )
    assert np.isnan(lane.window(-5.0, -1.0, 4)).all()
    assert lane.samples(0.0, 19.0, most=100)[0].size == 0


def test_the_speed_is_a_lane_of_its_own(lite: Store, small: Kept) -> None:
    lane = lite.speed(small.id, 0)
    assert lane is not None
    assert lane.unit == "rpm"
    assert float(np.nanmean(lane.window(1.0, 9.0, 1)[:, 2])) == pytest.approx(830.0, abs=5.0)


def test_a_falling_sensor_keeps_least_below_greatest(tmp_path: Path, lite: Store) -> None:
    sensor = '\n[[sensor]]\nname = "falling"\npoints = [["4 V", "0 bar"], ["1 V", "3 bar"]]\n'
    signal = '\n  [[recording.signal]]\n  column = "v"\n  quantity = "oil-pressure"\n'
    table = "t,v\n" + "".join(f"{k / 100},{1 + 3 * (k % 100) / 100:.3f}\n" for k in range(1000))
    text = HEAD + sensor + recording("run", signal + '  sensor = "falling"\n')
    kept = lite.take_in(write(tmp_path / "job", text, run=table)).kept
    drawn = lite.lanes(kept.id, 0).lanes[0].window(0.0, 10.0, 10)
    assert (drawn[:, 0] < drawn[:, 2]).all()
    assert (drawn[:, 2] < drawn[:, 1]).all()
    assert drawn[0] == pytest.approx([3000.0, 300e3, 151.5e3], rel=0.02)


def test_a_supply_that_was_recorded_counts_sample_by_sample(tmp_path: Path, lite: Store) -> None:
    sensor = (
        '\n[[sensor]]\nname = "ratio"\nsupply = "5 V"\n'
        'points = [["0.5 V", "0 bar"], ["4.5 V", "10 bar"]]\n'
    )
    signal = (
        '\n  [[recording.signal]]\n  column = "v"\n  quantity = "oil-pressure"\n'
        '  sensor = "ratio"\n  supply_column = "u"\n'
    )
    rows = "".join(f"{k / 100},{2.5 * (4.0 + k / 1000) / 5},{4.0 + k / 1000}\n" for k in range(900))
    kept = lite.take_in(
        write(tmp_path / "job", HEAD + sensor + recording("run", signal), run="t,v,u\n" + rows)
    ).kept
    lane = lite.lanes(kept.id, 0).lanes[0]
    assert lane.samples(1.0, 7.0)[1] == pytest.approx(500e3, rel=1e-3)
    assert lite.lanes(kept.id, 0).lanes[0].extremes() == lane.extremes()


def test_a_signal_whose_sensor_is_still_to_come_is_drawn_as_recorded(
    lite: Store, small: Kept
) -> None:
    signal = dict(small.tables["recording"][0]["signal"][0])
    signal.pop("unit"), signal.pop("reference")
    kept = lite.edit(
        small.id,
        [
            Change("recording.0.signal.0.unit", "kPa", None),
            Change("recording.0.signal.0.reference", "atmosphere", None),
        ],
        1,
    )
    lane = lite.lanes(kept.id, 0).lanes[0]
    assert (lane.quantity, lane.unit, lane.factor) == ("oil-pressure", "as recorded", 1.0)


def test_a_recording_that_is_not_there_is_told(lite: Store, small: Kept) -> None:
    with pytest.raises(InputError, match="recording 8 is not there"):
        lite.lanes(small.id, 7)


def test_moving_an_edge_touches_neither_file_nor_lanes(
    lite: Store, small: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = lite.findings(small.id, causes=False)

    def refused(*_: object, **__: object) -> None:
        raise AssertionError("a stage was done again")

    for stage in (
        "store.recordings.read",
        "analysis.lanes.find_rotation",
        "analysis.lanes.sense",
        "analysis.lanes.cycle_table",
    ):
        monkeypatch.setattr(f"gaugewright.{stage}", refused)
    kept = lite.edit(small.id, Change("recording.0.condition.0.to", "9.800 s", "8 s"), 1)
    moved = lite.findings(small.id, causes=False)
    assert moved.findings.readings != first.findings.readings
    job = kept.model
    monkeypatch.undo()
    assert moved.findings == analyse(job, kept.folder, causes=False).findings
    back = lite.undo(small.id, 2)
    assert lite.findings(back.id, causes=False) is first


def test_rotation_and_cycles_are_kept_on_disk(
    lite: Store, small: Kept, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = lite.findings(small.id, causes=False)
    lite.forget()

    def refused(*_: object, **__: object) -> None:
        raise AssertionError("a stage was done again")

    for stage in ("store.recordings.read", "analysis.lanes.find_rotation"):
        monkeypatch.setattr(f"gaugewright.{stage}", refused)
    monkeypatch.setattr("gaugewright.analysis.lanes.cycle_table", refused)
    assert lite.findings(small.id, causes=False).findings == first.findings


def test_the_causes_come_after(lite: Store, small: Kept) -> None:
    quick = lite.findings(small.id, causes=False)
    assert quick.findings.causes == ()
    whole = lite.findings(small.id)
    assert whole.findings.causes
    assert whole.findings.readings == quick.findings.readings
    assert lite.findings(small.id, causes=False) is whole


def test_what_is_not_complete_is_left_out_and_said(lite: Store, small: Kept) -> None:
    changes = [
        Change("limit.-", None, {"name": "fast", "quantity": "oil-pressure"}),
        Change("recording.-", None, {"name": "later", "file": "recordings/later.csv"}),
    ]
    kept = lite.edit(small.id, changes, 1)
    assert kept.ready
    found = lite.findings(kept.id, causes=False).findings
    left = [warning.text for warning in found.warnings if warning.code == "left-out"]
    assert len(left) == len(kept.problems) > 0
    assert any('limit "fast" (line 19): found neither min nor max' in text for text in left)
    assert any('"recordings/later.csv" is not there' in text for text in left)
    assert found.readings == lite.findings(lite.undo(kept.id, 2).id, causes=False).findings.readings


def test_a_job_with_nothing_to_analyse_says_why(store: Store, kept: Kept) -> None:
    with pytest.raises(InputError, match="found neither a"):
        store.findings(kept.id)


def files(kept: Kept, name: str) -> list[Path]:
    return sorted(path for path in (kept.folder / name).rglob("*") if path.is_file())


def flip(path: Path, chance: random.Random) -> None:
    """Turn one bit of a file."""
    whole = bytearray(path.read_bytes())
    whole[chance.randrange(len(whole))] ^= 1 << chance.randrange(8)
    path.chmod(0o644)
    path.write_bytes(bytes(whole))


@pytest.mark.parametrize("seed", range(8))
def test_damage_of_lanes_or_stages_never_reaches_the_findings(
    lite: Store, small: Kept, seed: int
) -> None:
    """One bit of any file that can be made anew is turned: told, made anew, the same findings."""
    first = lite.findings(small.id, causes=False).findings
    chance = random.Random(seed)
    place = chance.choice([LANES, "stages"])
    flip(chance.choice(files(small, place)), chance)
    lite.forget()
    if place == LANES:
        told = lite.check(small.id)
        assert [problem.file for problem in told] == ["recordings/run.csv"]
        assert "its lanes were damaged on the disk" in told[0].sentence
    assert lite.findings(small.id, causes=False).findings == first
    lite.forget()
    assert lite.check(small.id) == ()


def test_damaged_lanes_are_made_anew_without_being_asked_about(lite: Store, small: Kept) -> None:
    first = lite.findings(small.id, causes=False).findings
    for path in files(small, LANES):
        flip(path, random.Random(1))
    lite.forget()
    assert lite.findings(small.id, causes=False).findings == first


def test_a_damaged_original_is_told_and_its_lanes_still_serve(lite: Store, small: Kept) -> None:
    first = lite.findings(small.id, causes=False).findings
    flip(small.folder / "recordings/run.csv", random.Random(2))
    told = lite.check(small.id)
    assert [problem.file for problem in told] == ["recordings/run.csv"]
    assert "(its checksum differs)" in told[0].sentence
    lite.forget()
    assert lite.findings(small.id, causes=False).findings == first


def test_a_damaged_original_is_never_imported(lite: Store, small: Kept) -> None:
    flip(small.folder / "recordings/run.csv", random.Random(3))
    with pytest.raises(InputError, match="its checksum differs"):
        lite.findings(small.id)


def test_a_lost_original_is_a_problem_of_the_job(lite: Store, small: Kept) -> None:
    path = small.folder / "recordings/run.csv"
    path.rename(path.with_name("elsewhere.csv"))
    kept = lite.job(small.id)
    assert not kept.ready
    assert kept.problems[0].path == ("recording", 0, "file")
    assert "is no longer there" in lite.check(small.id)[0].sentence
    path.with_name("elsewhere.csv").rename(path)
    assert lite.job(small.id).ready


def test_two_loggers_through_the_store(lite: Store, tmp_path: Path) -> None:
    columns = lived((AS_FOUND, CAP_OFF))
    text = HEAD + recording("one", OIL, SPARK) + recording("two", CRANKCASE, clock_offset="0 s")
    job = write(
        tmp_path / "job",
        text,
        one=csv(columns, "t", "oil", "spark"),
        two=csv(columns, "t", "crankcase"),
    )
    kept = lite.take_in(job).kept
    bench = lite.bench(kept.id)
    lanes = lanes_of(kept.model, kept.folder, bench.stages, maker=bench.recordings.numbers)
    assert [sensed.name for sensed in lanes.sensed] == ["one", "two"]
    assert lanes.sensed[0].table is not None


def test_the_entry_that_was_meant_is_drawn(lite: Store, small: Kept, folder: Path) -> None:
    """Two entries of one file, read in two ways."""
    mapping = {"time": "t", "signal": [{"column": "spark", "quantity": "ignition"}]}
    kept = lite.add_recording(small.id, "again", folder / "recordings/run.csv", mapping, 1)
    assert kept.tables["recording"][1]["file"] == "recordings/run.csv"
    assert [lane.column for lane in lite.lanes(kept.id, 1).lanes] == ["spark"]
    assert len(lite.lanes(kept.id, 0).lanes) == 3


def test_a_place_that_was_changed_meanwhile_stops_a_stale_edit(
    lite: Store, small: Kept, folder: Path
) -> None:
    lite.edit(small.id, Change("recording.0", small.tables["recording"][0], None), 1)
    lite.add_recording(small.id, "new", folder / "recordings/run.csv", MAPPING, 1)
    with pytest.raises(EditedElsewhere):
        lite.edit(small.id, Change("recording.0.name", "run", "mine"), 1)
