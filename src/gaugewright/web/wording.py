"""The catalogue of texts: a key in a template or a script, the words of one language.

Each language has a file texts/<language>.toml with the same keys; a test compares them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from gaugewright.report.language import LANGUAGES as LANGUAGES

SOFT_HYPHEN = "\u00ad"
NOUNS_LARGE = ("de",)


@dataclass(frozen=True)
class Words:
    """The texts of one language."""

    language: str
    table: Mapping[str, str]

    def __call__(self, key: str, /, **fill: object) -> str:
        """The text of this key, its braces filled.  Raises KeyError for a key that is not there."""
        text = self.table[key]
        return text.format(**fill) if fill else text

    def has(self, key: str) -> bool:
        """Whether there is a text for this key."""
        return key in self.table

    def count(self, key: str, number: int, /, **fill: object) -> str:
        """The text of `key.one` or `key.many`, by the number."""
        return self(f"{key}.{'one' if number == 1 else 'many'}", n=number, **fill)

    def of(self, group: str, word: str) -> str:
        """A word of a list ("cap-off" of the actions) in this language, else as it stands."""
        return self.table.get(f"{group}.{word}", word.replace("-", " "))

    def within(self, text: str) -> str:
        """A name as it stands within a sentence: small, but where nouns are written large."""
        said = text.replace(SOFT_HYPHEN, "")
        return said if self.language in NOUNS_LARGE else said.lower()

    def group(self, group: str) -> dict[str, str]:
        """All texts whose key begins with this group, without it."""
        start = f"{group}."
        return {k.removeprefix(start): v for k, v in self.table.items() if k.startswith(start)}


@cache
def words_of(language: str) -> Words:
    """The catalogue of a language.  Raises KeyError where there is none."""
    if language not in LANGUAGES:
        raise KeyError(language)
    source = files("gaugewright.web").joinpath("texts", f"{language}.toml")
    return Words(language, dict(_flat(tomllib.loads(source.read_text(encoding="utf-8")), "")))


def _flat(table: Mapping[str, Any], head: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for key, value in table.items():
        name = f"{head}{key}"
        found += _flat(value, f"{name}.") if isinstance(value, Mapping) else [(name, value)]
    return found
