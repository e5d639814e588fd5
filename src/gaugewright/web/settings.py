"""The user's settings as the app reads and changes them: units, paper, language, workshop."""

from __future__ import annotations

import datetime as dt
import os
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from gaugewright.errors import InputError, OutputError, Problem
from gaugewright.report.language import LANGUAGES, Language
from gaugewright.report.preferences import Preferences

CHOICES: dict[str, tuple[str, ...]] = {
    "pressure_unit": ("kPa", "psi", "bar"),
    "vacuum_unit": ("kPa", "inHg", "mbar"),
    "paper": ("a4", "letter"),
    "language": LANGUAGES,
}
"""What can be chosen, the usual first."""
MOST_WORKSHOP = 400


@dataclass(frozen=True)
class Settings:
    """settings.toml of the user's configuration folder; None: the usual, nothing is kept."""

    path: Path | None = None

    def stated(self) -> dict[str, Any]:
        """What the file states; a file that cannot be read states nothing here."""
        try:
            return tomllib.loads(self.path.read_text(encoding="utf-8")) if self.path else {}
        except (OSError, ValueError):
            return {}

    def choice(self, key: str) -> str:
        """A setting that has a list of words, the usual where nothing usable is stated."""
        value = self.stated().get(key)
        return value if value in CHOICES[key] else CHOICES[key][0]

    @property
    def language(self) -> Language:
        """The language of the app's texts and of the pages."""
        return self.choice("language")  # type: ignore[return-value]

    def preferences(self, today: dt.date, paper: str | None = None) -> Preferences:
        """How figures and pages are shown, dated `today`."""
        stated = self.stated().get("workshop", "")
        return Preferences(
            printed=today,
            paper=paper if paper in CHOICES["paper"] else self.choice("paper"),  # type: ignore[arg-type]
            pressure_unit=self.choice("pressure_unit"),  # type: ignore[arg-type]
            vacuum_unit=self.choice("vacuum_unit"),  # type: ignore[arg-type]
            workshop=stated if isinstance(stated, str) else "",
            language=self.language,
        )

    def change(self, key: str, value: str) -> None:
        """Keep one setting; the rest of the file, its comments too, stays as it is.

        Raises InputError for a key or a word that is not known, OutputError where the file
        cannot be written.
        """
        _refuse(key, value)
        if self.path is None:
            return
        try:
            text = self.path.read_text(encoding="utf-8") if self.path.exists() else ""
            document = tomlkit.parse(text)
            document[key] = value
            _replace(self.path, tomlkit.dumps(document))
        except (OSError, ValueError) as why:
            remedy = "check the file and its rights"
            raise OutputError(
                Problem(str(self.path), "", f"it could not be written ({why})", remedy)
            ) from why


def _refuse(key: str, value: str) -> None:
    words = CHOICES.get(key)
    if key == "workshop" and len(value) <= MOST_WORKSHOP:
        return
    if words is None:
        remedy = f"use one of {', '.join([*CHOICES, 'workshop'])}"
        raise InputError(Problem("settings", key, f'found "{value}" for it', remedy))
    if value not in words:
        raise InputError(
            Problem("settings", key, f'found "{value}"', f"use one of {', '.join(words)}")
        )


def _replace(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
