"""The user's own settings: units, paper, language, the workshop's name, the workshop's odds.

`settings.toml` in the configuration folder of the user; flags win over it.  The findings follow
nothing of it but the odds, which say so in their warnings.
"""

from __future__ import annotations

import datetime as dt
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugewright.cli.options import LANGUAGES, PAPERS, PRESSURE_UNITS, VACUUM_UNITS
from gaugewright.errors import InputError, Problem

if TYPE_CHECKING:
    from gaugewright.report.preferences import Preferences

CHOICES: dict[str, tuple[str, ...]] = {
    "paper": PAPERS,
    "pressure_unit": PRESSURE_UNITS,
    "vacuum_unit": VACUUM_UNITS,
    "language": LANGUAGES,
}
FILES = ("odds", "closed")
"""Files, from the folder of settings.toml where their path is not a whole one."""
KEYS = ("paper", "pressure_unit", "vacuum_unit", "workshop", *FILES, "language")


def settings_path() -> Path:
    """Where the user's settings.toml stands, or would stand."""
    from platformdirs import user_config_path

    return user_config_path("gaugewright", appauthor=False) / "settings.toml"


def preferences(flags: Namespace, today: dt.date) -> Preferences:
    """What the pages and the tables follow: the flags, then settings.toml, then the defaults.

    Raises InputError with every setting that cannot be used.
    """
    from gaugewright.report.preferences import Preferences

    stated = {k: v for k, v in read_settings(settings_path()).items() if k not in FILES}
    for key in CHOICES:
        if getattr(flags, key, None) is not None:
            stated[key] = getattr(flags, key)
    return Preferences(printed=today, **stated)


def odds_files(flags: Namespace) -> tuple[Path | None, Path | None]:
    """The table of odds and the closed jobs to follow: of the flags, else of settings.toml.

    Raises InputError with every setting that cannot be used.
    """
    path = settings_path()
    stated = read_settings(path)
    odds, closed = (
        getattr(flags, key, None) or (path.parent / stated[key] if key in stated else None)
        for key in FILES
    )
    return odds, closed


def read_settings(path: Path) -> dict[str, Any]:
    """The settings in this file; none when the file does not stand.

    Raises InputError: not TOML, an unknown key, a value that is not one of the choices.
    """
    import tomllib

    try:
        stated = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError) as why:
        found = f"it cannot be read as TOML ({why})"
        raise InputError(Problem(str(path), "", found, "mend it or delete it")) from why
    problems = [p for key, value in stated.items() if (p := _problem(path, key, value))]
    if problems:
        raise InputError(problems)
    return stated


def _problem(path: Path, key: str, value: object) -> Problem | None:
    if key not in KEYS:
        known = ", ".join(KEYS)
        return Problem(str(path), f"key {key}", "the key is not known", f"use one of {known}")
    allowed = CHOICES.get(key)
    if allowed is None:
        if isinstance(value, str):
            return None
        return Problem(str(path), f"key {key}", f"found {value!r}", "give a text in quotes")
    if value in allowed:
        return None
    return Problem(str(path), f"key {key}", f"found {value!r}", f"use one of {', '.join(allowed)}")
