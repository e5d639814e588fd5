"""What a job's recordings and readings say: worked out once for each version, then kept."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel

from gaugewright.errors import GaugewrightError
from gaugewright.web.answers import sentences
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.parts.gaps import visits
from gaugewright.web.parts.tested import looked
from gaugewright.web.templating import fragment

if TYPE_CHECKING:
    from gaugewright.analysis.outcome import Outcome

router = APIRouter()


class Found(BaseModel):
    """The findings of one version as the page shows them."""

    version: int
    whole: bool
    meaning: str
    recordings: str = ""
    instruments: str = ""
    says: str = ""


@router.get("/api/jobs/{job}/found")
def found(request: Request, job: str, whole: bool = True) -> Found:
    """What was found, as parts of the page; without `whole` the causes are left out, which is
    quicker."""
    from gaugewright.web.parts.meaning import shown

    bay = bay_of(request)
    kept = bay.store.job(job)
    try:
        outcome = outcome_of(bay, job, whole)
    except GaugewrightError as error:
        said = fragment(request, "job/not-yet.html", problems=sentences(error.problems))
        return Found(version=kept.version, whole=True, meaning=str(said))
    made = shown(outcome, bay.preferences())
    fill: dict[str, Any] = {"found": made, "whole": whole, "kept": kept}
    fill |= {"visits": visits(kept.tables), "looked": looked(kept.tables)}
    return Found(
        version=kept.version,
        whole=whole,
        meaning=str(fragment(request, "job/meaning.html", **fill)),
        recordings=str(fragment(request, "job/pictures.html", **fill)),
        instruments=str(fragment(request, "job/zeros.html", **fill)),
        says=made.headline,
    )


def outcome_of(bay: Bay, job: str, whole: bool = True) -> Outcome:
    """The outcome of a job at its version now; the store works it out where it is not kept yet.

    One analysis of a job runs at a time; others wait for it and take what it made.
    Raises InputError as the analysis does.
    """
    stages: dict[str, str] = bay.rooms.setdefault("stages", {})

    def tell(stage: str) -> None:
        stages[job] = stage

    with _lock(bay, job):
        try:
            outcome: Outcome = bay.store.findings(job, causes=whole, progress=tell)
            return outcome
        finally:
            stages.pop(job, None)


def _lock(bay: Bay, job: str) -> threading.Lock:
    locks: dict[str, threading.Lock] = bay.rooms.setdefault("locks", {})
    return locks.setdefault(job, threading.Lock())
