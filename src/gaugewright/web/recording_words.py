"""The texts of the recording page, the sensor cards and the bench, beside the catalogue's own."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from gaugewright.web.wording import Words


@cache
def words_for(language: str) -> Words:
    """The texts of these pages in a language; keys begin with `recording`, `sensors`, `bench`."""
    source = files("gaugewright.web").joinpath("texts", "recording", f"{language}.toml")
    return Words(language, dict(_flat(tomllib.loads(source.read_text(encoding="utf-8")), "")))


def _flat(table: Mapping[str, Any], head: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for key, value in table.items():
        name = f"{head}{key}"
        found += _flat(value, f"{name}.") if isinstance(value, Mapping) else [(name, value)]
    return found
