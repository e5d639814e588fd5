"""A job as a bundle: the form in which jobs are exchanged."""

from __future__ import annotations

import re
import shutil
import tempfile
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse
from starlette.background import BackgroundTask

from gaugewright.web.bay import bay_of

router = APIRouter()


@router.get("/jobs/{job}/bundle", response_class=FileResponse)
def bundle(request: Request, job: str) -> FileResponse:
    """The job with its recordings, byte for byte, as one bundle."""
    store = bay_of(request).store
    kept = store.job(job)
    room = Path(tempfile.mkdtemp(prefix="gaugewright-bundle-"))
    try:
        made = store.export(job, room / "bundle.zip", bundle=True)
    except BaseException:
        shutil.rmtree(room, ignore_errors=True)
        raise
    done = BackgroundTask(shutil.rmtree, room, ignore_errors=True)
    name = f"{kept.number:04d}-{_plain(str(kept.tables.get('title', '')))}.zip"
    return FileResponse(made, media_type="application/zip", filename=name, background=done)


def _plain(title: str) -> str:
    """A title as part of a file's name, whatever the system."""
    return re.sub(r"[^A-Za-z0-9]+", "-", title).strip("-").lower()[:60] or "job"
