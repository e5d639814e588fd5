"""The odds before any evidence: which column of the table a job belongs to, and what it says.

The table is judgement; a shop replaces it, or has it follow its own closed jobs.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from gaugewright.causes import catalogue
from gaugewright.causes.catalogue import ALONE, CAUSES, KINDS, NAMES, Hypothesis
from gaugewright.causes.view import JobView

Column = Literal["lamp", "pressure", "running"]
COLUMNS: tuple[Column, ...] = ("lamp", "pressure", "running")
Mixture = Mapping[Column, float]

LIT: Mixture = {"lamp": 0.94, "pressure": 0.03, "running": 0.03}
DARK: Mixture = {"lamp": 0.04, "pressure": 0.48, "running": 0.48}
UNCLEAR: Mixture = {"lamp": 0.40, "pressure": 0.20, "running": 0.40}
"""Which kind of job it is when the lamp was on at some time, never was, or nothing is said (J)."""
OIL_CODES = frozenset({"P0520", "P0521", "P0522", "P0523", "P0524", "P06DA", "P06DD"})
"""Codes that light an oil lamp."""
MISDESCRIBED = 0.02
"""How often a job tells the wrong kind of engine (J): so much is left of a cause that the engine
as described could not have."""
STRENGTH = 50.0
"""How many closed jobs the table itself is worth (J)."""


@dataclass(frozen=True)
class Table:
    """The odds before any evidence.

    `columns`: kind of job -> cause -> odds, of which only ratios matter.  `two_faults`: share of
    faulty cars with two faults at once; `consequences`: share of those in which one brought the
    other.  `kinds`: share of engines of each kind.  `origin`: where the odds come from, in words;
    empty for those that ship with the program.
    """

    columns: Mapping[Column, Mapping[str, float]]
    two_faults: float
    consequences: float
    kinds: Mapping[str, Mapping[str, float]]
    origin: str = ""


def odds_of(table: Table, view: JobView) -> dict[Hypothesis, float]:
    """How probable is each hypothesis before any evidence?

    Returns every cause alone and every pair of faults that can be in the race, adding up to 1;
    none is zero.  `catalogue.link` tells how a pair belongs together.  A cause that the engine as
    described cannot have keeps a trace, alone and in no pair: the description may be wrong.
    """
    mixture = mixture_of(view)
    columns = {column: _column(table, column, view) for column in COLUMNS}
    return {
        key: sum(mixture[column] * columns[column][key] for column in COLUMNS)
        for key in columns["lamp"]
    }


def mixture_of(view: JobView) -> Mixture:
    """Which kind of job this is: the share of each column, adding up to 1 (J).

    The lamp decides where it was asked for, the codes of the oil circuit where it was not.
    """
    words = view.words("lamp")
    if words:
        return DARK if set(words) == {"never on"} else LIT
    return LIT if OIL_CODES.intersection(view.codes) else UNCLEAR


def _column(table: Table, column: Column, view: JobView) -> dict[Hypothesis, float]:
    total = sum(table.columns[column].values())
    chances = {
        name: odds / total * _kind_factor(table, name, view)
        for name, odds in table.columns[column].items()
    }
    faults = {name: chance for name, chance in chances.items() if name not in ALONE}
    made: dict[Hypothesis, float] = {(name,): chances[name] for name in ALONE}
    made |= {(name,): (1.0 - table.two_faults) * chance for name, chance in faults.items()}
    whole = table.two_faults * sum(faults.values())
    made |= _scaled(_consequences(faults, view), whole * table.consequences)
    made |= _scaled(_unrelated(faults, view), whole * (1.0 - table.consequences))
    return _scaled(made, 1.0)


def _scaled(weights: Mapping[Hypothesis, float], total: float) -> dict[Hypothesis, float]:
    factor = total / sum(weights.values())
    return {key: factor * weight for key, weight in weights.items()}


def _consequences(faults: Mapping[str, float], view: JobView) -> dict[Hypothesis, float]:
    return {
        pair: faults[pair[0]] * CAUSES[pair[0]].brings[pair[1]]
        for pair in _pairs(view)
        if catalogue.link(pair) == "consequence"
    }


def _unrelated(faults: Mapping[str, float], view: JobView) -> dict[Hypothesis, float]:
    return {
        pair: faults[pair[0]] * faults[pair[1]]
        for pair in _pairs(view)
        if catalogue.link(pair) == "unrelated"
    }


def _pairs(view: JobView) -> list[Hypothesis]:
    return [pair for pair in catalogue.pairs() if all(catalogue.suits(name, view) for name in pair)]


def _kind_factor(table: Table, name: str, view: JobView) -> float:
    """How much likelier the cause is on this kind of engine than among all cars."""
    if not catalogue.suits(name, view):
        return MISDESCRIBED
    factor = 1.0
    for kind in KINDS:
        allowed = getattr(CAUSES[name], kind)
        if allowed and getattr(view, kind) is not None:
            factor /= sum(table.kinds[kind][word] for word in allowed)
    return factor


Counts = Mapping[tuple[str, ...], float]
"""Closed jobs: the causes that were found, one or two -> how many such jobs."""


def updated(
    table: Table, counts: Counts, strength: float = STRENGTH, column: Column = "lamp"
) -> Table:
    """The table after these closed jobs of the shop.

    Parameters: `counts`; `strength`: how many closed jobs the table itself is worth; `column`:
    the kind of job they were.
    Returns the posterior means.  A column's odds are the mean of a Dirichlet distribution whose
    counts are strength x share before and are raised by the jobs: a job with two causes adds one
    half to each.  The share of two faults, and of consequences among them, follow as beta
    distributions in the same way.  With a positive strength nothing falls to zero.
    Raises ValueError for a cause that is not in the catalogue, a negative count, a strength that
    is not positive.
    Source: conjugate updating of multinomial counts, as in any textbook of Bayesian statistics.
    """
    _check(counts, strength)
    before = table.columns[column]
    total = sum(before.values())
    alpha = {name: strength * odds / total for name, odds in before.items()}
    for causes, count in counts.items():
        for name in causes:
            alpha[name] += count / len(causes)
    faulty = {key: n for key, n in counts.items() if not set(key) & set(ALONE)}
    double = {key: n for key, n in faulty.items() if len(key) == 2}
    brought = sum(n for key, n in double.items() if _is_consequence(key))
    twice, all_faulty = sum(double.values()), sum(faulty.values())
    scale = total / sum(alpha.values())
    return replace(
        table,
        columns={**table.columns, column: {name: scale * a for name, a in alpha.items()}},
        two_faults=_beta_mean(table.two_faults, strength, twice, all_faulty),
        consequences=_beta_mean(table.consequences, strength * table.two_faults, brought, twice),
    )


def followed(table: Table, closed: Mapping[Column, Counts], strength: float = STRENGTH) -> Table:
    """The table after the closed jobs of every kind.

    Each column follows its own jobs; the shares of two faults and of consequences follow all of
    them at once.  Parameters, source and what is raised as `updated`.
    """
    every: dict[tuple[str, ...], float] = {}
    columns = dict(table.columns)
    for column, counts in closed.items():
        columns[column] = updated(table, counts, strength, column).columns[column]
        for causes, count in counts.items():
            every[causes] = every.get(causes, 0.0) + count
    return replace(updated(table, every, strength), columns=columns)


def _beta_mean(share: float, strength: float, hits: float, tries: float) -> float:
    return (strength * share + hits) / (strength + tries)


def _is_consequence(causes: tuple[str, ...]) -> bool:
    known = catalogue.pairs()
    return "consequence" in (known.get(causes), known.get(causes[::-1]))


def _check(counts: Counts, strength: float) -> None:
    if not strength > 0.0:
        raise ValueError(f"found a strength of {strength}; it is a number of jobs above 0")
    for causes, count in counts.items():
        unknown = [name for name in causes if name not in NAMES]
        if unknown:
            raise ValueError(f'found "{unknown[0]}", which is no cause of the catalogue')
        if len(causes) not in (1, 2) or len(set(causes)) != len(causes):
            raise ValueError(f"found {causes}; a closed job has one cause, or two different ones")
        if not count >= 0.0:
            raise ValueError(f"found a count of {count} for {causes}; a count is 0 or more")
