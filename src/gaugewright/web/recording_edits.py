"""Changes of a recording's conditions, each one edit of the job and one step of undo."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from pydantic import AfterValidator, BaseModel, Field, WithJsonSchema

from gaugewright.errors import EditedElsewhere, InputError
from gaugewright.job import words as job_words
from gaugewright.store.changes import Change
from gaugewright.web.answers import sentences
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.recording_marked import (
    Marked,
    found_by_key,
    marked,
    moved,
    named,
    renamed,
    taken_out,
)
from gaugewright.web.recording_room import Opened, opened, words_of_bay
from gaugewright.web.who import device_of

router = APIRouter()
FAR = 1e7
"""Seconds; no recording is longer."""
Seconds = Annotated[float, Field(ge=-FAR, le=FAR, allow_inf_nan=False)]
Version = Annotated[int, Field(ge=0, le=2**53)]


def _action(word: str) -> str:
    if word not in job_words.ACTIONS:
        raise ValueError(f"found the action {word!r}")
    return word


Action = Annotated[
    str,
    AfterValidator(_action),
    WithJsonSchema({"type": "string", "enum": list(job_words.ACTIONS)}),
]
Did = Annotated[list[Action], Field(max_length=12)]
Old = Annotated[list[dict[str, Any] | None], Field(max_length=40)]
ROOT = "/api/jobs/{job}/recordings/{place}"


class Step(BaseModel):
    """A step that rests on this version of the job."""

    version: Version


class Moved(Step):
    """A stretch whose edges were moved; `old` is what the document held for it."""

    key: Annotated[str, Field(max_length=40)]
    from_: Seconds = Field(alias="from")
    to: Seconds
    old: Old


class Named(Step):
    """A stretch that was set out and named."""

    from_: Seconds = Field(alias="from")
    to: Seconds
    name: Annotated[str, Field(min_length=1, max_length=80)]
    did: Did = Field(default_factory=lambda: ["nothing"])


class Renamed(Step):
    """A stretch that is named otherwise, or whose actions are stated otherwise."""

    key: Annotated[str, Field(max_length=40)]
    name: Annotated[str, Field(min_length=1, max_length=80)]
    did: Did
    old: Old


class TakenOut(Step):
    """A stretch that shall not be marked any more."""

    key: Annotated[str, Field(max_length=40)]
    old: Old


def ready(bay: Bay, job: str, place: str) -> Opened:
    """A recording, waited for until it is read."""
    found = opened(bay, job, place, wait=True)
    assert found is not None
    return found


def conditions_of(found: Opened) -> dict[str, Any]:
    """The job's version and the page's stretches, as the page takes them."""
    tables = found.kept.tables
    return {
        "version": found.kept.version,
        "conditions": [s.as_data(tables) for s in stretches_of(found)],
    }


def stretches_of(found: Opened) -> tuple[Marked, ...]:
    """The stretches of a recording's page."""
    return marked(found.kept, found.main, found.tracks)


@router.post(f"{ROOT}/move")
def move(request: Request, job: str, place: str, stated: Moved) -> Response:
    """Move the edges of a stretch."""
    found = ready(bay_of(request), job, place)
    stretch = found_by_key(stretches_of(found), stated.key)
    changes = moved(stretch, stated.from_, stated.to, _known(stated.old))
    return _save(request, found, changes, stated.version, "recording.moved", stretch.name)


@router.post(f"{ROOT}/name")
def name(request: Request, job: str, place: str, stated: Named) -> Response:
    """Mark the stretch that was set out as a condition."""
    found = ready(bay_of(request), job, place)
    changes = named(found.main, found.tracks, stated.from_, stated.to, stated.name, stated.did)
    return _save(request, found, changes, stated.version, "recording.named", stated.name)


@router.post(f"{ROOT}/rename")
def rename(request: Request, job: str, place: str, stated: Renamed) -> Response:
    """Name a stretch otherwise, or state otherwise what was done."""
    found = ready(bay_of(request), job, place)
    stretch = found_by_key(stretches_of(found), stated.key)
    changes = renamed(stretch, stated.name, stated.did, _known(stated.old))
    return _save(request, found, changes, stated.version, "recording.renamed", stated.name)


@router.post(f"{ROOT}/take-out")
def take_out(request: Request, job: str, place: str, stated: TakenOut) -> Response:
    """Take a stretch's mark away; undo brings it back."""
    found = ready(bay_of(request), job, place)
    stretch = found_by_key(stretches_of(found), stated.key)
    changes = taken_out(stretch, _known(stated.old))
    return _save(request, found, changes, stated.version, "recording.taken-out", stretch.name)


@router.post(f"{ROOT}/undo")
def undo(request: Request, job: str, place: str, stated: Step) -> Response:
    """Take back the latest edit of the job."""
    bay = bay_of(request)
    bay.store.undo(job, stated.version, device_of(request))
    what = next((e.what for e in bay.store.history(job) if e.kind == "undo"), "")
    said = words_of_bay(bay)("recording.undone", what=what)
    return JSONResponse({**conditions_of(ready(bay, job, place)), "said": said})


def _known(old: Sequence[dict[str, Any] | None]) -> list[dict[str, Any]]:
    return [row or {} for row in old]


def _save(
    request: Request, found: Opened, changes: list[Change], version: int, key: str, name: str
) -> Response:
    bay = bay_of(request)
    said = words_of_bay(bay)(key, name=name)
    job, place = found.kept.id, str(found.main.number)
    try:
        if changes:
            bay.store.edit(job, changes, version, device_of(request), said)
    except (EditedElsewhere, InputError) as error:
        told = sentences(error.problems)
        content = {"sentence": told[0], "sentences": told, **conditions_of(ready(bay, job, place))}
        return JSONResponse(content, 409 if isinstance(error, EditedElsewhere) else 422)
    return JSONResponse({**conditions_of(ready(bay, job, place)), "said": said})
