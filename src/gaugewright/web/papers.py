"""The two pages of a job: as they will print, and as PDF."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from gaugewright.analysis.outcome import Outcome
from gaugewright.errors import InputError, Problem
from gaugewright.report.preferences import Preferences
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.found import outcome_of
from gaugewright.web.settings import CHOICES
from gaugewright.web.templating import page

router = APIRouter()
Name = Literal["handover", "record"]
MOST_PRINTS = 8
PIXELS_PER_INCH = 132.0
Paper = Annotated[Literal["a4", "letter"] | None, Query()]
Pressure = Annotated[Literal["kPa", "psi", "bar"] | None, Query()]
Vacuum = Annotated[Literal["kPa", "inHg", "mbar"] | None, Query()]


@router.get("/jobs/{job}/pages", response_class=HTMLResponse, include_in_schema=False)
def pages_page(
    request: Request, job: str, paper: Paper = None, pressure: Pressure = None,
    vacuum: Vacuum = None,
) -> HTMLResponse:  # fmt: skip
    """Both pages as they will print, with the choice of units and paper."""
    bay = bay_of(request)
    kept = bay.store.job(job)
    chosen = _chosen(bay, paper, pressure, vacuum)
    return page(
        request,
        "pages.html",
        kept=kept,
        chosen=chosen,
        choices=CHOICES,
        query=f"paper={chosen.paper}&pressure={chosen.pressure_unit}&vacuum={chosen.vacuum_unit}",
    )


@router.get("/api/jobs/{job}/pages/{name}")
def sheets(
    request: Request, job: str, name: Name, paper: Paper = None, pressure: Pressure = None,
    vacuum: Vacuum = None,
) -> dict[str, int]:  # fmt: skip
    """How many sheets a page takes; printing it once makes its pictures ready."""
    printed = _printed(bay_of(request), job, name, paper, pressure, vacuum)
    return {"sheets": len(printed["png"]), "version": printed["version"]}


@router.get("/jobs/{job}/pages/{name}-{sheet}.png", response_class=Response)
def sheet_picture(
    request: Request, job: str, name: Name, sheet: int, paper: Paper = None,
    pressure: Pressure = None, vacuum: Vacuum = None,
) -> Response:  # fmt: skip
    """One sheet as it will print."""
    made = _printed(bay_of(request), job, name, paper, pressure, vacuum)["png"]
    if not 1 <= sheet <= len(made):
        found = f"found sheet {sheet} of {len(made)}"
        raise InputError(Problem(f"job {job}", name, found, "ask for one that is there"))
    return Response(made[sheet - 1], media_type="image/png")


@router.get("/jobs/{job}/pages/{name}.pdf", response_class=Response)
def as_pdf(
    request: Request, job: str, name: Name, paper: Paper = None, pressure: Pressure = None,
    vacuum: Vacuum = None,
) -> Response:  # fmt: skip
    """A page as PDF."""
    bay = bay_of(request)
    made = _printed(bay, job, name, paper, pressure, vacuum)["pdf"]
    file = f"{bay.store.job(job).number:04d}-{name}.pdf"
    headers = {"content-disposition": f'inline; filename="{file}"'}
    return Response(made, media_type="application/pdf", headers=headers)


def _chosen(bay: Bay, paper: str | None, pressure: str | None, vacuum: str | None) -> Preferences:
    usual = bay.preferences(paper)
    return Preferences(
        printed=usual.printed,
        paper=usual.paper,
        pressure_unit=pressure or usual.pressure_unit,  # type: ignore[arg-type]
        vacuum_unit=vacuum or usual.vacuum_unit,  # type: ignore[arg-type]
        workshop=usual.workshop,
        language=usual.language,
    )


def _printed(
    bay: Bay, job: str, name: Name, paper: str | None, pressure: str | None, vacuum: str | None
) -> dict[str, Any]:
    """A page printed once for each version and choice: its PDF and its sheets' pictures."""
    kept = bay.store.job(job)
    chosen = _chosen(bay, paper, pressure, vacuum)
    key = (job, kept.version, name, chosen)
    prints: dict[Any, dict[str, Any]] = bay.rooms.setdefault("prints", {})
    if key not in prints:
        made = _print(outcome_of(bay, job), name, chosen)
        while len(prints) >= MOST_PRINTS:
            prints.pop(next(iter(prints)))
        prints[key] = {**made, "version": kept.version}
    return prints[key]


def _print(outcome: Outcome, name: Name, chosen: Preferences) -> dict[str, Any]:
    from gaugewright.report import pages, paper
    from gaugewright.report.record import record_page

    if name == "handover":
        sheet, made = pages.one_sheet(outcome, chosen)
    else:
        sheet = record_page(outcome, chosen)
        made = paper.pdf(sheet, chosen)[0]
    return {"pdf": made, "png": paper.pictures(sheet, chosen, PIXELS_PER_INCH)}
