"""The list of jobs, and a new one."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, Field

from gaugewright.store.lines import PARTS, JobLine
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.templating import page
from gaugewright.web.who import device_of

router = APIRouter()
MOST_TEXT = 20_000


@router.get("/", response_class=HTMLResponse, include_in_schema=False)
def jobs_page(request: Request, away: bool = False) -> HTMLResponse:
    """The list of jobs; with `away`, those that were set aside."""
    bay = bay_of(request)
    lines = bay.store.jobs(set_aside=away)
    names = tuple(bay.words.within(bay.words(f"part.{name}")) for name in PARTS)
    return page(
        request,
        "jobs.html",
        lines=lines,
        away=away,
        others=len(bay.store.jobs(set_aside=not away)),
        names=names,
        parts=PARTS,
        next_of=lambda line: next_says(line, bay),
        states_of=lambda line: tuple(line.parts.get(n, "waiting") for n in PARTS),
        thread_says=lambda line: thread_says(line, bay),
    )


@router.get("/new", response_class=HTMLResponse, include_in_schema=False)
def new_page(request: Request) -> HTMLResponse:
    """The few words that a job begins with."""
    return page(request, "new.html")


def next_says(line: JobLine, bay: Bay) -> str:
    """Where a job of the list goes on, in a few words."""
    words = bay.words
    for name in PARTS:
        if line.parts.get(name) in ("begun", "missing"):
            return words(f"next.{name}")
    return words("next.none")


def thread_says(line: JobLine, bay: Bay) -> str:
    """A job's thread for someone who cannot see it."""
    words = bay.words
    states = {name: line.parts.get(name, "waiting") for name in PARTS}
    return ", ".join(f"{words(f'part.{n}')}: {words(f'state.{s}')}" for n, s in states.items())


Text = Annotated[str, Field(max_length=MOST_TEXT)]


class NewJob(BaseModel):
    """What a new job begins with; empty texts are left out."""

    title: Annotated[str, Field(max_length=300)]
    cylinders: Annotated[int, Field(ge=1, le=16)] = 4
    cycle: str = "four-stroke"
    complaint: Text = ""
    vehicle: Annotated[str, Field(max_length=300)] = ""
    oil_grade: Annotated[str, Field(max_length=40)] = ""
    fuel: Annotated[str, Field(max_length=40)] = ""
    ignition: Annotated[str, Field(max_length=40)] = ""


class Made(BaseModel):
    """A job that was made or taken in, and where its page is."""

    id: str
    number: int
    version: int
    page: str


@router.post("/api/jobs", status_code=201)
def make_job(request: Request, stated: NewJob) -> Made:
    """Make a new job."""
    more = {
        "name": stated.vehicle,
        "oil_grade": stated.oil_grade,
        "fuel": stated.fuel,
        "ignition": stated.ignition,
    }
    kept = bay_of(request).store.new_job(
        stated.title.strip(),
        stated.cylinders,
        stated.cycle,
        complaint=stated.complaint.strip(),
        device=device_of(request),
        **{key: text.strip() for key, text in more.items() if text.strip()},
    )
    return Made(id=kept.id, number=kept.number, version=kept.version, page=f"/jobs/{kept.id}")
