"""Recordings brought to a job: put aside first, mapped column by column, then kept."""

from __future__ import annotations

import secrets
import shutil
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request, UploadFile
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, Field

from gaugewright.errors import InputError, Problem
from gaugewright.job.folder import JOB_FILE
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.looked_at import How, how_from, look_at, names_in
from gaugewright.web.parts.gaps import rows, visits
from gaugewright.web.take_in import put_down
from gaugewright.web.templating import page
from gaugewright.web.who import device_of

router = APIRouter()
Short = Annotated[str, Field(max_length=300)]
MOST_WAITING = 16


@dataclass
class Brought:
    """Files that wait to be mapped to one job."""

    job: str
    room: Path
    files: list[Path] = field(default_factory=list)


class Where(BaseModel):
    """Where the page is that goes on from here."""

    page: str


class Signal(BaseModel):
    """One column and what it measures, in a unit or through a sensor."""

    column: Short
    quantity: Short
    unit: Short = ""
    sensor: Short = ""
    reference: Short = ""
    supply: Short = ""


class Mapping(BaseModel):
    """How one file shall be kept."""

    file: Short
    name: Short
    visit: Short = ""
    rate: Short = ""
    time: Short = ""
    clock_offset: Short = ""
    header_row: Annotated[int, Field(ge=1, le=100_000)] | None = None
    decimal: Literal["", ".", ","] = ""
    signals: Annotated[list[Signal], Field(max_length=200)]
    based_on: int


@router.post("/api/jobs/{job}/files")
def bring(request: Request, job: str, files: list[UploadFile]) -> Where:
    """Bring recording files to a job; they wait until they are mapped."""
    bay = bay_of(request)
    bay.store.job(job)
    room = Path(tempfile.mkdtemp(prefix="gaugewright-brought-"))
    try:
        put = put_down(files, room)
        _refuse_jobs(put)
    except BaseException:
        shutil.rmtree(room, ignore_errors=True)
        raise
    ticket = secrets.token_urlsafe(12)
    _keep(bay, ticket, Brought(job, room, put))
    return Where(page=f"/jobs/{job}/brought/{ticket}")


@router.get("/jobs/{job}/brought/{ticket}", response_class=HTMLResponse, include_in_schema=False)
def mapping_page(
    request: Request,
    job: str,
    ticket: str,
    time: Short = "",
    header_row: Annotated[str, Field(pattern=r"^\d{0,6}$")] = "",
    decimal: Literal["", ".", ","] = "",
) -> HTMLResponse:
    """The next file that waits: guesses on its first rows, to be put right.

    The query says how to read it where the guesses are wrong.
    """
    bay = bay_of(request)
    kept = bay.store.job(job)
    brought = _brought(bay, job, ticket)
    path = brought.files[0]
    sensors = [str(row.get("name", "")) for row in rows(kept.tables, "sensor")]
    known = _remembered(bay, path)
    asked = How(time, int(header_row) or None if header_row else None, decimal)
    how = asked if asked.stated else how_from(known)
    fill: dict[str, Any] = {"wrong": (), "file": None, "how": how}
    try:
        fill["file"] = look_at(path, sensors, known, how)
    except InputError as error:
        from gaugewright.web.answers import sentences

        fill["wrong"] = sentences(error.problems)
    names = visits(kept.tables)
    return page(
        request,
        "mapping.html",
        kept=kept,
        ticket=ticket,
        file_name=path.name,
        sensors=sensors,
        visits=names,
        waiting=len(brought.files) - 1,
        proposed=_free_name(
            path.stem, [str(r.get("name")) for r in rows(kept.tables, "recording")]
        ),
        quantities=QUANTITIES,
        **fill,
    )


@router.post("/api/jobs/{job}/brought/{ticket}/keep")
def keep(request: Request, job: str, ticket: str, stated: Mapping) -> Where:
    """Keep a file as a recording of the job, mapped as stated."""
    bay = bay_of(request)
    brought = _brought(bay, job, ticket)
    path = _file(brought, stated.file)
    entry = _entry(stated)
    kept = bay.store.add_recording(
        job, stated.name.strip(), path, entry, stated.based_on, device=device_of(request)
    )
    again = {key: entry[key] for key in ("rate", "time", "text", "signal") if key in entry}
    bay.store.layouts.remember(names_in(path), again, stated.name.strip())
    _done(bay, ticket, path)
    if brought.files:
        return Where(page=f"/jobs/{job}/brought/{ticket}")
    added = len(rows(kept.tables, "recording")) - 1
    return Where(page=f"/jobs/{job}/recordings/{added}")


@router.post("/api/jobs/{job}/brought/{ticket}/skip")
def skip(request: Request, job: str, ticket: str, stated: Where) -> Where:
    """Leave a file out that was brought; `page` names it."""
    bay = bay_of(request)
    brought = _brought(bay, job, ticket)
    _done(bay, ticket, _file(brought, stated.page))
    return Where(page=f"/jobs/{job}/brought/{ticket}" if brought.files else f"/jobs/{job}")


def _entry(stated: Mapping) -> dict[str, Any]:
    """The keys of the [[recording]] entry that the mapping gives."""
    entry: dict[str, Any] = {
        key: value.strip()
        for key in ("visit", "rate", "time", "clock_offset")
        if (value := getattr(stated, key)).strip()
    }
    if text := How("", stated.header_row, stated.decimal).text:
        entry["text"] = text
    signals = [s for s in stated.signals if s.quantity]
    if not signals:
        found = "no column was given a quantity"
        raise InputError(Problem("the file", "", found, "say for one column what it measures"))
    entry["signal"] = [
        {key: text.strip() for key, text in signal.model_dump().items() if text.strip()}
        for signal in signals
    ]
    return entry


def _free_name(stem: str, taken: list[str]) -> str:
    name = stem.replace("_", " ").replace("-", " ")
    number, free = 2, name
    while free in taken:
        free, number = f"{name} {number}", number + 1
    return free


def _refuse_jobs(put: list[Path]) -> None:
    if any(path.name == JOB_FILE for path in put):
        found = f"found a {JOB_FILE}: this is a whole job"
        raise InputError(Problem("what was brought", "", found, "bring it in on the list of jobs"))


def _remembered(bay: Bay, path: Path) -> dict[str, Any]:
    """How a file with these columns was mapped before; nothing where it was not."""
    found = bay.store.layouts.recall(names_in(path))
    return {} if found is None else dict(found.mapping)


def _keep(bay: Bay, ticket: str, brought: Brought) -> None:
    waiting: dict[str, Brought] = bay.rooms.setdefault("brought", {})
    while len(waiting) >= MOST_WAITING:
        gone = waiting.pop(next(iter(waiting)))
        shutil.rmtree(gone.room, ignore_errors=True)
    waiting[ticket] = brought


def _brought(bay: Bay, job: str, ticket: str) -> Brought:
    found: Brought | None = bay.rooms.get("brought", {}).get(ticket)
    if found is None or found.job != job or not found.files:
        said = "these files no longer wait here"
        raise InputError(Problem(f"job {job}", "", said, "bring them in again"))
    return found


def _file(brought: Brought, name: str) -> Path:
    path = next((p for p in brought.files if p.name == name), None)
    if path is None:
        found = f'found "{name[:80]}", which does not wait here'
        raise InputError(Problem("the file", "", found, "load the page again"))
    return path


def _done(bay: Bay, ticket: str, path: Path) -> None:
    brought: Brought = bay.rooms["brought"][ticket]
    brought.files.remove(path)
    if not brought.files:
        bay.rooms["brought"].pop(ticket, None)
        shutil.rmtree(brought.room, ignore_errors=True)
