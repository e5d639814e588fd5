"""The tables of this generator, read once."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

Rng = np.random.Generator
HERE = Path(__file__).parent


@cache
def table(name: str) -> dict[str, Any]:
    """The table `name`.toml beside this file."""
    return tomllib.loads((HERE / f"{name}.toml").read_text(encoding="utf-8"))


def between(rng: Rng, span: list[float]) -> float:
    """A number drawn evenly from lowest to highest."""
    return float(rng.uniform(span[0], span[1]))


def log_between(rng: Rng, span: list[float]) -> float:
    """A number whose logarithm is drawn evenly; both ends above zero."""
    return float(np.exp(rng.uniform(np.log(span[0]), np.log(span[1]))))


def pick(rng: Rng, weights: dict[str, float]) -> str:
    """One of the words, by their weights."""
    words = list(weights)
    chance = np.array([weights[word] for word in words], float)
    return words[int(rng.choice(len(words), p=chance / chance.sum()))]


def happens(rng: Rng, chance: float) -> bool:
    """True with this chance; one number is always drawn."""
    return bool(rng.uniform() < chance)
