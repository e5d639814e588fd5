"""Where the app keeps its jobs on this machine."""

from __future__ import annotations

import os
from pathlib import Path

from gaugewright.errors import OutputError, Problem

DATA = "GAUGEWRIGHT_DATA"
"""Environment variable that names another data folder."""

DATABASE = "gaugewright.db"


def data_folder() -> Path:
    """The folder that holds the database and the recordings; not made here."""
    if stated := os.environ.get(DATA):
        return Path(stated).expanduser().absolute()
    from platformdirs import user_data_path

    return user_data_path("gaugewright", appauthor=False)


def default_url(folder: Path | None = None) -> str:
    """The address of the SQLite database in this data folder (None: the user's)."""
    return f"sqlite:///{(folder or data_folder()) / DATABASE}"


def made(folder: Path) -> Path:
    """The folder, made where it is missing.  Raises OutputError where it cannot be made."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        found = f"the folder for the jobs cannot be made ({error.strerror or error})"
        remedy = f"make room there, or name another with the environment variable {DATA}"
        raise OutputError(Problem(str(folder), "", found, remedy)) from error
    return folder
