"""What happens to a job, told to every page that has it open: server-sent events."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import StreamingResponse

from gaugewright.store.lines import EditLine
from gaugewright.web.bay import Bay, bay_of

router = APIRouter()
WAIT_S = 0.4
"""How long one look waits for news; pages hear of an edit within this time."""
QUIET_LOOKS = 30
"""Looks without news before a sign of life is sent."""


@router.get("/api/jobs/{job}/events", include_in_schema=False)
def events(request: Request, job: str, since: int = 0) -> StreamingResponse:
    """A stream of edits after version `since`, and of how far the analysis is."""
    bay = bay_of(request)
    bay.store.job(job)
    return StreamingResponse(_told(request, bay, job, since), media_type="text/event-stream")


async def _told(request: Request, bay: Bay, job: str, since: int) -> AsyncIterator[str]:
    yield "retry: 1500\n\n"
    quiet, stage = 0, ""
    while not await request.is_disconnected() and not bay.rooms.get("closing"):
        lines = await asyncio.to_thread(_look, bay, job, since)
        if lines:
            since = lines[-1].version
            yield _event("edited", _as_data(lines))
        now = bay.rooms.get("stages", {}).get(job, "")
        if now != stage:
            stage = now
            yield _event("stage", {"stage": stage})
        quiet = 0 if lines else quiet + 1
        if quiet % QUIET_LOOKS == QUIET_LOOKS - 1:
            yield ": still here\n\n"
        await asyncio.sleep(WAIT_S)


def _look(bay: Bay, job: str, since: int) -> tuple[EditLine, ...]:
    if bay.store.version(job) <= since:
        return ()
    lines: tuple[EditLine, ...] = bay.store.changes_since(job, since, 0.0)
    return lines


def _as_data(lines: tuple[EditLine, ...]) -> dict[str, Any]:
    last = lines[-1]
    return {
        "version": last.version,
        "device": last.device,
        "what": last.what,
        "kind": last.kind,
        "places": sorted({place for line in lines for place in line.places}),
    }


def _event(name: str, data: dict[str, Any]) -> str:
    return f"event: {name}\ndata: {json.dumps(data)}\n\n"
