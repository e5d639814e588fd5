"""The faces both pages are set in, from their wheels (SIL Open Font License 1.1)."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path


@dataclass(frozen=True)
class Face:
    """One font file: its family, weight and style."""

    package: str
    file: str
    family: str
    weight: int
    style: str = "normal"


_SANS, _SERIF = "font_source_sans_pro", "font_source_serif_pro"
FACES = (
    Face(_SANS, "SourceSansPro-Regular.otf", "Source Sans Pro", 400),
    Face(_SANS, "SourceSansPro-Semibold.otf", "Source Sans Pro", 600),
    Face(_SERIF, "SourceSerifPro-Regular.otf", "Source Serif Pro", 400),
    Face(_SERIF, "SourceSerifPro-Semibold.otf", "Source Serif Pro", 600),
    Face(_SERIF, "SourceSerifPro-It.otf", "Source Serif Pro", 400, "italic"),
)


def file_of(face: Face) -> Path:
    """Where a face's file stands."""
    return Path(str(files(face.package).joinpath("files", face.file)))


@cache
def style_sheet() -> str:
    """The faces as font-face rules with the files inside, for a page that asks nobody."""
    return "\n".join(_rule(face) for face in FACES)


def _rule(face: Face) -> str:
    data = base64.b64encode(file_of(face).read_bytes()).decode("ascii")
    return (
        f"@font-face{{font-family:'{face.family}';font-weight:{face.weight};"
        f"font-style:{face.style};src:url(data:font/otf;base64,{data}) format('opentype')}}"
    )
