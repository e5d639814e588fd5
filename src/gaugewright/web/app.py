"""The app: one factory that puts its doors, pages and files together."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from importlib.resources import files
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.responses import FileResponse, Response
from starlette.exceptions import HTTPException
from starlette.staticfiles import StaticFiles

from gaugewright import __version__
from gaugewright.web import answers
from gaugewright.web.bay import Bay
from gaugewright.web.doors import Devices, Doors
from gaugewright.web.guard import Guard
from gaugewright.web.settings import Settings
from gaugewright.web.speech import Speech

ROUTERS = (
    "listing",
    "take_in",
    "job_page",
    "edits",
    "events",
    "found",
    "papers",
    "exporting",
    "mapping",
    "own_settings",
    "pairing",
    "practice",
    "interface",
)
"""Modules of this room, each with its `router`."""
LATER = ("recording", "sensors", "bench")
"""The recording page, the sensor cards and the what-if bench: each with its `router`."""
_SANS, _SERIF = "font_source_sans_pro", "font_source_serif_pro"
FONTS: Mapping[str, tuple[str, str]] = {
    "sans-300.otf": (_SANS, "SourceSansPro-Light.otf"),
    "sans-400.otf": (_SANS, "SourceSansPro-Regular.otf"),
    "sans-600.otf": (_SANS, "SourceSansPro-Semibold.otf"),
    "sans-700.otf": (_SANS, "SourceSansPro-Bold.otf"),
    "sans-400i.otf": (_SANS, "SourceSansPro-It.otf"),
    "serif-400.otf": (_SERIF, "SourceSerifPro-Regular.otf"),
    "serif-600.otf": (_SERIF, "SourceSerifPro-Semibold.otf"),
    "serif-400i.otf": (_SERIF, "SourceSerifPro-It.otf"),
}
YEAR = "public, max-age=31536000, immutable"


def make_app(
    store: Any,
    settings_path: Path | None = None,
    shared: bool = False,
    devices: Devices | None = None,
) -> FastAPI:
    """The app over this store.

    Parameters: `settings_path` is the user's settings.toml (None: the usual, and changes are not
    kept); `shared` lets other devices of the shop in with the pairing code; `devices` keeps those
    that were let in (None: the store does).
    """
    doors = Doors(shared=shared, devices=devices or store.devices)
    app = FastAPI(
        title="gaugewright",
        version=__version__,
        description="The app on this machine: jobs, recordings, findings, pages.",
        docs_url=None,
        redoc_url=None,
    )
    settings = Settings(settings_path)
    app.state.bay = Bay(store, settings, doors)
    app.add_middleware(Speech, settings=settings)
    app.add_middleware(Guard, doors=doors)
    answers.prepare(app)
    for name in (*ROUTERS, *LATER):
        _include(app, name)
    _serve_files(app)
    return app


def _include(app: FastAPI, name: str) -> None:
    try:
        module = import_module(f"gaugewright.web.{name}")
    except ModuleNotFoundError as missing:
        if name in LATER and missing.name == f"gaugewright.web.{name}":
            return
        raise
    app.include_router(module.router)


def _serve_files(app: FastAPI) -> None:
    static = Path(str(files("gaugewright.web").joinpath("static")))
    app.mount("/static", StaticFiles(directory=static), name="static")
    app.get("/fonts/{name}", include_in_schema=False)(_font)
    app.get("/favicon.ico", include_in_schema=False)(_no_icon)


def _font(name: str) -> FileResponse:
    if name not in FONTS:
        raise HTTPException(404)
    package, file = FONTS[name]
    place = Path(str(files(package).joinpath("files", file)))
    return FileResponse(place, media_type="font/otf", headers={"cache-control": YEAR})


def _no_icon() -> Response:
    return Response(status_code=204)
