"""From a page's blocks to PDF, through typst: data in, no markup pasted, no font of the system."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any

from gaugewright.report import blocks, fonts, marks, svg, words
from gaugewright.report.language import speaking
from gaugewright.report.preferences import Preferences

HEIGHT = {"a4": 841.89, "letter": 792.0}


def pdf(page: blocks.Page, preferences: Preferences) -> tuple[bytes, int]:
    """The page as PDF, and how many sheets it takes.  Equal input gives equal bytes."""
    with speaking(preferences.language), _compiler(page, preferences) as compiler:
        made = compiler.compile(format="pdf", timestamp=_noon(preferences.printed))
        pages = json.loads(compiler.query("<pages>", field="value"))
    assert isinstance(made, bytes)
    return made, int(pages[0])


def pictures(page: blocks.Page, preferences: Preferences, per_inch: float) -> tuple[bytes, ...]:
    """Every sheet of the page as it prints, as PNG of so many pixels per inch."""
    with speaking(preferences.language), _compiler(page, preferences) as compiler:
        made = compiler.compile(format="png", ppi=per_inch, timestamp=_noon(preferences.printed))
    return (made,) if isinstance(made, bytes) else tuple(sheet for sheet in made or () if sheet)


@contextmanager
def _compiler(page: blocks.Page, preferences: Preferences) -> Iterator[Any]:
    """Typst over a room of its own that holds the page's data, its layout and its fonts."""
    import typst

    with tempfile.TemporaryDirectory(prefix="gaugewright-") as name:
        room = Path(name)
        (room / "fonts").mkdir()
        for font in fonts.FACES:
            shutil.copy(fonts.file_of(font), room / "fonts")
        source = room / "page.typ"
        source.write_bytes(files("gaugewright.report").joinpath("page.typ").read_bytes())
        (room / "page.json").write_text(_json(page, preferences), encoding="utf-8")
        known = typst.Fonts(include_system_fonts=False, font_paths=[str(room / "fonts")])
        yield typst.Compiler(str(source), root=str(room), font_paths=known)


def _noon(day: dt.date) -> int:
    """The printed day as a time stamp, so that the file does not depend on the clock."""
    moment = dt.datetime(day.year, day.month, day.day, 12, tzinfo=dt.UTC)
    return int(moment.timestamp())


def _json(page: blocks.Page, preferences: Preferences) -> str:
    data = _printed(blocks.as_data(page))
    data |= {
        "paper": preferences.paper,
        "height": HEIGHT[preferences.paper],
        "page_of": words.PAGE_OF,
        "triangles": [svg.on_paper(marks.triangle(filled)) for filled in (False, True)],
        "caution": words.CAUTION,
    }
    return json.dumps(data, ensure_ascii=False, sort_keys=True)


def _printed(part: Any) -> Any:
    """The same data with every drawing in its printed colours."""
    if isinstance(part, list):
        return [_printed(item) for item in part]
    if not isinstance(part, dict):
        return part
    return {k: svg.on_paper(v) if k == "svg" else _printed(v) for k, v in part.items()}
