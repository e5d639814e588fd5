"""Sensors kept for the workshop: put by from one job, taken into another."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, Field

from gaugewright.errors import InputError, Problem
from gaugewright.web.bay import bay_of
from gaugewright.web.recording_room import words_of_bay
from gaugewright.web.who import device_of

router = APIRouter()
Name = Annotated[str, Field(max_length=80)]


class Into(BaseModel):
    """The job that a kept sensor is copied into."""

    job: Name


@router.post("/api/jobs/{job}/sensors/{number}/keep")
def keep(request: Request, job: str, number: Annotated[int, Field(ge=0, le=9999)]) -> Response:
    """Keep a job's sensor for the workshop: a new card, or the next version of its name's."""
    bay = bay_of(request)
    kept = bay.store.job(job)
    rows = kept.tables.get("sensor") or []
    if number >= len(rows):
        found = f"there is no sensor {number}"
        raise InputError(Problem(f"job {kept.number}", "sensor", found, "load the job again"))
    row = rows[number]
    known = next((card for card in bay.store.cards.all() if card.name == row.get("name")), None)
    if known is None:
        card = bay.store.cards.save(row)
    else:
        card = bay.store.cards.save(row, known.id, known.version)
    key = "sensors.kept" if known is None else "sensors.kept-again"
    return JSONResponse({"said": words_of_bay(bay)(key, name=card.name)})


@router.post("/api/sensor-cards/{card}/into")
def into(request: Request, card: str, stated: Into) -> Response:
    """Copy a kept sensor into a job, as its own; says where its card is."""
    bay = bay_of(request)
    kept = bay.store.job(stated.job)
    change = bay.store.cards.into_job(card, kept.tables)
    what = words_of_bay(bay)("sensors.edited", name=change.new["name"])
    after = bay.store.edit(kept.id, change, kept.version, device_of(request), what)
    number = len(after.tables["sensor"]) - 1
    return JSONResponse({"address": f"/jobs/{kept.id}/sensors/{number}"})


@router.post("/api/sensor-cards/{card}/set-aside")
def set_aside(request: Request, card: str) -> Response:
    """Put a kept sensor away; nothing of it is deleted."""
    bay = bay_of(request)
    bay.store.cards.set_aside(card)
    return JSONResponse({"said": words_of_bay(bay)("sensors.put-away")})


@router.post("/api/sensor-cards/{card}/bring-back")
def bring_back(request: Request, card: str) -> Response:
    """Put a kept sensor back on the list."""
    bay = bay_of(request)
    bay.store.cards.set_aside(card, False)
    return JSONResponse({"said": words_of_bay(bay)("sensors.back-again")})
