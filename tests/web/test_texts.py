"""One catalogue, the same keys in every language, every key that is asked for."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import gaugewright.web
from gaugewright.job.words import OBSERVATIONS
from gaugewright.web.fields import CHOICES
from gaugewright.web.parts.gaps import PARTS, gaps
from gaugewright.web.wording import LANGUAGES, words_of

ROOM = Path(gaugewright.web.__file__).parent
OTHERS = ("recording", "sensor", "bench")


def own(folder: str, pattern: str) -> list[Path]:
    return [
        p
        for p in sorted((ROOM / folder).rglob(pattern))
        if not any(p.name.startswith(o) or f"/{o}" in str(p) for o in (*OTHERS, "lanes"))
    ]


def test_every_language_has_the_same_keys() -> None:
    first = set(words_of("en").table)
    for language in LANGUAGES[1:]:
        other = {key for key in words_of(language).table if not key.startswith("saw.")}
        assert other == first


def test_the_same_blanks_are_filled_in_every_language() -> None:
    for key, text in words_of("en").table.items():
        blanks = set(re.findall(r"{(\w+)}", text))
        assert set(re.findall(r"{(\w+)}", words_of("de").table[key])) == blanks, key


def test_every_key_that_a_template_asks_for_is_there() -> None:
    words = words_of("en")
    for path in own("templates", "*.html"):
        text = path.read_text(encoding="utf-8")
        for key in re.findall(r"\bt\(['\"]([\w.-]+)['\"](?:\)|,)", text):
            assert words.has(key), f"{path.name}: {key}"
        for key in re.findall(r"\bt\.count\(['\"]([\w.-]+)['\"]", text):
            assert words.has(f"{key}.one"), f"{path.name}: {key}"
            assert words.has(f"{key}.many"), f"{path.name}: {key}"


def test_every_key_that_a_script_asks_for_is_there() -> None:
    words = words_of("en")
    for path in own("static", "*.js"):
        for key in re.findall(r"words\[[\"']([\w.-]+)[\"']\]", path.read_text(encoding="utf-8")):
            assert words.has(key), f"{path.name}: {key}"


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_of_a_list_has_its_text(language: str) -> None:
    words = words_of(language)
    for listed in CHOICES.values():
        for word in listed:
            assert words.has(f"word.{word}"), word
    for part in PARTS:
        assert words.has(f"part.{part}")
        assert words.has(f"next.{part}")
    for missing in gaps({}).values():
        for gap in missing:
            assert words.has(f"gap.{gap}"), gap
    if language != "en":
        for saws in OBSERVATIONS.values():
            for saw in saws:
                assert words.has(f"saw.{saw}"), saw


def test_a_key_that_is_not_there_is_an_error() -> None:
    with pytest.raises(KeyError):
        words_of("en")("no.such.key")


def test_a_name_within_a_sentence_is_small_but_for_german_nouns() -> None:
    assert words_of("en").within("Oil pressure") == "oil pressure"
    assert words_of("de").within("Auf\u00adzeich\u00adnungen") == "Aufzeichnungen"
