"""The causes: what each is called, which engine can have it, what takes it away, what it brings.

The table is causes.toml beside this module; its shares are judgement.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from itertools import combinations
from typing import Any, Literal

from gaugewright.causes.view import JobView

Hypothesis = tuple[str, ...]
"""One cause, or two: of a consequence pair the first brings the second."""
Link = Literal["single", "consequence", "unrelated"]

NOTHING, NONE_OF_THESE = "nothing-wrong", "none-of-these"
ALONE = (NOTHING, NONE_OF_THESE)
"""What is in no pair."""
KINDS = ("ventilation", "oil_pump", "fuel")
"""What an engine's kind is told by, as far as a cause depends on it."""


@dataclass(frozen=True)
class Cause:
    """One cause.

    `phrase`: for the record.  `owner`: a sentence for the owner.  `ventilation`, `oil_pump`,
    `fuel`: kinds that can have it, empty for every kind.  `mended`: lasting action -> chance
    that it is gone afterwards.  `brings`: second cause -> share of engines that come to have it
    as well.  `not_with`: the opposite state of the same part.
    """

    name: str
    phrase: str
    owner: str
    ventilation: tuple[str, ...] = ()
    oil_pump: tuple[str, ...] = ()
    fuel: tuple[str, ...] = ()
    mended: Mapping[str, float] = field(default_factory=dict)
    brings: Mapping[str, float] = field(default_factory=dict)
    not_with: tuple[str, ...] = ()


def _listed(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


@cache
def _table() -> dict[str, Any]:
    text = resources.files(__package__).joinpath("causes.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _causes() -> dict[str, Cause]:
    rows = [{key: _listed(value) for key, value in row.items()} for row in _table()["cause"]]
    return {row["name"]: Cause(**row) for row in rows}


CAUSES: Mapping[str, Cause] = _causes()
"""Every cause by name, in the order of the job format."""
NAMES = tuple(CAUSES)
FAULTS = tuple(name for name in NAMES if name not in ALONE)
"""Those that can be part of a pair."""


def suits(cause: str, view: JobView) -> bool:
    """Whether an engine as the job describes it can have this cause; silence rules out nothing."""
    kinds = (getattr(CAUSES[cause], kind) for kind in KINDS)
    stated = (getattr(view, kind) for kind in KINDS)
    return all(
        not allowed or is_ is None or is_ in allowed
        for allowed, is_ in zip(kinds, stated, strict=True)
    )


def mended(cause: str, action: str) -> float:
    """The chance that this cause is gone after a lasting action; 0 for a passing one (J)."""
    if action == "repaired" and cause not in ALONE:
        return float(_table()["repaired"])
    return CAUSES[cause].mended.get(action, 0.0)


@cache
def pairs() -> Mapping[Hypothesis, Link]:
    """Every pair of causes that can be in the race, with its link; no two hold the same causes."""
    made: dict[Hypothesis, Link] = {}
    for first, second in combinations(FAULTS, 2):
        if second not in CAUSES[first].not_with and first not in CAUSES[second].not_with:
            pair = (second, first) if first in CAUSES[second].brings else (first, second)
            made[pair] = "consequence" if pair[1] in CAUSES[pair[0]].brings else "unrelated"
    return made


def link(hypothesis: Hypothesis) -> Link:
    """How the causes of a hypothesis belong together; a pair may be named in either order.

    Raises KeyError for a pair that is not in the race.
    """
    if len(hypothesis) == 1:
        return "single"
    known = pairs()
    return known[hypothesis if hypothesis in known else hypothesis[::-1]]
