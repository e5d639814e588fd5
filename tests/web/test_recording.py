"""The recording page: readings as the whole analysis has them, stretches moved and named."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugewright.web.lanes import HEAD
from gaugewright.web.recording_case import DRAFT, Setout, weighed
from gaugewright.web.recording_room import room_of
from gaugewright.web.recording_words import words_for

sys.path.insert(0, str(Path(__file__).parent))
from recording_made import LATER_S, Opened, opened_app, small_folder  # noqa: F401


def read_of(app: Opened) -> Any:
    read = room_of(app.bay).read(app.kept, wait=True)
    return read, read.sensed(app.kept.model.recordings[0])


def test_the_page_reads_what_the_whole_analysis_reads(app: Opened) -> None:
    findings, _ = weighed(*read_of(app))
    whole = app.store.findings(app.job, causes=False).findings
    assert {(r.condition, r.quantity) for r in findings.readings} >= {("as found", "oil-pressure")}
    assert findings.readings == whole.readings
    assert findings.matches == whole.matches
    assert findings.limit_checks == whole.limit_checks


def test_a_stretch_set_out_reads_like_the_same_stretch_named(app: Opened) -> None:
    read, main = read_of(app)
    findings, _ = weighed(read, main, Setout(4.2, 13.8, ("nothing",)))
    mine = [r for r in findings.readings if r.condition == DRAFT]
    named = [r for r in findings.readings if r.condition == "as found"]
    assert [(r.quantity, r.reference) for r in mine] == [(r.quantity, r.reference) for r in named]
    np.testing.assert_allclose([r.value for r in mine], [r.value for r in named], rtol=1e-9)


def test_the_lanes_of_both_loggers_stand_on_one_clock(app: Opened) -> None:
    state = app.get("state")
    names = [lane["quantity"] for lane in state["lanes"]]
    assert names == ["oil-pressure", "crankcase-pressure", "engine-speed", "ignition"]
    query = {"begin": 0.0, "finish": state["end"], "columns": 400}
    body = app.client.get(app.at("window"), params=query).content
    values = np.frombuffer(body, "<f4", offset=HEAD.size).reshape(4, 400, 3)
    middle = (np.arange(400) + 0.5) * state["end"] / 400
    found = (middle > 4.5) & (middle < 13.5)
    off = middle > 14.5
    assert np.nanmean(values[1, found, 2]) == pytest.approx(11.0, abs=0.2)
    assert np.nanmean(values[1, off, 2]) == pytest.approx(1.0, abs=0.2)


def test_readings_come_with_what_stands_on_the_lanes(app: Opened) -> None:
    told = app.get("readings")
    oil = next(v for k, v in told["lanes"].items() if k.startswith("oil-pressure"))
    as_found = next(m for m in oil["means"] if 4.0 < m["from"] < 5.0)
    assert float(as_found["text"]) == pytest.approx(as_found["value"], abs=0.5)
    assert as_found["value"] == pytest.approx(95.0, abs=1.5)
    assert {wall["value"] for wall in oil["walls"]} == {90.0}
    assert "matched with as found" in told["html"]
    assert told["draft"] == ""


def test_readings_of_a_stretch_set_out_come_as_its_own_block(app: Opened) -> None:
    told = app.get("readings", **{"from": 15.0, "to": 20.0, "did": "filler-cap-off"})
    assert re.search(r"\d+ cycles at", told["draft"])
    assert told["said"].startswith("New condition")
    named = app.get("readings", **{"from": 0.5, "to": 0.6})
    assert "no whole cycle" in named["draft"]


def test_moving_an_edge_moves_it_in_both_recordings(app: Opened) -> None:
    stretch = app.stretch("as found")
    answer = app.post("move", key=stretch["key"], **{"from": 5.0, "to": 13.0}, old=stretch["old"])
    assert answer.status_code == 200, answer.text
    assert (app.row("as found", 0)["from"], app.row("as found", 0)["to"]) == ("5 s", "13 s")
    assert app.row("as found", 1)["from"] == f"{5 + LATER_S:g} s"
    undone = app.post("undo")
    assert undone.status_code == 200
    assert app.row("as found", 0)["from"] == stretch["old"][0]["from"]
    assert app.row("as found", 1)["from"] == stretch["old"][1]["from"]


def test_an_edge_that_another_moved_meanwhile_is_not_overwritten(app: Opened) -> None:
    stretch, version = app.stretch("as found"), app.kept.version
    first = app.post("move", key=stretch["key"], **{"from": 5.0, "to": 13.0}, old=stretch["old"])
    late = app.post(
        "move", key=stretch["key"], **{"from": 6.0, "to": 13.8}, old=stretch["old"], version=version
    )
    assert first.status_code == 200
    assert late.status_code == 409
    now = next(s for s in late.json()["conditions"] if s["name"] == "as found")
    assert (now["from"], app.row("as found", 0)["from"]) == (5.0, "5 s")


def test_naming_marks_every_recording_that_ran(app: Opened) -> None:
    stretch = app.stretch("cap off")
    app.post("take-out", key=stretch["key"], old=stretch["old"])
    times = {"from": 15.0, "to": 20.0}
    answer = app.post("name", **times, name="cap away", did=["filler-cap-off"])
    assert answer.status_code == 200, answer.text
    row = {"name": "cap away", "from": "15 s", "to": "20 s", "did": ["filler-cap-off"]}
    assert app.row("cap away", 0) == row
    assert app.row("cap away", 1)["from"] == f"{15 + LATER_S:g} s"


def test_a_stretch_over_another_is_refused_and_the_page_is_told_what_stands(app: Opened) -> None:
    answer = app.post("name", **{"from": 15.0, "to": 20.0}, name="x")
    assert answer.status_code == 422
    assert "let them follow one another" in answer.json()["sentence"]
    assert [s["name"] for s in answer.json()["conditions"]] == ["engine off", "as found", "cap off"]


def test_renaming_and_taking_out_reach_both_recordings(app: Opened) -> None:
    stretch = app.stretch("cap off")
    answer = app.post(
        "rename", key=stretch["key"], name="cap away", did=["filler-cap-off"], old=stretch["old"]
    )
    assert answer.status_code == 200, answer.text
    assert app.row("cap away", 1)["name"] == "cap away"
    again = app.stretch("cap away")
    gone = app.post("take-out", key=again["key"], old=again["old"])
    assert gone.status_code == 200
    assert "cap away" not in str(app.kept.tables["recording"])
    app.post("undo")
    assert app.row("cap away", 0)["did"] == ["filler-cap-off"]


def test_too_short_a_stretch_is_refused_in_a_sentence(app: Opened) -> None:
    answer = app.post("name", **{"from": 15.0, "to": 15.01}, name="x")
    assert answer.status_code == 422
    assert "set out a longer stretch" in answer.json()["sentence"]


def test_offers_leave_out_what_is_named_already(app: Opened) -> None:
    assert app.get("offers")["offers"] == []
    stretch = app.stretch("cap off")
    app.post("take-out", key=stretch["key"], old=stretch["old"])
    offers = app.get("offers")["offers"]
    assert len(offers) == 1
    assert offers[0]["from"] == pytest.approx(14.0, abs=1.5)
    assert offers[0]["to"] == pytest.approx(24.0, abs=1.5)


def test_what_is_not_there_is_said_in_a_sentence(app: Opened) -> None:
    missing = app.client.get(f"/api/jobs/{app.job}/recordings/7/state")
    assert missing.status_code == 404
    assert "there are: run, second" in missing.json()["sentence"]
    backwards = {"begin": 5.0, "finish": 4.0, "columns": 10}
    assert app.client.get(app.at("window"), params=backwards).status_code == 422


def test_the_page_holds_no_script_and_no_style_of_its_own(app: Opened) -> None:
    page = app.client.get(f"/jobs/{app.job}/recordings/0").text
    assert "<style" not in page
    assert " style=" not in page
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", page))
    assert "style=" not in app.get("readings")["html"]


def test_both_languages_have_the_same_texts_with_the_same_gaps() -> None:
    english, german = words_for("en").table, words_for("de").table
    assert english.keys() == german.keys()
    for key, text in english.items():
        assert set(re.findall(r"\{\w+\}", text)) == set(re.findall(r"\{\w+\}", german[key])), key


def test_every_module_of_the_page_is_short_enough_to_read() -> None:
    static = Path(words_for.__wrapped__.__code__.co_filename).parent / "static"
    for name in ("lanes", "sensors", "bench"):
        for module in (static / name).glob("*.js"):
            assert len(module.read_text().splitlines()) < 250, module.name


def test_the_head_of_a_page_comes_alone(app: Opened) -> None:
    for path in ("/", f"/jobs/{app.job}", "/static/base.css"):
        whole, head = app.client.get(path), app.client.head(path)
        assert head.status_code == whole.status_code == 200
        assert head.content == b""
        assert len(whole.content) > 100
        for name in ("content-type", "content-length", "content-security-policy"):
            assert head.headers.get(name) == whole.headers.get(name)
    endless = app.client.head(f"/api/jobs/{app.job}/events")
    assert endless.status_code == 405
