"""Templates filled with the app's words, marks and figures."""

from __future__ import annotations

import datetime as dt
import json
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from gaugewright import __version__
from gaugewright.report import display, handover, phrases, words
from gaugewright.report.carried import carried
from gaugewright.web import drawing, setting
from gaugewright.web.bay import Bay, bay_of, look_of
from gaugewright.web.values import in_own_unit, tidy

FIGURE = "{:04d}"


@cache
def environment() -> Environment:
    """The templates of this room, every value escaped."""
    folder = Path(str(files("gaugewright.web").joinpath("templates")))
    made = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(
        stitch=drawing.stitch,
        sign=drawing.sign,
        triangle=drawing.triangle,
        lying=drawing.lying,
        slanted=drawing.slanted,
        mark=drawing.MARK,
        set_blocks=setting.set_blocks,
        version=__version__,
    )
    made.filters.update(
        tidy=tidy,
        as_json=as_json,
        number=FIGURE.format,
        day=day,
        mileage=handover.odometer,
        carried=carried,
        quoted=quoted,
        figure=figure,
    )
    return made


def day(stated: str) -> str:
    """A date of the document as one says it; as it stands where it is none."""
    try:
        return phrases.date(dt.datetime.fromisoformat(stated))
    except ValueError:
        return stated


def quoted(text: str) -> str:
    """What someone said, in the quotation marks of the language spoken."""
    return f"{words.OPEN_QUOTE}{text}{words.CLOSE_QUOTE}"


def figure(value: float) -> str:
    """A figure with two decimals."""
    return display.digits(value, 2)


def as_json(value: Any) -> str:
    """A value for a data attribute."""
    return json.dumps(value, ensure_ascii=False)


class Row(dict[str, Any]):
    """A table of the document for a template: a key that is not there is None."""

    def __missing__(self, key: str) -> None:
        """Nothing stands there."""


def lenient(value: Any) -> Any:
    """The document's tables for a template, in which every key may be absent."""
    if isinstance(value, dict):
        return Row({key: lenient(item) for key, item in value.items()})
    return [lenient(item) for item in value] if isinstance(value, list) else value


def common(request: Request) -> dict[str, Any]:
    """What every page is given."""
    bay = bay_of(request)
    preferences = bay.preferences()
    return {
        "t": bay.words,
        "look": look_of(request),
        "path": request.url.path,
        "shared": bay.doors.shared,
        "units": f"{preferences.pressure_unit}, °C",
        "preferences": preferences,
        "own": lambda text, quantity: in_own_unit(text, quantity, preferences),
        "when": lambda stamp: when(stamp, bay),
    }


def page(request: Request, template: str, /, status: int = 200, **fill: Any) -> HTMLResponse:
    """A whole page."""
    return HTMLResponse(fragment(request, template, **fill), status)


def fragment(request: Request, template: str, /, **fill: Any) -> Markup:
    """A template filled, as it stands."""
    made = environment().get_template(template).render(**common(request), **fill)
    return Markup(made)


def when(stamp: str, bay: Bay) -> str:
    """An ISO time as one says it: "today, 14:52", "yesterday", "14 Nov", "14 Nov 2031"."""
    moment = dt.datetime.fromisoformat(stamp).astimezone()
    days = (bay.today() - moment.date()).days
    words = bay.words
    if days == 0:
        return words("when.today", time=f"{moment:%H:%M}")
    if days == 1:
        return words("when.yesterday")
    month = words(f"month.{moment.month}")
    same = moment.year == bay.today().year
    return words("when.day" if same else "when.year", day=moment.day, month=month, year=moment.year)
