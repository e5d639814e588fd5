"""A job's page, and its inner part alone for a page that is open already."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from gaugewright.store.lines import Kept
from gaugewright.web.bay import bay_of
from gaugewright.web.edits import Saved
from gaugewright.web.job_view import main_of
from gaugewright.web.templating import page

router = APIRouter()


@router.get("/jobs/{job}", response_class=HTMLResponse, include_in_schema=False)
def job_page(request: Request, job: str) -> HTMLResponse:
    """The whole page of a job."""
    kept: Kept = bay_of(request).store.job(job)
    return page(request, "job.html", kept=kept, main=main_of(request, kept))


@router.get("/api/jobs/{job}")
def job_now(request: Request, job: str) -> Saved:
    """The job's version now, and its page's inner part."""
    kept: Kept = bay_of(request).store.job(job)
    return Saved(version=kept.version, html=str(main_of(request, kept)))


@router.get("/api/jobs/{job}/history")
def history(request: Request, job: str) -> list[dict[str, object]]:
    """Everything that was done to a job, the latest first."""
    store = bay_of(request).store
    store.job(job)
    return [
        {
            "version": line.version,
            "at": line.at,
            "what": line.what,
            "kind": line.kind,
            "device": line.device,
            "stands": line.stands,
        }
        for line in store.history(job)
    ]
