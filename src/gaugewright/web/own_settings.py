"""What the user chooses for this workshop: units, paper, language, the workshop's name."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from pydantic import BaseModel, Field

from gaugewright.web.bay import bay_of
from gaugewright.web.settings import CHOICES, MOST_WORKSHOP
from gaugewright.web.templating import page

router = APIRouter()
FOR_SCRIPTS = ("js.", "stage.", "edit.", "lanes.")
"""Groups of texts that scripts say."""


class Choice(BaseModel):
    """One setting and what it shall be."""

    key: Annotated[str, Field(max_length=40)]
    value: Annotated[str, Field(max_length=MOST_WORKSHOP)]


@router.get("/settings", response_class=HTMLResponse, include_in_schema=False)
def settings_page(request: Request) -> HTMLResponse:
    """Units, paper, language, the workshop's name."""
    settings = bay_of(request).settings
    return page(
        request,
        "settings.html",
        choices=CHOICES,
        chosen={key: settings.choice(key) for key in CHOICES},
        workshop=str(settings.stated().get("workshop", "")),
        file=str(settings.path or ""),
    )


@router.post("/api/settings")
def choose(request: Request, stated: Choice) -> dict[str, str]:
    """Keep one setting."""
    bay_of(request).settings.change(stated.key, stated.value)
    return {"key": stated.key, "value": stated.value}


@router.get("/words.js", include_in_schema=False)
def words_script(request: Request) -> Response:
    """The texts that scripts say, as a module."""
    from gaugewright.web.templating import as_json

    words = bay_of(request).words
    said = {key: text for key, text in words.table.items() if key.startswith(FOR_SCRIPTS)}
    body = f"export const words = {as_json(said)};\n"
    return Response(
        f"{body}export const language = {as_json(words.language)};\n",
        media_type="text/javascript",
    )
