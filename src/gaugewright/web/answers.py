"""What goes back when something is wrong: the same sentence that the command prints."""

from __future__ import annotations

import logging
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from starlette.exceptions import HTTPException

from gaugewright.errors import EditedElsewhere, GaugewrightError, Problem
from gaugewright.store.changes import dotted
from gaugewright.web.bay import bay_of
from gaugewright.web.templating import page
from gaugewright.web.values import shown_as_typed

log = logging.getLogger("gaugewright.web")
STATUS = {404: "error.no-page", 405: "error.no-way", 415: "error.no-way"}


def prepare(app: FastAPI) -> None:
    """Let the app answer each kind of failure in a sentence."""
    app.add_exception_handler(GaugewrightError, _ours)
    app.add_exception_handler(RequestValidationError, _wrong_form)
    app.add_exception_handler(HTTPException, _plain)
    app.add_exception_handler(Exception, _defect)


def sentences(problems: tuple[Problem, ...]) -> list[str]:
    """Problems as the page says them: without the file where it is the job itself."""
    return [sentence(problem) for problem in problems]


def sentence(problem: Problem) -> str:
    """One problem beside its field: what was found and what would do."""
    said = f"{problem.found}; {problem.remedy}."
    return said[:1].upper() + said[1:]


def _ours(request: Request, error: Exception) -> Response:
    assert isinstance(error, GaugewrightError)
    said = sentences(error.problems)
    content: dict[str, Any] = {"sentence": said[0], "sentences": said}
    if isinstance(error, EditedElsewhere):
        there = {"now": error.now, "now_text": shown_as_typed(error.now), "place": error.place}
        return JSONResponse({**content, **there}, 409)
    if error.problems[0].path:
        content["place"] = dotted(error.problems[0].path)
    return _told(request, 500 if error.exit_code == 3 else _status(error), content)


def _status(error: GaugewrightError) -> int:
    return 404 if any(p.file.startswith("job ") for p in error.problems) else 422


def _wrong_form(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    said = []
    for detail in error.errors():
        where = ".".join(str(step) for step in detail["loc"] if step != "body")
        said.append(f"{where or 'the request'}: {detail['msg']}.")
    return _told(request, 422, {"sentence": said[0], "sentences": said})


def _plain(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = bay_of(request).words
    said = words(STATUS[error.status_code]) if error.status_code in STATUS else str(error.detail)
    return _told(request, error.status_code, {"sentence": said, "sentences": [said]})


def _defect(request: Request, error: Exception) -> Response:
    log.exception("a defect at %s", request.url.path, exc_info=error)
    said = bay_of(request).words("error.defect", what=f"{type(error).__name__}: {error}"[:200])
    return _told(request, 500, {"sentence": said, "sentences": [said]})


def _told(request: Request, status: int, content: dict[str, Any]) -> Response:
    asks_for_page = "text/html" in request.headers.get("accept", "")
    if request.method == "GET" and asks_for_page:
        made: HTMLResponse = page(request, "error.html", status=status, **content)
        return made
    return JSONResponse(content, status)
