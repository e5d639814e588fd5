"""Edits of a job's document: one place at a time, saved at once, undone in steps."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from gaugewright.errors import InputError, Problem
from gaugewright.store.changes import Change, at, path_of
from gaugewright.store.lines import Kept
from gaugewright.web.bay import bay_of
from gaugewright.web.job_view import main_of
from gaugewright.web.values import shown_as_typed, typed
from gaugewright.web.who import device_of

router = APIRouter()
Place = Annotated[str, Field(max_length=200, pattern=r"^[a-z_]+(\.([a-z_]+|\d{1,4}|-))*$")]
Version = Annotated[int, Field(ge=0, le=2**53)]
REFUSED = ("format", "id")


class Edit(BaseModel):
    """One place of the document: what was there when it was looked at, and what shall be.

    `old_text` in place of `old`: what its field showed, where what stands there is no text.
    """

    place: Place
    old: Any = None
    old_text: str | None = None
    new: Any = None
    based_on: Version


class Row(BaseModel):
    """A new row for a repeated table (`limit`, `observation`, `recording.0.condition`, ...)."""

    place: Place
    row: dict[str, Any]
    based_on: Version


class Step(BaseModel):
    """A step back or forth from this version."""

    based_on: Version


class Saved(BaseModel):
    """The job as it is after an edit: its version, and its page's inner part as HTML."""

    version: int
    html: str


@router.post("/api/jobs/{job}/edit")
def edit(request: Request, job: str, stated: Edit) -> Saved:
    """Put a value at a place, or take it away (`new` empty or null)."""
    new = typed(stated.place, stated.new)
    old = stated.old if stated.old_text is None else _looked_at(request, job, stated)
    return _saved(request, job, _change(stated.place, old, new), stated.based_on)


def _looked_at(request: Request, job: str, stated: Edit) -> Any:
    """What stands at a place whose field showed `old_text`, else that text itself."""
    now = at(bay_of(request).store.job(job).tables, path_of(stated.place))
    old = typed(stated.place, stated.old_text)
    same = shown_as_typed(now).strip() == (stated.old_text or "").strip() or old == now
    return now if same else old


@router.post("/api/jobs/{job}/rows")
def add_row(request: Request, job: str, stated: Row) -> Saved:
    """Append a row to a repeated table."""
    row = {key: typed(f"{stated.place}.0.{key}", value) for key, value in stated.row.items()}
    kept = with_points({key: value for key, value in row.items() if value is not None})
    return _saved(request, job, _change(f"{stated.place}.-", None, kept), stated.based_on)


@router.post("/api/jobs/{job}/rows/remove")
def remove_row(request: Request, job: str, stated: Edit) -> Saved:
    """Take a row away; `old` is the row as it was looked at.  Undo brings it back."""
    if not stated.place.rpartition(".")[2].isdecimal():
        found = f'found "{stated.place}", which is no row'
        raise InputError(Problem("job.toml", stated.place, found, "name a table and a number"))
    return _saved(request, job, _change(stated.place, stated.old, None), stated.based_on)


@router.post("/api/jobs/{job}/undo")
def undo(request: Request, job: str, stated: Step) -> Saved:
    """Take back the latest edit."""
    kept = bay_of(request).store.undo(job, stated.based_on, device_of(request))
    return _answer(request, kept)


@router.post("/api/jobs/{job}/redo")
def redo(request: Request, job: str, stated: Step) -> Saved:
    """Do again what the latest undo took back."""
    kept = bay_of(request).store.redo(job, stated.based_on, device_of(request))
    return _answer(request, kept)


@router.post("/api/jobs/{job}/set-aside")
def set_aside(request: Request, job: str) -> dict[str, bool]:
    """Put a job away from the list; nothing of it is deleted."""
    bay_of(request).store.set_aside(job)
    return {"set_aside": True}


@router.post("/api/jobs/{job}/bring-back")
def bring_back(request: Request, job: str) -> dict[str, bool]:
    """Put a job back on the list."""
    bay_of(request).store.bring_back(job)
    return {"set_aside": False}


def with_points(row: dict[str, Any]) -> dict[str, Any]:
    """The row with its typed points, "0.5 V = 0 bar" each, as the pairs of the job format."""
    typed_points = [row.pop(key) for key in ("point1", "point2") if key in row]
    pairs = [[end.strip() for end in str(point).split("=", 1)] for point in typed_points]
    for point, pair in zip(typed_points, pairs, strict=True):
        if len(pair) != 2:
            remedy = "write the output, an equals sign and what it means, such as 0.5 V = 0 bar"
            raise InputError(Problem("job.toml", "point", f'found "{point}"', remedy))
    return {**row, "points": pairs} if pairs else row


def _change(place: str, old: Any, new: Any) -> Change:
    if place.split(".")[0] in REFUSED:
        found = f'found "{place}", which the app keeps itself'
        raise InputError(Problem("job.toml", place, found, "leave it as it is"))
    return Change(place, old, new)


def _saved(request: Request, job: str, change: Change, based_on: int) -> Saved:
    store = bay_of(request).store
    changes = [*_missing_owner(store, job, change), change]
    kept = store.edit(job, changes, based_on, device_of(request))
    return _answer(request, kept)


def _missing_owner(store: Any, job: str, change: Change) -> list[Change]:
    """What an edit needs beside it: the first visit, stated, where its date is typed into a job
    without visits; that visit's name wherever it was silent, where another visit is added."""
    if change.place == "visit.-":
        return _silent_ones(store.job(job).tables)
    path = path_of(change.place)
    if path[:2] != ("visit", 0) or len(path) < 3 or change.new is None:
        return []
    if at(store.job(job).tables, ("visit", 0)) is not None:
        return []
    return [Change("visit.-", None, {"name": "first"})]


OF_A_VISIT = ("recording", "reading", "observation", "work")


def _silent_ones(tables: Any) -> list[Change]:
    """What was silent on its visit while there was one belongs to that, once another comes."""
    first = at(tables, ("visit", 0, "name"))
    if first is None:
        return []
    return [
        Change(f"{table}.{row}.visit", None, str(first))
        for table in OF_A_VISIT
        for row, entry in enumerate(at(tables, (table,)) or ())
        if "visit" not in entry
    ]


def _answer(request: Request, kept: Kept) -> Saved:
    return Saved(version=kept.version, html=str(main_of(request, kept)))
