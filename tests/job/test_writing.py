"""Writing a job and reading it gives the same job; a failed writing leaves the old one."""

import datetime as dt
import json

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from job_sample import FULL, SMALL, lay, read

from gaugewright.errors import InputError, OutputError
from gaugewright.job import files, folder
from gaugewright.job.dump import tables, to_json_data, to_toml
from gaugewright.job.reading import job_from_tables
from gaugewright.job.schema import SHIPPED, schema_text
from gaugewright.job.words import ACTIONS, SEEN

SCHEMA = json.loads(SHIPPED.read_text(encoding="utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


@pytest.mark.parametrize("text", [FULL, SMALL], ids=["full", "small"])
def test_the_same_job_comes_back(tmp_path, text):
    job = read(text)
    source = lay(tmp_path / "job", text)
    written = folder.write(job, tmp_path / "copy", source)
    again, place = folder.read(written)
    assert again == job
    assert place == tmp_path / "copy"
    for entry in job.recordings:
        assert (place / entry.file).read_bytes() == (source / entry.file).read_bytes()


def test_writing_in_place(tmp_path):
    source = lay(tmp_path)
    job, _ = folder.read(source)
    folder.write(job, source, source)
    assert folder.read(source)[0] == job
    names = sorted(path.name for path in source.iterdir())
    assert names == ["job.toml", "recordings"]


def test_a_missing_recording_is_told(tmp_path):
    source = lay(tmp_path / "job")
    (source / "recordings" / "logger.csv").unlink()
    with pytest.raises(InputError) as caught:
        folder.write(read(FULL), tmp_path / "copy", source)
    assert caught.value.text == (
        f'{source}: the recording "recordings/logger.csv" is not there; put it there, or correct '
        "the name."
    )


def test_a_full_disk_leaves_the_old_job_whole(tmp_path, monkeypatch):
    source = lay(tmp_path)
    before = (source / "job.toml").read_bytes()

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files, "_sync", full)
    with pytest.raises(OutputError) as caught:
        folder.write(read(SMALL), source)
    assert caught.value.text == (
        f"{source}/job.toml: cannot be written (No space left on device); choose a folder that can "
        "be written to and has room."
    )
    assert (source / "job.toml").read_bytes() == before
    assert sorted(path.name for path in source.iterdir()) == ["job.toml", "recordings"]


def test_a_folder_that_cannot_be(tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(OutputError, match="cannot be written"):
        folder.write(read(SMALL), tmp_path / "file")


WORDS = st.text(st.characters(blacklist_categories=("Cs",)), min_size=1, max_size=12)
FIGURES = st.floats(0.01, 900.0).map(lambda number: f"{number:.3f}")


def some(unit):
    return FIGURES.map(lambda figure: f"{figure} {unit}")


def maybe(**fields):
    """A table with any of these keys."""
    return st.fixed_dictionaries({}, optional=fields)


VEHICLES = st.builds(
    lambda needed, others: {**needed, **others},
    st.fixed_dictionaries(
        {"cylinders": st.integers(1, 12), "cycle": st.sampled_from(["four-stroke", "two-stroke"])}
    ),
    maybe(
        name=WORDS,
        ignition=st.sampled_from(["coil-on-plug", "wasted-spark", "distributor", "compression"]),
        oil_grade=st.sampled_from(["5W-30", "SAE 30", "0W16"]),
        displacement=st.just("2.0 L"),
        fuel=st.sampled_from(["petrol", "diesel", "gas"]),
        oil_pump=st.sampled_from(["fixed", "two-stage", "variable", "controlled"]),
        pump_switches=st.just(["2100 rpm", "2200 rpm"]),
    ),
)
VISITS = st.lists(
    st.builds(
        lambda name, others: {"name": name, **others},
        WORDS,
        maybe(
            date=st.one_of(
                st.dates(dt.date(1990, 1, 1), dt.date(2090, 1, 1)),
                st.datetimes(dt.datetime(1990, 1, 1), dt.datetime(2090, 1, 1)),
            ),
            odometer=some("km"),
            work=WORDS,
        ),
    ),
    max_size=3,
    unique_by=lambda visit: visit["name"],
)
SENSORS = st.lists(
    st.builds(
        lambda name, others: {
            "name": name,
            "points": [["0.5 V", "0 bar"], ["4,5 V", "10 bar"]],
            **others,
        },
        WORDS,
        maybe(accuracy=some("mbar"), points_common=some("psi"), supply=some("V")),
    ),
    max_size=2,
    unique_by=lambda sensor: sensor["name"],
)
SIGNALS = st.one_of(
    st.builds(
        lambda others: {"quantity": "crankcase-pressure", "unit": "kPa", **others},
        maybe(
            reference=st.sampled_from(["atmosphere", "vacuum"]), port=WORDS, snubber=st.booleans()
        ),
    ),
    st.builds(
        lambda others: {"quantity": "crank", "unit": "V", "teeth": 60, **others},
        maybe(missing=st.integers(0, 3), turns=st.sampled_from(["crank", "cam"])),
    ),
    st.builds(
        lambda others: {"quantity": "ignition", **others},
        maybe(pulses_per_cycle=st.floats(0.5, 8), hose=maybe(length=some("m"))),
    ),
)
DID = st.lists(st.sampled_from(ACTIONS[1:]), max_size=2)


@st.composite
def recordings(draw, number, visit):
    signals = [
        {"column": f"c{at}", **signal}
        for at, signal in enumerate(draw(st.lists(SIGNALS, min_size=1, max_size=3)))
    ]
    conditions = [
        {"name": draw(WORDS), "from": f"{10 * at} s", "to": f"{10 * at + 9.5} s", "did": draw(DID)}
        for at in range(draw(st.integers(0, 2)))
    ]
    clock = draw(st.sampled_from([{"time": "t"}, {"rate": "10 kHz"}]))
    texts = maybe(delimiter=st.sampled_from(";\t|"), missing=st.lists(WORDS, max_size=2))
    entry = {"name": f"r{number}", "file": f"r/{number}.csv", **clock, "signal": signals}
    entry["text"] = draw(texts)
    entry["condition"] = conditions
    return {**entry, **visit}


@st.composite
def jobs(draw):
    """Tables of a random sound job."""
    visits = draw(VISITS)
    names = [visit["name"] for visit in visits]

    def visit():
        return {"visit": draw(st.sampled_from(names))} if names else {}

    what = draw(st.sampled_from(sorted(SEEN)))
    saw = draw(st.sampled_from(SEEN[what]))
    reading = {"quantity": "oil-temperature", "value": draw(some("degC")), "uncertainty": "2 K"}
    job = {
        "format": 1,
        "title": draw(WORDS),
        "vehicle": draw(VEHICLES),
        "complaint": draw(maybe(text=WORDS, codes=st.just(["P0171"]))),
        "place": draw(maybe(altitude=some("m"), barometer=st.just("97,6 kPa"))),
        "visit": visits,
        "observation": [{"what": what, "saw": saw, "note": draw(WORDS), **visit()}],
        "limit": [{"name": draw(WORDS), "quantity": "oil-pressure", "min": draw(some("kPa"))}],
        "switch": [{"name": draw(WORDS), "closes_below": draw(some("bar"))}],
        "sensor": draw(SENSORS),
        "recording": [draw(recordings(at, visit())) for at in range(draw(st.integers(0, 2)))],
        "reading": [{**reading, "condition": draw(WORDS), **visit()}],
        "work": [{"text": draw(WORDS), **visit()}],
    }
    return job


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(jobs())
def test_any_job_comes_back(tmp_path_factory, raw):
    job = job_from_tables(raw)
    place = tmp_path_factory.mktemp("job")
    (place / "r").mkdir()
    for entry in job.recordings:
        (place / entry.file).touch()
    folder.write(job, place)
    assert folder.read(place)[0] == job


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(jobs())
def test_any_job_fits_the_schema(raw):
    VALIDATOR.validate(to_json_data(job_from_tables(raw)))


def test_the_full_job_fits_the_schema():
    VALIDATOR.validate(to_json_data(read(FULL)))


@pytest.mark.parametrize(
    ("change", "value"),
    [
        ("cylinders", "four"),
        ("blorp", 1),
        ("displacement", 2.0),
        ("displacement", "2.0"),
        ("fuel", "steam"),
    ],
)
def test_the_schema_tells_wrong_from_right(change, value):
    data = to_json_data(read(FULL))
    data["vehicle"][change] = value
    assert not VALIDATOR.is_valid(data)


def test_the_shipped_schema_is_fresh():
    """When this fails: `python -m gaugewright.job.schema`."""
    assert SHIPPED.read_text(encoding="utf-8") == schema_text()


def test_what_is_silent_is_not_written():
    small = tables(read(SMALL))
    assert set(small) == {"format", "title", "vehicle", "visit", "reading"}
    assert "visit" in to_toml(read(SMALL))
