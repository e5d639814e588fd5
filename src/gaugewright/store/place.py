"""Where the app keeps its jobs on this machine."""

from __future__ import annotations

import os
from pathlib import Path

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
