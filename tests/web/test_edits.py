"""Typing into a job: either unit, one sentence where it is wrong, nothing overwritten."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from gaugewright.store.store import Store, open_store
from gaugewright.web.app import make_app
from gaugewright.web.values import in_own_unit, shown_as_typed, typed


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    made = open_store(None, tmp_path)
    yield made
    made.close()


@pytest.fixture
def app(store: Store, calling: Any) -> Any:
    return calling(make_app(store))


@pytest.fixture
def job(app: Any) -> str:
    return str(app.post("/api/jobs", json={"title": "Oil lamp", "oil_grade": "5W-30"}).json()["id"])


def put(app: Any, job: str, place: str, new: Any, old: str = "", version: int = 1) -> Any:
    body = {"place": place, "old_text": old, "new": new, "based_on": version}
    return app.post(f"/api/jobs/{job}/edit", json=body)


def add(app: Any, job: str, place: str, row: dict[str, Any], version: int = 1) -> Any:
    body = {"place": place, "row": row, "based_on": version}
    return app.post(f"/api/jobs/{job}/rows", json=body)


LIMIT = {"name": "hot idle", "quantity": "oil-pressure", "speed": "820 rpm", "source": "manual 12"}


@pytest.mark.parametrize(
    ("value", "shown"), [("1.1 bar", "110"), ("16 psi", "110"), ("90 kPa", "90")]
)
def test_a_limit_is_typed_in_either_unit(app: Any, job: str, value: str, shown: str) -> None:
    answer = add(app, job, "limit", {**LIMIT, "min": value})
    assert answer.status_code == 200
    assert f"{shown}\u00a0kPa" in answer.json()["html"]


def test_a_wrong_value_is_one_sentence_and_its_place(app: Any, job: str) -> None:
    answer = add(app, job, "limit", {**LIMIT, "min": "1.1"})
    assert answer.status_code == 422
    assert answer.json()["place"] == "limit.0.min"
    assert answer.json()["sentence"].startswith('Found "1.1", a number without its unit')


def test_a_typed_codes_list_is_a_list(app: Any, store: Store, job: str) -> None:
    assert put(app, job, "complaint.codes", "P0171, P0300").status_code == 200
    assert store.job(job).tables["complaint"]["codes"] == ["P0171", "P0300"]


def test_the_first_visit_is_stated_when_its_date_is_typed(app: Any, store: Store, job: str) -> None:
    assert put(app, job, "visit.0.odometer", "148200 km").status_code == 200
    assert store.job(job).tables["visit"] == [{"name": "first", "odometer": "148200 km"}]


def test_what_was_silent_belongs_to_the_first_visit_once_another_comes(
    app: Any, store: Store, job: str
) -> None:
    note = {"what": "oil-level", "saw": "below minimum"}
    assert add(app, job, "observation", note).status_code == 200
    add(app, job, "visit", {"name": "first"}, store.job(job).version)
    assert "visit" not in store.job(job).tables["observation"][0]
    add(app, job, "visit", {"name": "repaired"}, store.job(job).version)
    assert store.job(job).tables["observation"][0]["visit"] == "first"
    store.undo(job, store.job(job).version)
    assert "visit" not in store.job(job).tables["observation"][0]


def test_an_emptied_field_leaves_the_document(app: Any, store: Store, job: str) -> None:
    put(app, job, "vehicle.oil_grade", "", old="5W-30")
    assert "oil_grade" not in store.job(job).tables["vehicle"]


def test_a_stale_write_is_refused_with_what_is_there_now(app: Any, store: Store, job: str) -> None:
    put(app, job, "vehicle.name", "van")
    answer = put(app, job, "vehicle.name", "pick-up")
    assert answer.status_code == 409
    assert answer.json()["now_text"] == "van"
    assert '"van" stands there now' in answer.json()["sentence"]
    assert store.job(job).tables["vehicle"]["name"] == "van"


def test_edits_at_other_places_merge(app: Any, store: Store, job: str) -> None:
    assert put(app, job, "vehicle.name", "van", version=1).status_code == 200
    assert put(app, job, "vehicle.fuel", "petrol", version=1).status_code == 200
    assert store.job(job).tables["vehicle"]["name"] == "van"


def test_undo_and_redo(app: Any, store: Store, job: str) -> None:
    version = put(app, job, "vehicle.name", "van").json()["version"]
    version = app.post(f"/api/jobs/{job}/undo", json={"based_on": version}).json()["version"]
    assert "name" not in store.job(job).tables["vehicle"]
    app.post(f"/api/jobs/{job}/redo", json={"based_on": version})
    assert store.job(job).tables["vehicle"]["name"] == "van"


def test_a_row_taken_off_comes_back(app: Any, store: Store, job: str) -> None:
    version = add(app, job, "limit", {**LIMIT, "min": "1 bar"}).json()["version"]
    row = store.job(job).tables["limit"][0]
    body = {"place": "limit.0", "old": row, "based_on": version}
    version = app.post(f"/api/jobs/{job}/rows/remove", json=body).json()["version"]
    assert not store.job(job).tables.get("limit")
    app.post(f"/api/jobs/{job}/undo", json={"based_on": version})
    assert store.job(job).tables["limit"] == [row]


def test_a_sensor_by_its_typed_points(app: Any, store: Store, job: str) -> None:
    row = {"name": "oil", "point1": "0.5 V = 0 bar", "point2": "4.5 V = 10 bar"}
    assert add(app, job, "sensor", row).status_code == 200
    assert store.job(job).tables["sensor"][0]["points"] == [["0.5 V", "0 bar"], ["4.5 V", "10 bar"]]


@pytest.mark.parametrize("place", ["format", "id"])
def test_what_the_app_keeps_itself_is_not_typed(app: Any, job: str, place: str) -> None:
    assert put(app, job, place, "2").status_code == 422


def test_a_job_that_is_not_there(app: Any) -> None:
    assert app.get("/jobs/nothing", headers={"accept": "text/html"}).status_code == 404


def test_what_is_typed_and_shown_again_is_the_same() -> None:
    for place, value in (
        ("vehicle.firing_order", [1, 3, 4, 2]),
        ("sensor.0.range", ["0 bar", "10 bar"]),
        ("vehicle.cylinders", 4),
        ("limit.0.did", ["filler-cap-off", "speed-raised"]),
        ("recording.0.signal.0.snubber", True),
    ):
        assert typed(place, shown_as_typed(value)) == value
    assert typed("vehicle.cylinders", "four") == "four"
    assert typed("title", "  ") is None


def test_values_show_in_the_workshops_unit() -> None:
    import datetime as dt

    from gaugewright.report.preferences import Preferences

    psi = Preferences(printed=dt.date(2031, 3, 4), pressure_unit="psi", vacuum_unit="inHg")
    assert in_own_unit("1.1 bar", "oil-pressure", psi) == "16\u00a0psi"
    assert in_own_unit("-4 kPa", "crankcase-pressure", psi) == "\u22121.18\u00a0inHg"
    assert in_own_unit("80 degC", "oil-temperature", psi) == "80\u00a0°C"
    assert in_own_unit("nonsense", "oil-pressure", psi) == "nonsense"


def test_what_a_test_showed_is_noted_and_stands_with_the_causes(app: Any, job: str) -> None:
    reading = {"condition": "hot idle", "quantity": "oil-pressure", "value": "70 kPa"}
    answer = add(app, job, "limit", {**LIMIT, "min": "90 kPa"})
    answer = add(app, job, "reading", reading, version=answer.json()["version"])
    before = app.get(f"/api/jobs/{job}/found").json()["meaning"]
    assert 'data-adds="observation"' in before
    assert "Tests done" not in before
    row = {"what": "filter-cut", "saw": "bearing metal"}
    answer = add(app, job, "observation", row, version=answer.json()["version"])
    assert answer.status_code == 200
    after = app.get(f"/api/jobs/{job}/found").json()["meaning"]
    assert "Tests done" in after
    assert "Cut the filter open" in after
    assert 'id="o-filter-cut"' not in after
    assert "bearings worn" in after.lower()
    wrong = add(app, job, "observation", {"what": "snap", "saw": "often"}, answer.json()["version"])
    assert wrong.status_code == 422
    assert '"follows the speed"' in wrong.json()["sentence"]
