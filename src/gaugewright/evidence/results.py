"""The findings, as data: what the evidence room computes and every page shows.

Units are the findings file's own: pressures in kPa, speeds in rpm, temperatures in degC;
`unit` spells it out each time.  Field for field this is the findings contract, format 1.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Any

from pydantic import Field

From = Annotated[str, Field(alias="from")]


@dataclass(frozen=True)
class Quantified:
    """A value with its unit and, where one is known, its standard uncertainty."""

    value: float
    unit: str
    standard_uncertainty: float | None = None


@dataclass(frozen=True)
class Reading:
    """One quantity in one condition, against one reference, with its 95 % interval."""

    visit: str
    condition: str
    quantity: str
    reference: str | None
    signals: tuple[str, ...]
    unit: str
    value: float
    standard_uncertainty: float | None
    dof: float | None
    low: float | None
    high: float | None
    bound: str | None
    cycles: int | None
    speed: Quantified | None
    oil_temperature: Quantified | None
    behaviour: str | None
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class Match:
    """Two readings of one quantity brought to one speed: `to` minus `from`."""

    visit: str
    quantity: str
    reference: str | None
    from_: From
    to: str
    at: dict[str, Quantified]
    extrapolated: bool
    unit: str
    difference: float
    standard_uncertainty: float
    low: float
    high: float
    from_visit: str | None = None
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class Effect:
    """How much of the gauge's reading is the crankcase's doing, as found."""

    value: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True)
class ReferenceCheck:
    """How far the gauge moves for each unit of crankcase pressure, within one state."""

    visit: str
    slope: float | None
    standard_uncertainty: float | None
    low: float | None
    high: float | None
    verdict: str
    effect: Effect | None
    explains: str
    conditions: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class LimitCheck:
    """One limit against one condition, as the gauge or as the bearings see it."""

    limit: str
    quantity: str
    seen_by: str
    condition: str | None
    at: dict[str, Quantified]
    limit_value: dict[str, float]
    unit: str
    value: float | None
    standard_uncertainty: float | None
    guard_band: float | None
    probability_of_meeting: float | None
    verdict: str
    visit: str | None = None
    probability_low: float | None = None
    probability_high: float | None = None
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class SwitchCheck:
    """The share of a condition's time for which a pressure switch would light its lamp."""

    switch: str
    condition: str
    lamp_on_share: float | None
    share_low: float | None
    share_high: float | None
    explains_lamp: str
    visit: str | None = None


@dataclass(frozen=True)
class Caveat:
    """Something the reader has to know: a code, a sentence, and where it applies."""

    code: str
    text: str
    where: str


@dataclass(frozen=True)
class Findings:
    """All that an analysis found; what could not be computed is absent, with a warning."""

    format: int
    job: str
    readings: tuple[Reading, ...] = ()
    matches: tuple[Match, ...] = ()
    reference_checks: tuple[ReferenceCheck, ...] = ()
    limit_checks: tuple[LimitCheck, ...] = ()
    switch_checks: tuple[SwitchCheck, ...] = ()
    leaks: tuple[dict[str, Any], ...] = ()
    hypotheses: tuple[dict[str, Any], ...] = ()
    causes: tuple[dict[str, Any], ...] = ()
    next_tests: tuple[dict[str, Any], ...] = ()
    warnings: tuple[Caveat, ...] = ()
    method_version: int = field(default=1)
