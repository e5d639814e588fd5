"""A practice job's truth as rows of words and figures for the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from gaugewright.cli.rows import figure, seen_from
from gaugewright.cli.table import NO_VALUE, Row, Table, grouped
from gaugewright.evidence.results import CauseWeight, Findings, Reading
from gaugewright.examples.practice.seal import Opened
from gaugewright.examples.practice.truth import Fault, TrueReading, Truth
from gaugewright.report import causes, words
from gaugewright.report.display import shown
from gaugewright.report.preferences import Preferences

HEADING = "What was the matter"
SOUND = "nothing-wrong"
NOTHING_WRONG = "nothing was wrong with the engine"
HOW_BAD = ((0.35, "slight"), (0.6, "moderate"), (0.8, "heavy"), (1.01, "gross"))
TRIM_WORD = "fuel trim, short and long"
TRIMS = ("fuel-trim-short", "fuel-trim-long")
NOTHING_STOOD_OUT = "no reading left what sound engines show"


def truth_tables(
    inside: Opened, findings: Findings | None, preferences: Preferences
) -> Iterator[Table]:
    """The faults, the true readings (beside what was found), what gave them away, remarks.

    Parameters: the opened truth; the findings of the job, None where it was not analysed.
    """
    truth = inside.truth
    every = (
        faults_table(truth, findings),
        true_table(truth, findings, preferences),
        gave_away_table(truth, preferences),
        remarks_table(inside),
    )
    return (table for table in every if table.rows)


def faults_table(truth: Truth, findings: Findings | None) -> Table:
    """Each fault with how bad it is, in words and in the trade's terms, and how it was weighed.

    Parameters: the findings, None or without causes where nothing was weighed.
    """
    weights = () if findings is None else findings.causes
    heads = ("fault", "how bad", "that is", *(("weighed",) if weights else ()))
    rows = [(*_fault_row(one), *_weighed(one.cause, weights)) for one in _faults(truth)]
    note = ""
    if weights:
        most = max(weights, key=lambda weight: weight.probability)
        note = f"Weighed most: {causes.name(most.cause)}, {causes.percent(most.probability)}."
    return Table(HEADING, heads, grouped(("", row) for row in rows), frozenset({3}), note)


def _faults(truth: Truth) -> tuple[Fault, ...]:
    return truth.faults or (Fault(SOUND, 0.0, NO_VALUE),)


def _fault_row(one: Fault) -> Row:
    bad = NO_VALUE if one.cause == SOUND else how_bad(one)
    return (NOTHING_WRONG if one.cause == SOUND else causes.name(one.cause), bad, one.tells)


def _weighed(cause: str, weights: Sequence[CauseWeight]) -> Row:
    """What the analysis gave this cause; no cell where it weighed none."""
    return tuple(causes.percent(weight.probability) for weight in weights if weight.cause == cause)


def how_bad(fault: Fault) -> str:
    """A fault's severity in one word."""
    return next(word for most, word in HOW_BAD if fault.severity < most)


def true_table(truth: Truth, findings: Findings | None, preferences: Preferences) -> Table:
    """Each true reading by condition: true, found where asked for, and a sound engine's."""
    found = () if findings is None else findings.readings
    middle = () if findings is None else ("found",)
    rows = (
        (
            one.condition,
            (
                name(one),
                value_text(one, one.true, preferences),
                *(found_text(one, found, preferences) for _ in middle),
                value_text(one, one.sound, preferences),
            ),
        )
        for one in truth.readings
    )
    heads = ("quantity", "true", *middle, "a sound engine")
    figures = frozenset(range(1, len(heads)))
    note = "A sound engine: the same one without its faults, where it would settle."
    return Table("True readings", heads, grouped(rows), figures, note)


def name(one: TrueReading) -> str:
    """What was measured and against what, in words."""
    word = words.QUANTITY.get(one.quantity, TRIM_WORD)
    return ", ".join(filter(None, [word, seen_from(one.quantity, one.reference)]))


def value_text(one: TrueReading, value: float | None, preferences: Preferences) -> str:
    """One value of a true reading in the unit shown."""
    if value is None:
        return NO_VALUE
    quantity = one.quantity if one.quantity in words.QUANTITY else TRIMS[0]
    return figure(value, None, shown(quantity, one.unit, preferences))


def found_text(one: TrueReading, found: Iterable[Reading], preferences: Preferences) -> str:
    """What the analysis found for this reading, with its interval; a dash where nothing."""
    wanted = [one.quantity] if one.quantity in words.QUANTITY else list(TRIMS)
    readings = [_found(one, quantity, found) for quantity in wanted]
    if not all(readings):
        return NO_VALUE
    kept = [reading for reading in readings if reading is not None]
    how = shown(wanted[0], one.unit, preferences)
    return figure(sum(reading.value for reading in kept), _half(kept), how)


def _found(one: TrueReading, quantity: str, found: Iterable[Reading]) -> Reading | None:
    """The reading of one quantity; of several, the one with the narrowest interval."""
    same = [
        r
        for r in found
        if (r.condition, r.quantity, r.reference) == (one.condition, quantity, one.reference)
        and r.bound is None
    ]
    return min(same, key=lambda r: r.high - r.low if r.high and r.low else 0.0, default=None)


def _half(readings: Iterable[Reading]) -> float | None:
    ends = [(r.low, r.high) for r in readings]
    halves = [0.5 * (high - low) for low, high in ends if low is not None and high is not None]
    return sum(half * half for half in halves) ** 0.5 if len(halves) == len(ends) else None


def gave_away_table(truth: Truth, preferences: Preferences) -> Table:
    """The readings that the faults moved furthest out of what sound engines show."""
    rows = [
        (
            name(one),
            one.condition,
            value_text(one, one.steady, preferences),
            value_text(one, one.sound, preferences),
            f"{one.stands_out:.0f} times",
        )
        for one in truth.gave_it_away()
    ]
    if not rows:
        rows = [(NOTHING_STOOD_OUT, NO_VALUE, NO_VALUE, NO_VALUE, NO_VALUE)]
    heads = ("reading", "in", "here", "sound", "out by")
    note = "Out by: how many times the spread among sound engines and this job's instruments."
    return Table(
        "What gave it away", heads, grouped(("", row) for row in rows), frozenset({2, 3, 4}), note
    )


def remarks_table(inside: Opened) -> Table:
    """What else is not as it seems, and which files are not as they were made."""
    changed = [f"{name} is not as it was made." for name in inside.changed]
    rows = [(text,) for text in [*inside.truth.besides, *changed]]
    return Table("Besides", ("",), grouped(("", row) for row in rows))
