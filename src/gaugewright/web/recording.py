"""The recording page: lanes over one clock, conditions set out on them, readings beside."""

from __future__ import annotations

import math
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response

from gaugewright.errors import InputError, Problem
from gaugewright.job import words as job_words
from gaugewright.report import display
from gaugewright.web import lanes, recording_edits
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.recording_case import Setout
from gaugewright.web.recording_edits import ROOT, Seconds, conditions_of, ready, stretches_of
from gaugewright.web.recording_offers import free_stretches
from gaugewright.web.recording_room import Opened, opened, room_of, words_of_bay
from gaugewright.web.recording_told import told
from gaugewright.web.recording_tracks import entry_of
from gaugewright.web.templating import fragment, page
from gaugewright.web.wording import Words

router = APIRouter()
router.include_router(recording_edits.router)


@router.get("/jobs/{job}/recordings/{place}", response_class=HTMLResponse, include_in_schema=False)
def recording_page(request: Request, job: str, place: str) -> HTMLResponse:
    """The page of one recording; its lanes follow as soon as they are read."""
    bay = bay_of(request)
    kept = bay.store.job(job)
    number, entry = entry_of(kept, place)
    words = words_of_bay(bay)
    visit = next((v for v in kept.model.visits if v.name == entry.visit), None)
    return page(
        request,
        "recording.html",
        w=words,
        kept=kept,
        number=number,
        entry=entry,
        visit=visit,
        actions=[(a, words.of("recording.did", a)) for a in job_words.ACTIONS],
    )


@router.get(f"{ROOT}/state")
def state(request: Request, job: str, place: str) -> Response:
    """Lanes, clock and conditions of a recording's page; 202 while it is being read."""
    bay = bay_of(request)
    found = opened(bay, job, place)
    if found is None:
        return _reading(bay, job, place)
    return JSONResponse(
        {
            "start": found.shown.start_s,
            "end": found.shown.end_s,
            "least": found.shown.least_s,
            "cycle": found.shown.cycle_s,
            "cycles": found.shown.cycles,
            "lanes": [info.as_data() for info in found.shown.infos],
            "texts": words_of_bay(bay).group("recording.script"),
            **conditions_of(found),
        }
    )


def _reading(bay: Bay, job: str, place: str) -> JSONResponse:
    """How far the reading is, for a page that asks again."""
    kept = bay.store.job(job)
    stage = room_of(bay).stage(kept, entry_of(kept, place)[1].visit)
    words = words_of_bay(bay)
    said = words("recording.reading", stage=stage) if stage else words("recording.opening")
    return JSONResponse({"sentence": said}, 202)


@router.get(f"{ROOT}/window", response_class=Response)
def window(
    request: Request,
    job: str,
    place: str,
    begin: Seconds,
    finish: Seconds,
    columns: Annotated[int, Query(ge=1, le=lanes.MOST_COLUMNS)],
) -> Response:
    """Every lane between two instants in so many columns, in binary (see the lanes module)."""
    if not finish > begin:
        found = f"the window ends at {finish} s, not after its begin at {begin} s"
        raise InputError(Problem("window", "finish", found, "give a later end"))
    shown = ready(bay_of(request), job, place).shown
    body = lanes.answer(shown.lanes, begin, finish, columns)
    return Response(body, media_type="application/octet-stream")


@router.get(f"{ROOT}/readings")
def readings(
    request: Request,
    job: str,
    place: str,
    from_: Annotated[Seconds | None, Query(alias="from")] = None,
    to: Seconds | None = None,
    did: Annotated[str, Query(max_length=200)] = "nothing",
) -> Response:
    """The readings of a recording's visit, with those of a stretch that is being set out."""
    bay = bay_of(request)
    found = opened(bay, job, place)
    read = None if found is None else room_of(bay).read(found.kept)
    if found is None or read is None:
        return _reading(bay, job, place)
    words = words_of_bay(bay)
    setout = _setout(found, from_, to, did)
    made = told(found, read, setout, bay.preferences(), words)
    draft = fragment(request, "recording-block.html", w=words, block=made.draft) if setout else ""
    return JSONResponse(
        {
            "version": found.kept.version,
            "html": fragment(request, "recording-readings.html", w=words, blocks=made.blocks),
            "draft": str(draft),
            "lanes": made.lanes,
            "left_out": made.left_out,
            "said": made.said,
        }
    )


def _setout(found: Opened, from_: float | None, to: float | None, did: str) -> Setout | None:
    if from_ is None or to is None or not to > from_:
        return None
    actions = tuple(word for word in did.split() if word in job_words.ACTIONS)
    begin, finish = found.shown.start_s, found.shown.end_s
    if not math.isfinite(from_ + to) or to <= begin or from_ >= finish:
        return None
    return Setout(max(from_, begin), min(to, finish), actions or ("nothing",))


@router.get(f"{ROOT}/offers")
def offers(request: Request, job: str, place: str) -> dict[str, Any]:
    """Stretches that look as if the engine was held one way, where none is marked yet."""
    bay = bay_of(request)
    found = ready(bay, job, place)
    words = words_of_bay(bay)
    stretches = stretches_of(found)
    read = room_of(bay).read(found.kept, wait=True)
    assert read is not None
    free = free_stretches(read, read.sensed(found.entry), stretches)
    said = words.count("recording.offers", len(free)) if free else words("recording.no-offers")
    return {
        "said": said,
        "offers": [
            {
                "from": round(a, 2),
                "to": round(b, 2),
                "said": _offered(words, a, b),
            }
            for a, b in free
        ],
    }


def _offered(words: Words, begin_s: float, end_s: float) -> str:
    begin, end = display.digits(begin_s, 1), display.digits(end_s, 1)
    return words("recording.offer", begin=begin, end=end)
