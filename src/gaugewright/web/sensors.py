"""The sensor cards: points beside a hand gauge, their line, and where it can be trusted."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response
from markupsafe import Markup
from pydantic import BaseModel, Field

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import Sensor
from gaugewright.quantities.units import split
from gaugewright.store.changes import Change
from gaugewright.store.lines import Kept
from gaugewright.web import sensors_kept
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.recording_case import Read
from gaugewright.web.recording_room import room_of, words_of_bay
from gaugewright.web.sensors_card import card_of, quantity_of
from gaugewright.web.sensors_drawing import line_picture, off_picture
from gaugewright.web.sensors_told import shown_as, told_card
from gaugewright.web.templating import fragment, page
from gaugewright.web.values import typed
from gaugewright.web.who import device_of

router = APIRouter()
router.include_router(sensors_kept.router)
ROOT = "/api/jobs/{job}/sensors/{number}"
Number = Annotated[int, Field(ge=0, le=9999)]
Version = Annotated[int, Field(ge=0, le=2**53)]
Short = Annotated[str, Field(max_length=80)]
KEYS = ("name", "reference", "point_uncertainty", "points_common", "accuracy", "range", "supply")


class Point(BaseModel):
    """A point read beside a hand gauge: the sensor's output, and the gauge's value."""

    output: Short
    value: Short
    version: Version


class Gone(BaseModel):
    """A point to be taken away; `old` is what stands for it."""

    number: Number
    old: list[Short]
    version: Version


class Stated(BaseModel):
    """What is stated of the sensor under one key."""

    key: Short
    old: Any = None
    new: Short | None = None
    version: Version


@router.get("/sensors", response_class=HTMLResponse, include_in_schema=False)
def sensors_page(request: Request) -> HTMLResponse:
    """The sensors kept for the workshop, and those of the jobs in the house."""
    bay = bay_of(request)
    lines = bay.store.jobs()
    jobs = [bay.store.job(line.id) for line in lines]
    rows = [
        (kept, number, sensor, quantity_of(kept.model, sensor.name))
        for kept in jobs
        for number in range(len(kept.tables.get("sensor") or []))
        for sensor in (_sensor(kept, number),)
    ]
    return page(
        request,
        "sensors.html",
        w=words_of_bay(bay),
        rows=rows,
        cards=bay.store.cards.all(),
        aside=bay.store.cards.all(set_aside=True),
        jobs=lines,
    )


@router.get("/jobs/{job}/sensors/{number}", response_class=HTMLResponse, include_in_schema=False)
def sensor_page(request: Request, job: str, number: Number) -> HTMLResponse:
    """The card of one sensor of a job."""
    bay = bay_of(request)
    kept = bay.store.job(job)
    sensor = _sensor(kept, number)
    card = _card(request, kept, number, _read(bay, kept))
    fields = [(key, kept.tables["sensor"][number].get(key)) for key in KEYS[2:]]
    return page(
        request, "sensor.html", w=words_of_bay(bay), kept=kept, number=number, sensor=sensor,
        card=card, fields=fields, ready=_read(bay, kept) is not None,
    )  # fmt: skip


@router.get(f"{ROOT}/card")
def card(request: Request, job: str, number: Number) -> Response:
    """The card's inner part; 202 while the job's recordings are still being read."""
    bay = bay_of(request)
    kept = bay.store.job(job)
    read = _read(bay, kept)
    return _answer(request, kept, number, read, 202 if read is None and _has_files(kept) else 200)


@router.post(f"{ROOT}/points")
def add_point(request: Request, job: str, number: Number, stated: Point) -> Response:
    """Add a point; a bare number takes the unit of the points that are there."""
    kept = bay_of(request).store.job(job)
    sensor = _sensor(kept, number)
    units = [split(part.text)[1] for part in sensor.points[0]] if sensor.points else ["V", "kPa"]
    texts = [stated.output, stated.value]
    point = [_with_unit(text, unit) for text, unit in zip(texts, units, strict=True)]
    change = Change(f"sensor.{number}.points.-", None, point)
    return _edited(request, kept, number, change, stated.version)


@router.post(f"{ROOT}/points/take-out")
def take_point_out(request: Request, job: str, number: Number, stated: Gone) -> Response:
    """Take a point away; undo brings it back."""
    kept = bay_of(request).store.job(job)
    change = Change(f"sensor.{number}.points.{stated.number}", stated.old, None)
    return _edited(request, kept, number, change, stated.version)


@router.post(f"{ROOT}/state")
def state_of_sensor(request: Request, job: str, number: Number, stated: Stated) -> Response:
    """State something of the sensor: its uncertainties, range, supply."""
    if stated.key not in KEYS:
        found = f'found "{stated.key}"'
        raise InputError(Problem("job.toml", "sensor", found, f"use one of {', '.join(KEYS)}"))
    kept = bay_of(request).store.job(job)
    place = f"sensor.{number}.{stated.key}"
    change = Change(place, stated.old, typed(place, stated.new or ""))
    return _edited(request, kept, number, change, stated.version)


@router.post(f"{ROOT}/undo")
def undo_on_card(request: Request, job: str, number: Number, version: Version = 0) -> Response:
    """Take back the latest edit of the job."""
    kept = bay_of(request).store.undo(job, version, device_of(request))
    return _answer(request, kept, number, _read(bay_of(request), kept), 200)


def _sensor(kept: Kept, number: int) -> Sensor:
    """A sensor by its number in the document; one that states no points yet has none."""
    rows = kept.tables.get("sensor") or []
    if number >= len(rows):
        have = ", ".join(str(row.get("name")) for row in rows) or "none"
        found = f"there is no sensor {number}"
        raise InputError(
            Problem(f"job {kept.number}", f"sensor {number}", found, f"there are: {have}")
        )
    name = str(rows[number].get("name", ""))
    known = next((sensor for sensor in kept.model.sensors if sensor.name == name), None)
    return known or Sensor.model_construct(name=name, points=())


def _has_files(kept: Kept) -> bool:
    return any(entry.signals for entry in kept.model.recordings)


def _read(bay: Bay, kept: Kept) -> Read | None:
    """The job's recordings where they can be read and are; a card stands without them too."""
    if not _has_files(kept):
        return None
    try:
        return room_of(bay).read(kept)
    except InputError:
        return None


def _card(request: Request, kept: Kept, number: int, read: Read | None) -> Markup:
    bay = bay_of(request)
    words, preferences = words_of_bay(bay), bay.preferences()
    made = card_of(kept.model, _sensor(kept, number), read)
    told = told_card(made, preferences, words)
    how = shown_as(made, preferences)
    pictures: dict[str, Markup] = {}
    if made.calibration is not None:
        up = words("sensors.axis-up", quantity=told.quantity or told.name, unit=how.unit)
        along = words("sensors.axis-along", unit=made.unit)
        pictures["line"] = line_picture(made, how, told.ink, along, up)
        pictures["off"] = off_picture(made, how, told.ink, words("sensors.off", unit=how.unit))
    engine_off = next((k for k, e in enumerate(kept.model.recordings) if e.signals), None)
    return fragment(
        request, "sensor-card.html", w=words, card=told, pictures=pictures, kept=kept,
        recording=engine_off, like=_like(made.sensor),
    )  # fmt: skip


def _like(sensor: Sensor) -> tuple[str, str]:
    """What a point looks like, for the fields in which one is typed."""
    if not sensor.points:
        return "1.25 V", "2 kPa"
    return sensor.points[-1][0].text, sensor.points[-1][1].text


def _with_unit(text: str, unit: str) -> str:
    """The text as it is, or with this unit where it is a bare number; commas become points."""
    said = text.strip().replace("\u2212", "-")
    bare = said.replace(",", ".")
    try:
        float(bare)
    except ValueError:
        return said
    return f"{bare} {unit}"


def _edited(request: Request, kept: Kept, number: int, change: Change, version: int) -> Response:
    bay = bay_of(request)
    what = words_of_bay(bay)("sensors.edited", name=_sensor(kept, number).name)
    after = bay.store.edit(kept.id, change, version, device_of(request), what)
    return _answer(request, after, number, _read(bay, after), 200)


def _answer(request: Request, kept: Kept, number: int, read: Read | None, status: int) -> Response:
    waits = read is None and _has_files(kept)
    content = {
        "version": kept.version,
        "html": str(_card(request, kept, number, read)),
        "waits": waits,
    }
    return JSONResponse(content, status)
