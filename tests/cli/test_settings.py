"""Settings of the user: flags win, and what cannot be used is said in a sentence."""

from __future__ import annotations

import datetime as dt
from argparse import Namespace
from pathlib import Path

import pytest

from gaugewright.cli.settings import preferences, read_settings
from gaugewright.errors import InputError

TODAY = dt.date(2031, 3, 5)


def flags(**stated: str) -> Namespace:
    return Namespace(
        **{"paper": None, "pressure_unit": None, "vacuum_unit": None, **stated},
    )


def write(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_without_a_file_the_defaults_hold() -> None:
    found = preferences(flags(), TODAY)
    assert (found.paper, found.pressure_unit, found.vacuum_unit) == ("a4", "kPa", "kPa")
    assert found.printed == TODAY


def test_the_file_is_followed_and_flags_win(no_settings: Path) -> None:
    write(no_settings, 'paper = "letter"\npressure_unit = "psi"\nworkshop = "Hill Street"\n')
    found = preferences(flags(pressure_unit="bar"), TODAY)
    assert (found.paper, found.pressure_unit, found.workshop) == ("letter", "bar", "Hill Street")


def test_the_language_of_the_pages_is_followed_too(no_settings: Path) -> None:
    assert preferences(flags(), TODAY).language == "en"
    write(no_settings, 'language = "de"\n')
    assert preferences(flags(), TODAY).language == "de"
    assert preferences(flags(language="en"), TODAY).language == "en"


def test_every_wrong_setting_is_told(tmp_path: Path) -> None:
    path = write(tmp_path / "settings.toml", 'paper = "a5"\ncolour = "red"\nworkshop = 3\n')
    with pytest.raises(InputError) as error:
        read_settings(path)
    assert error.value.text.splitlines() == [
        f"{path}, key paper: found 'a5'; use one of a4, letter.",
        f"{path}, key colour: the key is not known; "
        "use one of paper, pressure_unit, vacuum_unit, workshop, odds, closed, language.",
        f"{path}, key workshop: found 3; give a text in quotes.",
    ]


def test_a_file_that_is_no_toml_is_told(tmp_path: Path) -> None:
    path = write(tmp_path / "settings.toml", "paper a4")
    with pytest.raises(InputError, match="cannot be read as TOML"):
        read_settings(path)
