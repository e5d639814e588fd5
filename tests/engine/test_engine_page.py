"""The page about the virtual engine names every number of it, with the default it has."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from gaugewright.engine.build import Build
from gaugewright.engine.parameters import PARTS, value
from gaugewright.engine.sound import sound

PAGE = (Path(__file__).parents[2] / "docs/explanation/engine.md").read_text(encoding="utf-8")
ROWS = dict(re.findall(r"^\| `([a-z]+\.[a-z0-9_]+)` \| [^|]+ \| ([^|]+) \| [^|]+ \|$", PAGE, re.M))
NAMES = [f"{part}.{name}" for part, known in PARTS.items() for name in sorted(known)]


def test_every_number_is_on_the_page_and_nothing_else() -> None:
    assert set(ROWS) == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_the_page_states_the_default(name: str) -> None:
    """To the four digits printed."""
    now = float(np.asarray(value(sound(Build()), name)))
    assert float(ROWS[name]) == pytest.approx(now, rel=6e-4)
