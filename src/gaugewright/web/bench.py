"""The what-if bench: a limit check and a match at a speed and temperature that can be moved."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response

from gaugewright.errors import InputError, Problem
from gaugewright.evidence.case import Situation
from gaugewright.report.slope_chart import slope_picture
from gaugewright.store.lines import Kept
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.bench_case import (
    COOLEST,
    HOTTEST,
    Ask,
    Bench,
    bench_of,
    limit_for,
    others_of,
    reach_of,
)
from gaugewright.web.bench_told import told_bench
from gaugewright.web.drawing import strict
from gaugewright.web.recording_room import room_of, words_of_bay
from gaugewright.web.templating import fragment, page

router = APIRouter()
Name = Annotated[str, Query(max_length=80)]
SLOPE_WIDTH = 400.0


@router.get("/jobs/{job}/bench", response_class=HTMLResponse, include_in_schema=False)
def bench_page(request: Request, job: str) -> HTMLResponse:
    """The bench of a job; what it says follows as soon as the recordings are read."""
    bay = bay_of(request)
    kept = bay.store.job(job)
    visits = [visit.name for visit in kept.model.visits]
    return page(request, "bench.html", w=words_of_bay(bay), kept=kept, visits=visits)


@router.get("/api/jobs/{job}/bench")
def bench(
    request: Request,
    job: str,
    visit: Name = "",
    condition: Name = "",
    other: Name = "",
    limit: Name = "",
    speed: Annotated[float | None, Query(ge=0, le=30000, allow_inf_nan=False)] = None,
    warmth: Annotated[float | None, Query(ge=-50, le=200, allow_inf_nan=False)] = None,
) -> Response:
    """What gauge and bearings would have at this state; 202 while recordings are being read.

    What is not stated is chosen: the first condition, the limit whose state it visited, and
    that limit's speed and temperature.
    """
    bay = bay_of(request)
    kept = bay.store.job(job)
    room = room_of(bay)
    read = room.read(kept)
    words = words_of_bay(bay)
    if read is None:
        said = words("recording.reading", stage=room.stage(kept))
        return JSONResponse({"sentence": said}, 202)
    name = visit or (read.lanes.sensed[0].visit if read.lanes.sensed else "")
    on = _bench(bay, kept, read, name)
    if not on.situations:
        return JSONResponse({"sentence": words("bench.nothing"), "html": ""})
    ask = _ask(on, condition, other, limit, speed, warmth)
    return JSONResponse(_content(request, bay, on, ask))


def _bench(bay: Bay, kept: Kept, read: Any, visit: str) -> Bench:
    """A visit on the bench, kept until the job changes."""
    known: dict[tuple[str, int, str], Bench] = bay.rooms.setdefault("bench", {})
    key = kept.id, kept.version, visit
    if key not in known:
        try:
            made = bench_of(read, visit)
        except KeyError:
            found = f'there is no recording of a visit "{visit}"'
            raise InputError(
                Problem(f"job {kept.number}", "bench", found, "choose another visit")
            ) from None
        for old in [k for k in known if k[0] == kept.id and k[1] != kept.version]:
            known.pop(old, None)
        known[key] = made
    return known[key]


def _named(situations: tuple[Situation, ...], name: str) -> Situation | None:
    return next((s for s in situations if s.condition == name), None)


def _ask(
    on: Bench, condition: str, other: str, limit: str, speed: float | None, warmth: float | None
) -> Ask:
    situation = _named(on.situations, condition) or on.situations[0]
    bounds = next((x for x in on.limits if x.name == limit), None) or limit_for(on, situation)
    mates = others_of(on, situation)
    wanted = bounds.speed_rpm if bounds else None
    degc = bounds.oil_degc if bounds else None
    low, high = reach_of(situation, bounds)
    asked = speed if speed is not None else wanted or situation.speed_rpm or low
    warm = warmth if warmth is not None else degc if degc is not None else situation.warmth.degc
    return Ask(
        situation=situation,
        other=_named(mates, other) or (mates[0] if mates else None),
        limit=bounds,
        speed_rpm=min(max(asked, low), high),
        degc=min(max(warm, COOLEST), HOTTEST),
    )


def _content(request: Request, bay: Bay, on: Bench, ask: Ask) -> dict[str, Any]:
    words, preferences = words_of_bay(bay), bay.preferences()
    told = told_bench(on, ask, preferences, words)
    low, high = reach_of(ask.situation, ask.limit)
    slopes = [
        (check, strict(found.svg, found.words))
        for check in on.findings.reference_checks
        if (found := slope_picture(check, on.findings, preferences, SLOPE_WIDTH)) is not None
    ]
    return {
        "picture": str(told.picture),
        "html": str(fragment(request, "bench-told.html", w=words, told=told)),
        "slopes": str(fragment(request, "bench-slopes.html", w=words, slopes=slopes)),
        "said": told.said,
        "speed": {"low": round(low), "high": round(high), "now": round(ask.speed_rpm)},
        "warmth": {
            "low": COOLEST,
            "high": HOTTEST,
            "now": round(ask.degc, 1),
            "known": ask.situation.warmth.known,
        },
        "chosen": {
            "condition": ask.situation.condition,
            "other": ask.other.condition if ask.other else "",
            "limit": ask.limit.name if ask.limit else "",
        },
        "choices": {
            "condition": [s.condition for s in on.situations],
            "other": [s.condition for s in others_of(on, ask.situation)],
            "limit": [x.name for x in on.limits],
        },
        "state": {
            "limit": _state(ask.limit.speed_rpm, ask.limit.oil_degc) if ask.limit else None,
            "held": _state(ask.situation.speed_rpm, _warmth(ask.situation)),
        },
    }


def _state(speed: float | None, degc: float | None) -> dict[str, float | None]:
    return {"speed": speed, "warmth": degc}


def _warmth(situation: Situation) -> float | None:
    return situation.warmth.degc if situation.warmth.known else None
