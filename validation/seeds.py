"""The seeds as they were written down before the first run."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

with (Path(__file__).parent / "seeds.toml").open("rb") as _file:
    SEEDS: dict[str, Any] = tomllib.load(_file)
