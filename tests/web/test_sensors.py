"""The sensor cards: the line, what lies off it, how sure it is, and what has to be minded."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugewright.job.model import Job
from gaugewright.job.reading import job_from_bytes
from gaugewright.web.recording_room import room_of
from gaugewright.web.recording_words import words_for
from gaugewright.web.sensors_card import card_of
from gaugewright.web.sensors_told import told_card

sys.path.insert(0, str(Path(__file__).parent))
from recording_made import Opened, opened_app, small_folder  # noqa: F401


def job_with(points: str, more: str = "", limit: str = "90 kPa") -> Job:
    text = f"""
format = 1
title = "x"
[vehicle]
cylinders = 4
cycle = "four-stroke"
[[limit]]
name = "hot idle"
quantity = "oil-pressure"
min = "{limit}"
[[sensor]]
name = "s"
points = {points}
{more}
[[recording]]
name = "r"
file = "r.csv"
rate = "1 kHz"
[[recording.signal]]
column = "a"
quantity = "oil-pressure"
sensor = "s"
"""
    return job_from_bytes(text.encode(), "job.toml")


def minds(job: Job, app: Opened) -> str:
    card = card_of(job, job.sensors[0], None)
    told = told_card(card, app.bay.preferences(), words_for("en"))
    return " ".join(said for _, said in told.minds).replace("\N{NO-BREAK SPACE}", " ")


def test_the_points_lie_off_the_line_of_least_squares() -> None:
    job = job_with(
        '[["0.5 V", "0 kPa"], ["2 V", "152 kPa"], ["3 V", "249 kPa"], ["4 V", "351 kPa"]]'
    )
    card = card_of(job, job.sensors[0], None)
    slope, offset = np.polyfit([0.5, 2.0, 3.0, 4.0], [0.0, 152e3, 249e3, 351e3], 1)
    expected = np.array([0.0, 152e3, 249e3, 351e3]) - (slope * np.array([0.5, 2, 3, 4]) + offset)
    np.testing.assert_allclose(card.off, expected, atol=1e-6)
    assert card.calibration is not None
    assert card.calibration.slope == pytest.approx(slope)


def test_between_two_points_of_equal_doubt_the_line_is_surer_than_at_them() -> None:
    """Textbook: with two points of u each, the middle has u / sqrt 2, the ends u."""
    job = job_with('[["0 V", "0 kPa"], ["4 V", "400 kPa"]]', 'point_uncertainty = "2 kPa"')
    card = card_of(job, job.sensors[0], None)
    halves = np.interp([0.0, 200e3, 400e3], card.places, card.halves)
    np.testing.assert_allclose(
        halves, 1.959964 * 2000.0 * np.array([1.0, 0.5**0.5, 1.0]), rtol=2e-3
    )


def test_a_limit_beyond_the_points_is_warned_of(app: Opened) -> None:
    job = job_with('[["0.5 V", "0 kPa"], ["1 V", "50 kPa"]]', 'point_uncertainty = "1 kPa"')
    said = minds(job, app)
    assert "“hot idle” at 90 kPa lies outside the points" in said
    assert "Two points hold a line" in said


def test_a_range_too_wide_for_the_quantity_is_warned_of(app: Opened) -> None:
    points = '[["0.5 V", "0 MPa"], ["2.5 V", "10 MPa"], ["4.5 V", "20 MPa"]]'.replace(
        " MPa", "000 kPa"
    )
    job = job_with(points, 'accuracy = "100 kPa"\nrange = ["0 kPa", "20000 kPa"]')
    assert "should be below 5 kPa" in minds(job, app)


def test_a_sensor_that_suits_is_not_warned_of(app: Opened) -> None:
    points = '[["0.5 V", "0 kPa"], ["1.5 V", "100 kPa"], ["2.5 V", "200 kPa"]]'
    assert minds(job_with(points, 'point_uncertainty = "0.5 kPa"'), app) == ""


def test_points_at_one_output_hold_no_line_and_that_is_said(app: Opened) -> None:
    for _ in range(2):
        old = app.kept.tables["sensor"][0]["points"][1]
        assert post(app, "points/take-out", number=1, old=old).status_code == 200
    old = app.kept.tables["sensor"][0]["points"][1]
    answer = post(app, "points/take-out", number=1, old=old)
    assert answer.status_code == 200, answer.text
    assert "No line yet" in answer.json()["html"]


def test_an_engine_off_stretch_narrows_the_card(app: Opened) -> None:
    read = room_of(app.bay).read(app.kept, wait=True)
    model = app.kept.model
    before, after = (card_of(model, model.sensors[0], r) for r in (None, read))
    at = [np.interp(95e3, card.places, card.halves) for card in (before, after)]
    assert at[1] < at[0]
    assert [zero.condition for zero in after.zeros] == ["engine off"]
    assert {use.name for use in after.uses} == {"engine off", "as found", "cap off", "hot idle"}


def post(app: Opened, what: str, **body: Any) -> Any:
    body.setdefault("version", app.kept.version)
    return app.client.post(f"/api/jobs/{app.job}/sensors/0/{what}", json=body)


def test_a_point_is_added_in_any_unit_and_taken_out_again(app: Opened) -> None:
    assert post(app, "points", output="3,5", value="3 bar").status_code == 200
    points = app.kept.tables["sensor"][0]["points"]
    assert points[-1] == ["3.5 V", "3 bar"]
    gone = post(app, "points/take-out", number=4, old=["3.5 V", "3 bar"])
    assert gone.status_code == 200
    assert len(app.kept.tables["sensor"][0]["points"]) == 4


def test_a_point_that_is_none_is_refused_and_nothing_changes(app: Opened) -> None:
    before = app.kept.version
    answer = post(app, "points", output="3.5 V", value="warm")
    assert answer.status_code == 422
    assert "warm" in answer.json()["sentence"]
    assert app.kept.version == before


def test_a_point_that_another_took_out_is_not_taken_out_twice(app: Opened) -> None:
    old = app.kept.tables["sensor"][0]["points"][1]
    version = app.kept.version
    assert post(app, "points/take-out", number=1, old=old).status_code == 200
    assert post(app, "points/take-out", number=1, old=old, version=version).status_code == 409


def test_what_is_stated_can_be_changed_and_shows(app: Opened) -> None:
    answer = post(app, "state", key="range", old=["0 kPa", "400 kPa"], new="0 kPa to 300 kPa")
    assert answer.status_code == 200, answer.text
    assert app.kept.tables["sensor"][0]["range"] == ["0 kPa", "300 kPa"]
    assert "range 0\u00a0kPa to 300\u00a0kPa" in answer.json()["html"]


def test_the_list_and_the_card_are_pages(app: Opened) -> None:
    listed = app.client.get("/sensors").text
    assert f"/jobs/{app.job}/sensors/0" in listed
    card = app.client.get(f"/jobs/{app.job}/sensors/0").text
    assert "oil transducer" in card
    assert " style=" not in card
    assert app.client.get(f"/jobs/{app.job}/sensors/3").status_code == 404


def test_a_sensor_kept_for_the_workshop_is_taken_into_a_job(app: Opened) -> None:
    assert "is kept" in post(app, "keep").json()["said"]
    assert "as it is now" in post(app, "keep").json()["said"]
    card = app.store.cards.all()[0]
    assert card.name == "oil transducer"
    assert "Kept for the workshop" in app.client.get("/sensors").text
    taken = app.client.post(f"/api/sensor-cards/{card.id}/into", json={"job": app.job})
    assert taken.json()["address"] == f"/jobs/{app.job}/sensors/1"
    sensors = app.kept.tables["sensor"]
    assert [sensor["name"] for sensor in sensors] == ["oil transducer", "oil transducer 2"]
    assert sensors[1]["points"] == sensors[0]["points"]
    app.client.post(f"/api/sensor-cards/{card.id}/set-aside")
    assert app.store.cards.all() == ()
    app.client.post(f"/api/sensor-cards/{card.id}/bring-back")
    assert len(app.store.cards.all()) == 1
