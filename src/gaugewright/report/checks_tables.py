"""Limits and reference checks, as the work record sets them."""

from __future__ import annotations

from gaugewright.analysis.outcome import Outcome
from gaugewright.evidence.results import LimitCheck, ReferenceCheck
from gaugewright.job.model import Job, Limit
from gaugewright.report import blocks, display, phrases, words
from gaugewright.report.blocks import Block, Cell, Column, Row, Run, cell, soft, strong
from gaugewright.report.keeping import kept
from gaugewright.report.preferences import Preferences
from gaugewright.report.slope_chart import slope_picture

NUMBERED = ("engine-speed", "oil-temperature")


def _table(heads: tuple[str, ...], shares: tuple[float, ...], rows: list[Row]) -> blocks.Table:
    columns = tuple(Column(cell(soft(h)), s) for h, s in zip(heads, shares, strict=True))
    return blocks.Table(columns, tuple(rows))


def _said(text: str, look: str = "") -> Cell:
    return cell(Run(phrases.breakable(phrases.one_line(text), 18), look))


# Limits -------------------------------------------------------------------------------


def limits(outcome: Outcome, preferences: Preferences) -> list[Block]:
    """Every limit with its source; under each the checks, gauge first, visit by visit."""
    job, checks = outcome.job, outcome.findings.limit_checks
    if not job.limits and not checks:
        return [blocks.Heading(words.LIMITS), blocks.Paragraph((Run(words.NO_LIMITS),))]
    note = blocks.Paragraph((soft(words.LIMITS_NOTE),), "note")
    body: list[Block] = [blocks.Heading(words.LIMITS), note]
    names = dict.fromkeys([*(x.name for x in job.limits), *(c.limit for c in checks)])
    for name in names:
        stated = next((x for x in job.limits if x.name == name), None)
        own = [c for c in checks if c.limit == name]
        body += _limit(name, stated, own, job, preferences)
    return [*kept(*_opened(body[:3])), *body[3:]]


def _opened(body: list[Block]) -> tuple[Block, ...]:
    """The same blocks, those kept together taken out of their keeping."""
    return tuple(
        b for part in body for b in (part.blocks if isinstance(part, blocks.Keep) else (part,))
    )


LIMIT_SHARES = (0.1, 0.25, 0.16, 0.1, 0.11, 0.28)


def _limit(
    name: str, stated: Limit | None, checks: list[LimitCheck], job: Job, preferences: Preferences
) -> list[Block]:
    line = blocks.Paragraph(_limit_says(name, stated, checks, preferences))
    if not checks:
        runs = (*line.runs, Run(". "), strong(phrases.capital(words.UNMEASURED) + "."))
        return [blocks.Paragraph(runs)]
    order = {visit.name: i for i, visit in enumerate(job.visits)}
    ranked = sorted(checks, key=lambda c: (order.get(c.visit or "", 99), _seq(c, checks)))
    rows = [
        _check_row(check, ranked[i - 1] if i else None, preferences)
        for i, check in enumerate(ranked)
    ]
    heading = blocks.Paragraph(line.runs, "lead")
    table = _without_observer(_table(words.LIMIT_HEADS[1:], LIMIT_SHARES, rows), checks)
    return kept(heading, table)


def _without_observer(table: blocks.Table, checks: list[LimitCheck]) -> blocks.Table:
    """The table without its first column where gauge and bearings mean nothing."""
    if any(phrases.observer_of(check) for check in checks):
        return table
    rows = tuple(Row(row.cells[1:], row.ruled) for row in table.rows)
    return blocks.Table(table.columns[1:], rows)


def _seq(check: LimitCheck, checks: list[LimitCheck]) -> tuple[int, int]:
    conditions = list(dict.fromkeys((c.visit, c.condition) for c in checks))
    return conditions.index((check.visit, check.condition)), int(check.seen_by == "bearings")


def _limit_says(
    name: str, stated: Limit | None, checks: list[LimitCheck], preferences: Preferences
) -> blocks.Line:
    quantity = stated.quantity if stated else checks[0].quantity
    values = phrases.limit_values(stated) if stated else checks[0].limit_value
    unit = phrases.finding_unit(quantity)
    asks = phrases.limit_value(values, quantity, unit, preferences)
    state = phrases.held_at(stated) if stated else ""
    text = stated.printed if stated else None
    printed = words.PRINTED.format(text=text) if text else ""
    source = stated.source if stated else ""
    rest = ", ".join(p for p in (state and words.HELD_AT.format(state=state), printed, source) if p)
    ink = phrases.ink_of(quantity)
    return (
        strong(phrases.capital(phrases.quantity(quantity)), ink),
        strong(f" {phrases.breakable(name)}: {asks}"),
        soft(phrases.breakable(f", {rest}" if rest else "")),
    )


def _check_row(check: LimitCheck, before: LimitCheck | None, preferences: Preferences) -> Row:
    same = before is not None and (before.visit, before.condition) == (check.visit, check.condition)
    where = (
        ""
        if same
        else ", ".join(phrases.clipped(p, 60)[0] for p in (check.visit, check.condition) if p)
    )
    observer = phrases.observer_of(check)
    plate = phrases.verdict_plate(check.verdict, observer)
    verdict: list[blocks.Line] = [(plate,)]
    if check.flags:
        verdict.append((soft(phrases.listed(phrases.flag(code) for code in check.flags)),))
    return Row(
        (
            cell(Run(words.SEEN_BY.get(observer, words.DASH))),
            _where(where, check),
            cell(_check_number(check, preferences))
            if check.value is not None
            else _said(words.DASH),
            _guard(check, preferences),
            _said(_chance(check)),
            tuple(verdict),
        ),
        ruled=not same,
    )


def _where(where: str, check: LimitCheck) -> Cell:
    at = "" if not where or not check.at else phrases.at(check.at)
    first = (Run(phrases.breakable(where, 18)),)
    return (first, (soft(words.HELD_AT.format(state=at)),)) if at else (first,)


def _check_number(check: LimitCheck, preferences: Preferences) -> blocks.Number:
    how = display.shown(check.quantity, check.unit, preferences)
    ranged = check.probability_low is not None and check.probability_low != check.probability_high
    spread = None if ranged else 1.96 * (check.standard_uncertainty or 0.0)
    return display.number(check.value or 0.0, spread, how)


def _guard(check: LimitCheck, preferences: Preferences) -> Cell:
    if check.guard_band is None:
        return _said(words.DASH)
    how = display.shown(check.quantity, check.unit, preferences)
    places = display.decimals(check.guard_band / how.per_unit, how.most_decimals)
    figure = display.digits(check.guard_band / how.per_unit, places)
    return cell(Run(figure), soft(f"{display.NO_BREAK}{how.unit}"))


def _chance(check: LimitCheck) -> str:
    low, high = check.probability_low, check.probability_high
    if low is not None and high is not None and low != high:
        return words.ENDS.format(low=_percent(low), high=_percent(high))
    chance = check.probability_of_meeting
    return words.DASH if chance is None else _percent(chance)


def _percent(chance: float) -> str:
    if chance > 0.999:
        return words.OVER.replace(" %", f"{display.NO_BREAK}%")
    if chance < 0.001:
        return words.UNDER.replace(" %", f"{display.NO_BREAK}%")
    places = 1 if chance > 0.95 or chance < 0.05 else 0
    return f"{display.digits(100 * chance, places)}{display.NO_BREAK}%"


# Reference checks ---------------------------------------------------------------------


def reference_checks(outcome: Outcome, preferences: Preferences, width: float) -> list[Block]:
    """Each state's reference check: its sentence, and its picture where data allow."""
    checks = outcome.findings.reference_checks
    parts = [_reference_check(check, outcome, preferences, width) for check in checks]
    if not parts:
        return []
    first = blocks.Keep((blocks.Heading(words.CHECKS), *parts[0]))
    return [first, *(blocks.Keep(part) for part in parts[1:])]


def _reference_check(
    check: ReferenceCheck, outcome: Outcome, preferences: Preferences, width: float
) -> tuple[Block, ...]:
    verdict = words.CHECK_VERDICT.get(check.verdict, check.verdict)
    runs: list[blocks.Inline] = [strong(f"{phrases.capital(phrases.label(check.visit))}: ")]
    runs += _slope(check)
    runs.append(Run(phrases.sentence(verdict) + " "))
    runs.append(Run(words.CHECK_EXPLAINS.get(check.explains, check.explains) + " "))
    if check.effect:
        how = display.shown("crankcase-pressure", check.effect.unit, preferences)
        half = 0.5 * (check.effect.high - check.effect.low)
        figure = display.number(check.effect.value, half, how)
        effect = f"{figure.whole}{figure.fraction}{display.NO_BREAK}{figure.after}"
        runs.append(soft(words.CHECK_EFFECT.format(effect=effect) + " "))
    if check.flags:
        runs.append(soft(phrases.sentence(phrases.listed(map(phrases.flag, check.flags)))))
    picture = slope_picture(check, outcome.findings, preferences, width)
    says = blocks.Paragraph(tuple(runs))
    return (says, picture) if picture else (says,)


def _slope(check: ReferenceCheck) -> list[blocks.Inline]:
    if check.slope is None:
        return []
    runs: list[blocks.Inline] = [Run(words.SLOPE), strong(display.digits(check.slope, 2))]
    if check.low is not None and check.high is not None:
        low, high = display.digits(check.low, 2), display.digits(check.high, 2)
        runs.append(soft(f" ({words.ENDS.format(low=low, high=high)})"))
    return [*runs, Run(". ")]
