"""What a good job is read as, and where from."""

import datetime as dt
import subprocess
import sys

import pytest
from job_sample import FULL, SMALL, lay, read, sentences, spoiled

from gaugewright.errors import InputError
from gaugewright.job import folder
from gaugewright.job.places import find_lines
from gaugewright.job.words import ACTIONS, LASTING, OBSERVATIONS, PASSING


def test_values_in_house_units():
    job = read(FULL)
    limit, sensor = job.limits[0], job.sensors[0]
    assert (limit.min.text, limit.min.si) == ("0.9 bar", pytest.approx(90e3))
    assert (limit.speed.si, limit.oil_temperature.si) == (820.0, 80.0)
    assert [[v.si for v in point] for point in sensor.points] == [[0.5, 0.0], [4.5, 1e6]]
    assert sensor.accuracy.si == pytest.approx(5000.0)
    assert job.vehicle.displacement.si == pytest.approx(0.002)
    assert job.visits[0].odometer.si == 148200.0
    assert job.visits[0].date == dt.datetime(2031, 3, 4, 9, 30)
    assert job.recordings[0].conditions[0].from_.si == 5.0
    assert job.recordings[1].rate.si == 1000.0
    assert job.readings[0].value.si == pytest.approx(-8465.97, abs=0.01)


def test_a_temperature_sensors_accuracy_is_a_difference():
    sensor = read(FULL).sensors[1]
    assert sensor.accuracy.si == 0.5
    assert sensor.range[0].si == -20.0
    warm = spoiled('accuracy = "0.5 K"', 'accuracy = "0.9 degF"')
    assert read(warm).sensors[1].accuracy.si == pytest.approx(0.5)


def test_a_temperature_readings_uncertainty_is_a_difference():
    text = spoiled('quantity = "oil-pressure"\nvalue = "1.1 bar"', "", SMALL)
    text += 'quantity = "oil-temperature"\nvalue = "88 degC"\nuncertainty = "2 degC"\n'
    reading = read(text).readings[0]
    assert (reading.value.si, reading.uncertainty.si) == (88.0, 2.0)


def test_what_is_silent_is_said():
    job = read(FULL)
    assert job.recordings[1].visit == "first"
    assert job.recordings[1].signals[1].unit == "V"
    assert job.recordings[0].conditions[0].did == ("nothing",)


def test_a_job_without_visits_has_one():
    job = read(SMALL)
    assert [visit.name for visit in job.visits] == ["first"]
    assert job.readings[0].visit == "first"


def test_one_visit_of_another_name_takes_all_parts():
    text = SMALL + '[[work]]\ntext = "oil changed"\n[[visit]]\nname = "Monday"\n'
    job = read(text)
    assert (job.readings[0].visit, job.work[0].visit) == ("Monday", "Monday")


def test_an_empty_did_means_nothing():
    job = read(spoiled('did = "nothing"', "did = []"))
    assert job.recordings[0].conditions[0].did == ("nothing",)


def test_a_unit_may_state_its_reference():
    text = spoiled('  unit = "mbar"\n  reference = "atmosphere"', '  unit = "psia"')
    assert read(text).recordings[1].signals[0].reference == "vacuum"
    assert read(spoiled('"1.1 bar"', '"16 psig"', SMALL)).readings[0].reference == "atmosphere"


def test_alignment_finds_the_only_shared_quantity():
    text = spoiled('aligned_by = "ignition"\n', "")
    assert read(text).recordings[1].aligned_by == "ignition"


def test_a_reference_beside_its_sensor_may_repeat_it():
    text = spoiled(
        'sensor = "oil transducer"\n', 'sensor = "oil transducer"\n  reference = "atmosphere"\n'
    )
    assert sentences(text) == []


def test_names_that_may_repeat():
    """A condition twice in one recording is one condition in two stretches."""
    assert sentences(spoiled('name = "cap off"', 'name = "as found"')) == []


def test_recordings_of_two_visits_may_share_a_name():
    text = spoiled('name = "second logger"', 'name = "hot idle"\nvisit = "second"')
    text = text.replace('aligned_with = "hot idle"\naligned_by = "ignition"\n', "")
    assert sentences(text + '[[visit]]\nname = "second"\n') == []


def test_times_of_their_own_need_no_common_time():
    text = spoiled('rate = "1 kHz"\n', "")
    text = text.replace('  column = "p"', '  column = "p"\n  time = "tp"')
    text = text.replace('  column = "s"', '  column = "s"\n  time = "ts"')
    assert sentences(text) == []


def test_touching_conditions_do_not_overlap():
    assert sentences(FULL) == []


def test_both_altitude_and_barometer_are_fine():
    assert read(FULL).place.barometer.si == pytest.approx(97600.0)


@pytest.mark.parametrize(
    "printed",
    [
        "0.9 bar / 13 psi",
        "0.9-3.5 bar (13-51 psi)",
        "0.9-3.5 bar/13-51 psi",
        "min. 0,9 bar at 820 rpm, 80 degC",
        "90 kPa / 13 psi",
        "at least 13 psi hot",
        "see table 4",
        "",
    ],
)
def test_printed_limits_that_agree(printed):
    assert sentences(spoiled("0.9 bar / 13 psi", printed)) == []


@pytest.mark.parametrize(
    "printed", ["0.9 bar / 15 psi", "90 kPa / 20 psi", "0.9-3.5 bar / 13-61 psi", "9 bar", "13 kPa"]
)
def test_printed_limits_that_disagree(printed):
    told = sentences(spoiled("0.9 bar / 13 psi", printed))
    assert len(told) == 1
    assert "disagree beyond rounding" in told[0]


def test_read_a_folder_or_its_file(tmp_path):
    place = lay(tmp_path)
    for path in (place, place / "job.toml"):
        job, found = folder.read(path)
        assert (job.title, found) == ("Tick at hot idle", place)
        with folder.opened(path) as (again, _):
            assert again == job


def test_the_message_names_the_file_as_it_was_given(tmp_path):
    place = lay(tmp_path, spoiled("cylinders = 4", "cylinders = 0"))
    with pytest.raises(InputError) as caught:
        folder.read(place)
    told = f"{place}/job.toml, vehicle, cylinders (line 7): found 0; write at least 1."
    assert caught.value.text == told


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda path: path.mkdir(), "the folder holds no job.toml; name the folder that holds one"),
        (lambda path: None, "nothing is there; name a job folder, its job.toml or a bundle"),
    ],
)
def test_nothing_to_read(tmp_path, make, words):
    make(tmp_path / "job")
    with pytest.raises(InputError) as caught:
        folder.read(tmp_path / "job")
    assert caught.value.text == f"{tmp_path / 'job'}: {words}."


def test_a_byte_order_mark_and_windows_lines_are_read_over():
    from gaugewright.job.reading import job_from_bytes

    data = b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode()
    assert job_from_bytes(data, "job.toml").title == "Small"


def test_lines_of_nested_tables():
    text = '[a]\nx = 1\n[[b]]\n[[b]]\ny = """\nz = 2\n"""\n[b.c]\nz = 3\n[[b.d]]\nw.v = 4\n'
    lines = find_lines(text)
    assert lines[("a", "x")] == 2
    assert lines[("b", 1)] == 4
    assert lines[("b", 1, "c", "z")] == 9
    assert lines[("b", 1, "d", 0, "w", "v")] == 11
    assert ("b", 1, "z") not in lines


def test_the_words_of_the_format():
    assert set(OBSERVATIONS) == set(
        ["oil-level", "oil-smell", "oil-foam", "lamp", "noise", "began", "done-before", "smoke"]
    )
    assert set(LASTING) == {"oil-changed", "oil-topped-up", "level-corrected", "repaired"}
    assert len(PASSING) == 12
    assert len(set(ACTIONS)) == 16


def test_a_usual_job_loads_neither_pint_nor_tomlkit(tmp_path):
    place = lay(tmp_path)
    code = (
        "import sys; from pathlib import Path; from gaugewright.job.folder import read;"
        f"read(Path({str(place)!r}));"
        "print(sorted({'pint', 'tomlkit', 'numpy', 'polars'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
