"""The findings, as data: what the evidence room computes and every page shows.

Units are the findings file's own: pressures in kPa, speeds in rpm, temperatures in degC;
`unit` spells it out each time.  Field for field this is the findings contract, format 1.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated

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
class Leak:
    """A hole that would pass the air found missing: round, sharp-edged.

    `diameter` in mm, with the 95 % interval `low`, `high`; `discharge_coefficient` it is told
    for.
    """

    path: str
    diameter: Quantified
    low: float
    high: float
    discharge_coefficient: float
    visit: str | None = None
    conditions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Severity:
    """How large a fault would have to be, in the trade's terms: `text` says it whole."""

    text: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str | None = None


@dataclass(frozen=True)
class Hypothesis:
    """One cause, or two together, and how probable that is among all of them.

    `link`: "single"; "consequence" (the first brings the second); "unrelated".
    """

    causes: tuple[str, ...]
    link: str
    probability: float
    severity: dict[str, Severity] = field(default_factory=dict)


@dataclass(frozen=True)
class Predicted:
    """What a cause predicts of one reading, beside what was read; both with 95 % intervals.

    `pull`: read less predicted, over the standard uncertainty of the two together.
    `speaks`: how much this reading alone moves the odds for this cause against all others, as a
    natural logarithm; positive speaks for it.
    """

    visit: str
    condition: str
    quantity: str
    reference: str | None
    unit: str
    read: float
    read_low: float | None
    read_high: float | None
    predicted: float
    predicted_low: float
    predicted_high: float
    pull: float
    speaks: float


@dataclass(frozen=True)
class Symptom:
    """Something that was seen and told, not measured, and how it moves the odds of a cause."""

    what: str
    saw: str
    speaks: float


@dataclass(frozen=True)
class CauseWeight:
    """One cause: the sum over the hypotheses that contain it, and why.

    `word` is the owner's: "likely", "possible", "not excluded", "hardly".  `before`: its odds
    before any evidence, as a probability.  `predicted` and `symptoms` are given for the leading
    causes alone.
    """

    cause: str
    probability: float
    word: str = ""
    before: float | None = None
    severity: Severity | None = None
    predicted: tuple[Predicted, ...] = ()
    symptoms: tuple[Symptom, ...] = ()


@dataclass(frozen=True)
class Split:
    """One outcome of a test: what would be seen, how likely that is, what it would leave."""

    saw: str
    chance: float
    leaves: tuple[CauseWeight, ...] = ()


@dataclass(frozen=True)
class NextTest:
    """A test worth its time: what to do, what it would tell, and what to mind.

    `expected_bits`: expected drop of the entropy of the causes.  `expected_cost`: expected drop
    of the cost of a wrong call, in minutes of work.  `not_when`: when it must not be done.
    """

    test: str
    expected_bits: float
    minutes: float
    expected_cost: float | None = None
    effort: str = ""
    how: str = ""
    splits: tuple[Split, ...] = ()
    cautions: tuple[str, ...] = ()
    not_when: tuple[str, ...] = ()


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
    leaks: tuple[Leak, ...] = ()
    hypotheses: tuple[Hypothesis, ...] = ()
    causes: tuple[CauseWeight, ...] = ()
    next_tests: tuple[NextTest, ...] = ()
    stop_rule: str | None = None
    warnings: tuple[Caveat, ...] = ()
    method_version: int = field(default=1)
