"""Sentences that the findings carry in English, put into the language spoken.

They are looked up whole, or by the pattern they were made from; none is taken to pieces.  What a
user typed has no entry, and stays as it is.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from string import Formatter
from typing import Any

from gaugewright.quantities.said import Said
from gaugewright.report import words
from gaugewright.report.language import Language, spoken


def carried(text: str) -> str:
    """A sentence of the findings in the language spoken; as it stands where there is no other."""
    return remade(text) if isinstance(text, Said) else catalogue(spoken()).get(text, text)


def remade(text: str) -> str:
    """The same where a user's own words may stand as well: only what was `said` is translated."""
    language = spoken()
    if language == "en" or not isinstance(text, Said):
        return text
    pattern = catalogue(language).get(text.pattern, text.pattern)
    return _Filling().format(pattern, **text.fill)


@cache
def catalogue(language: Language) -> Mapping[str, str]:
    """English sentence or pattern -> the same in this language.  Empty for English."""
    if language == "en":
        return {}
    source = files("gaugewright.report").joinpath(f"carried.{language}.toml")
    tables = tomllib.loads(source.read_text(encoding="utf-8"))
    return {english: text for table in tables.values() for english, text in table.items()}


class _Filling(Formatter):
    """Fills a pattern with figures as the language writes them, and with sentences of its own."""

    def format_field(self, value: Any, format_spec: str) -> Any:
        told = remade(value) if isinstance(value, Said) else value
        text = super().format_field(told, format_spec)
        return text.replace(".", words.DECIMAL) if isinstance(value, float) else text
