"""What was seen, told and stored, as evidence: each symptom once, with its likelihood.

The table is symptoms.toml beside this module, all of it judgement.  What was not observed, and a
code that is not stored, says nothing.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from importlib import resources
from typing import Any

import numpy as np

from gaugewright.causes.catalogue import NAMES, Hypothesis
from gaugewright.causes.rows import Rows, either, rows_of, table
from gaugewright.causes.view import JobView
from gaugewright.job.words import NOT_KNOWN, OBSERVATIONS
from gaugewright.physics.numbers import Floats

CODE = "code"
OTHERWISE_METERED = 0.5
"""What is left of a code's exponent on an engine that meters its air otherwise (J)."""
TRIMS = frozenset({"fuel-trim-short", "fuel-trim-long"})
TRIM = "fuel-trim"


@dataclass(frozen=True)
class Told:
    """One symptom: what was looked at, what was seen, log P(seen | hypothesis) for each.

    Natural logarithms, tempered already; only their differences mean anything.
    """

    what: str
    saw: str
    log_likelihoods: Floats


@dataclass(frozen=True)
class Beside:
    """What is left of a symptom when this quantity was measured."""

    quantity: str
    words: tuple[str, ...] = ()
    exponent: float = 1.0
    lump: bool = False


@dataclass(frozen=True)
class Sign:
    """One thing that can be observed, with P(word | cause)."""

    rows: Rows
    exponent: float
    sums: bool
    given_not: str | None = None
    beside: Beside | None = None


@dataclass(frozen=True)
class CodeGroup:
    """Codes that tell the same thing, and how often they are stored with each cause."""

    patterns: tuple[str, ...]
    default: float
    of_cause: Mapping[str, float]
    exponent: float
    metering: str | None = None
    beside: Beside | None = None


def log_likelihoods(
    view: JobView,
    hypotheses: Sequence[Hypothesis],
    pressure_known: bool,
    measured: Collection[str] = (),
) -> tuple[Told, ...]:
    """What does each symptom of this job say about each hypothesis?

    Parameters: `pressure_known`: oil pressure was measured, so that the lamp and the noises that
    low pressure makes count only for what the pressures do not say already (the lamp's steady
    words then say no more than that it was one of them: what the pressure does to the lamp is the
    virtual engine's to predict).  `measured`: the other quantities that were read, by their names
    in the job format, for the codes that only repeat them.
    Returns one item for each symptom, in the order of the vocabulary, codes last.
    """
    known = _known(pressure_known, measured)
    seen = [_told(what, view, hypotheses, known) for what in OBSERVATIONS]
    codes = [_coded(group, view, hypotheses, known) for group in code_groups().values()]
    return tuple(item for items in [*seen, *codes] for item in items)


def _known(pressure_known: bool, measured: Collection[str]) -> frozenset[str]:
    known = frozenset(measured) - {"oil-pressure"}
    known |= {TRIM} if TRIMS.intersection(known) else frozenset()
    return known | {"oil-pressure"} if pressure_known else known


@cache
def signs() -> Mapping[str, Sign]:
    """The table of what is seen and told, by `what` of the job format."""
    return {what: _sign(what, _file()[what]) for what in OBSERVATIONS}


@cache
def code_groups() -> Mapping[str, CodeGroup]:
    """The table of stored codes, by the name of their group."""
    return {name: _group(stated) for name, stated in _file()["codes"].items()}


@cache
def _file() -> dict[str, Any]:
    text = resources.files(__package__).joinpath("symptoms.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _sign(what: str, stated: Mapping[str, Any]) -> Sign:
    words = tuple(word for word in OBSERVATIONS[what] if word != NOT_KNOWN)
    rows = rows_of(words, stated.get("usual"), stated["default"], stated["but"])
    beside = _beside(stated.get("beside"))
    sums = stated["repeats"] == "sum"
    return Sign(rows, stated["exponent"], sums, stated.get("given_not"), beside)


def _group(stated: Mapping[str, Any]) -> CodeGroup:
    default, but = stated["default"], stated["but"]
    return CodeGroup(
        patterns=tuple(stated["codes"]),
        default=default,
        of_cause={name: but.get(name, default) for name in NAMES},
        exponent=stated["exponent"],
        metering=stated.get("metering"),
        beside=_beside(stated.get("beside")),
    )


def _beside(stated: Mapping[str, Any] | None) -> Beside | None:
    if stated is None:
        return None
    return Beside(**{**stated, "words": tuple(stated.get("words", ()))})


def _told(
    what: str, view: JobView, hypotheses: Sequence[Hypothesis], known: Collection[str]
) -> list[Told]:
    sign = signs()[what]
    words = [word for word in view.words(what) if word in sign.rows.words]
    telling = [word for word in words if word != sign.rows.usual] or words
    telling = [word for word in telling if word != sign.given_not]
    if not telling:
        return []
    chances = table(sign.rows, hypotheses)
    share = 1.0 if sign.sums else 1.0 / len(telling)
    return [Told(what, word, share * _log_of_word(sign, word, chances, known)) for word in telling]


def _log_of_word(sign: Sign, word: str, chances: Floats, known: Collection[str]) -> Floats:
    words, beside = sign.rows.words, sign.beside
    chance, exponent = chances[words.index(word)], sign.exponent
    if beside is not None and beside.quantity in known and word in beside.words:
        exponent *= beside.exponent
        if beside.lump:
            chance = chances[[words.index(one) for one in beside.words]].sum(axis=0)
    if sign.given_not is not None:
        chance = chance / (1.0 - chances[words.index(sign.given_not)])
    return np.asarray(exponent * np.log(chance))


def _coded(
    group: CodeGroup, view: JobView, hypotheses: Sequence[Hypothesis], known: Collection[str]
) -> list[Told]:
    stored = [code for code in view.codes if any(fnmatchcase(code, p) for p in group.patterns)]
    if not stored:
        return []
    exponent = group.exponent
    if group.metering is not None and view.metering not in (None, group.metering):
        exponent *= OTHERWISE_METERED
    if group.beside is not None and group.beside.quantity in known:
        exponent *= group.beside.exponent
    return [Told(CODE, ", ".join(stored), exponent * np.log(chance_of(group, hypotheses)))]


def chance_of(group: CodeGroup, hypotheses: Sequence[Hypothesis]) -> Floats:
    """P(a code of this group is stored | hypothesis), (hypotheses,)."""
    first = np.array([group.of_cause[hypothesis[0]] for hypothesis in hypotheses])
    second = np.array([group.of_cause[hypothesis[-1]] for hypothesis in hypotheses])
    double = np.array([len(hypothesis) > 1 for hypothesis in hypotheses])
    return np.where(double, either(first, second, np.array(group.default)), first)
