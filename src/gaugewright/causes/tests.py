"""What one could do next: how, how long, with what cautions, and when it must not be done.

The table is tests.toml beside this module.  Minutes and chances of outcomes are judgement.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import Any, ClassVar, Literal

from gaugewright.causes import rows, symptoms
from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.rows import Rows, rows_of
from gaugewright.causes.view import JobView
from gaugewright.job.words import LASTING, TESTED
from gaugewright.physics.numbers import Floats

FITS = ("ventilation", "oil_pump", "fuel", "metering", "ignition")
"""What an engine's kind is told by, as far as a test depends on it."""
TRIM_QUANTITIES = ("fuel-trim-short", "fuel-trim-long")
HIGH_CRANKCASE_PA, DEEP_VACUUM_PA = 3e3, -15e3
"""What a crankcase stands at, against the outside air, beyond which it is not closed or pulled on
any further (the trade's figures, as the sentences of tests.toml have them)."""
KNOCK = (
    "Engine off: a knock was heard. It is not started again before the bearings have been looked "
    "at, whatever a measurement would tell."
)
NO_PRESSURE = (
    "Engine off: there is no oil pressure to run it on. It is not started again before the reason "
    "has been found with the engine at rest."
)


@dataclass(frozen=True)
class TestCondition:
    """One way to hold the engine in a test, for the virtual engine to predict.

    `speed_rpm` None: left to idle.  `oil`: "hot" or "cold".  `for_s` None: until it has settled.
    `quantities`: what is read in it.
    """

    __test__: ClassVar[bool] = False
    did: tuple[str, ...]
    quantities: tuple[str, ...]
    oil: Literal["hot", "cold"] = "hot"
    speed_rpm: float | None = None
    for_s: float | None = None


@dataclass(frozen=True)
class Test:
    """One test.

    `kind`: "condition": `conditions` tell how the engine is held; "look": `rows` holds P(outcome |
    cause).  `minutes` of work; `parts_minutes`: what its parts cost, in minutes of work.  `runs`:
    the engine runs in it.  `did`: the action its readings are marked with, None for a plain look.
    `answers`: observations of the job format that it settles, its own where it is looked at.
    `cautions`, `not_when`: sentences.
    """

    __test__: ClassVar[bool] = False
    name: str
    kind: Literal["condition", "look"]
    title: str
    how: str
    minutes: float
    effort: str
    cautions: tuple[str, ...]
    not_when: tuple[str, ...]
    parts_minutes: float = 0.0
    runs: bool = False
    did: str | None = None
    conditions: tuple[TestCondition, ...] = ()
    rows: Rows | None = None
    answers: tuple[str, ...] = ()
    fits: Mapping[str, tuple[str, ...]] | None = None

    @property
    def lasting(self) -> str | None:
        """The lasting action that is done before the conditions; None where nothing stays."""
        return self.did if self.did in LASTING else None

    @property
    def outcomes(self) -> tuple[str, ...]:
        """What a look can show, in the order of `chances`; empty for a condition."""
        return self.rows.words if self.rows is not None else ()


def tests_for(
    view: JobView,
    stopped: bool = False,  # noqa: PT028 no test
    crankcase_pa: Collection[float] = (),  # noqa: PT028
) -> tuple[Test, ...]:
    """Which tests fit this engine, may be done on it as it stands, and would settle something?

    Parameters: `stopped`: the engine must not run (no oil pressure was measured); a knock in the
    observations has the same effect.  Then only what is done with the engine off is left.
    `crankcase_pa`: what a gauge on the crankcase read, nothing touched, Pa.
    Returns the tests in the table's order; conditions without the quantities this engine has none
    of.  A test that would repeat a stretch already recorded is the caller's to leave out.
    """
    off = stop_rule(view, stopped) is not None
    barred = _barred(view, crankcase_pa)
    fitting = (one for one in every_test() if not (off and one.runs) and _fits(one, view))
    allowed = (one for one in fitting if barred.isdisjoint(one.not_when))
    return tuple(_suited(one, view) for one in allowed if not _answered(one, view))


def _barred(view: JobView, crankcase_pa: Collection[float]) -> frozenset[str]:
    """The sentences of when a test must not be done that hold for this engine, as far as known."""
    levels = set(view.words("oil-level"))
    holds = {
        "overfull": "above maximum" in levels,
        "low-level": bool({"not on the dipstick", "below minimum"} & levels),
        "high-crankcase": any(pressure > HIGH_CRANKCASE_PA for pressure in crankcase_pa),
        "deep-vacuum": any(pressure < DEEP_VACUUM_PA for pressure in crankcase_pa),
    }
    said = _file()["not_when"]
    return frozenset(said[key] for key, true in holds.items() if true)


def stop_rule(view: JobView, no_pressure: bool = False) -> str | None:
    """Why the engine must not be started for a test, as a sentence; None where it may be.

    Parameters: `no_pressure`: oil pressure was measured and is truly absent.
    Source: common practice, no source.
    """
    if no_pressure:
        return NO_PRESSURE
    return KNOCK if "knock under load" in view.words("noise") else None


def chances(test: Test, hypotheses: Sequence[Hypothesis]) -> Floats:
    """P(outcome | hypothesis) of a look, (outcomes, hypotheses); each column adds up to 1.

    Raises ValueError for a test whose outcomes the virtual engine predicts.
    """
    if test.rows is None:
        raise ValueError(f'the outcomes of "{test.name}" come from the virtual engine')
    return rows.table(test.rows, hypotheses)


def _fits(test: Test, view: JobView) -> bool:
    stated = {key: getattr(view, key) for key in FITS}
    allowed = test.fits or {}
    return all(stated[key] is None or stated[key] in words for key, words in allowed.items())


def _answered(test: Test, view: JobView) -> bool:
    return bool(test.answers) and all(view.words(what) for what in test.answers)


def _suited(test: Test, view: JobView) -> Test:
    """The same without trims where the engine has none to read."""
    if view.metering != "none" and view.fuel != "diesel":
        return test
    return _without(test, TRIM_QUANTITIES)


def _without(test: Test, absent: Sequence[str]) -> Test:
    kept = tuple(
        replace(one, quantities=tuple(q for q in one.quantities if q not in absent))
        for one in test.conditions
    )
    return replace(test, conditions=kept)


@cache
def every_test() -> tuple[Test, ...]:
    """The whole table."""
    stated = _file()
    return tuple(_test(row, stated) for row in stated["test"])


@cache
def decisive() -> Mapping[str, str]:
    """Cause -> the name of the test that the trade holds to decide on it; faults only."""
    found: dict[str, str] = _file()["decisive"]
    return found


@cache
def cautions() -> Mapping[str, str]:
    """Every caution by its key."""
    found: dict[str, str] = _file()["cautions"]
    return found


@cache
def _file() -> dict[str, Any]:
    text = resources.files(__package__).joinpath("tests.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _test(row: Mapping[str, Any], stated: Mapping[str, Any]) -> Test:
    conditions = tuple(_condition(one) for one in row.get("conditions", ()))
    return Test(
        name=row["name"],
        kind="condition" if conditions else "look",
        title=row["title"],
        how=row["how"],
        minutes=float(row["minutes"]),
        effort=row["effort"],
        cautions=tuple(stated["cautions"][key] for key in row["cautions"]),
        not_when=tuple(stated["not_when"][key] for key in row.get("not_when", ())),
        parts_minutes=float(row.get("parts_minutes", 0.0)),
        runs=row.get("runs", False),
        did=row.get("did"),
        conditions=conditions,
        rows=None if conditions else _outcomes(row),
        answers=tuple(row.get("answers", [row["name"]] if row["name"] in TESTED else ())),
        fits={key: tuple(row[key]) for key in FITS if key in row},
    )


def _condition(row: Mapping[str, Any]) -> TestCondition:
    listed = {key: tuple(row[key]) for key in ("did", "quantities")}
    return TestCondition(**{**row, **listed})


def _outcomes(row: Mapping[str, Any]) -> Rows:
    if "outcomes_from" in row:
        return symptoms.signs()[row["outcomes_from"]].rows
    return rows_of(TESTED[row["name"]], row["usual"], row["default"], row["but"])
