"""Findings as rows of words and figures for the terminal: text only, no drawing."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

from gaugewright.cli import cause_rows
from gaugewright.cli.table import NO_VALUE, Row, Table, grouped
from gaugewright.evidence.results import (
    Findings,
    LimitCheck,
    Match,
    Quantified,
    Reading,
    ReferenceCheck,
    SwitchCheck,
)
from gaugewright.report import words
from gaugewright.report.display import NO_BREAK, Shown, decimals, digits, shown, stated
from gaugewright.report.preferences import Preferences

NORMAL_95 = 1.96
IN_THEIR_OWN_COLUMNS = ("engine-speed", "oil-temperature")
NOT_SHOWN = "Not shown, but in the findings file: {parts}."


def tables(findings: Findings, preferences: Preferences) -> Iterator[Table]:
    """Every part of the findings that has something to say, in reading order."""
    every = (
        limits_table(findings.limit_checks, preferences),
        readings_table(findings.readings, preferences),
        matches_table(findings.matches, preferences),
        checks_table(findings.reference_checks, preferences),
        switches_table(findings.switch_checks),
        cause_rows.causes_table(findings, preferences),
        cause_rows.pairs_table(findings),
        cause_rows.leaks_table(findings.leaks),
        cause_rows.tests_table(findings, preferences),
        warnings_table(findings),
    )
    return (table for table in every if table.rows)


def readings_table(readings: Iterable[Reading], preferences: Preferences) -> Table:
    """Each reading with its 95 % interval, speed and oil temperature.

    Left to the findings file: absolute pressures that are shown against the outside air, and
    speed and oil temperature for themselves, which stand beside every reading.
    """
    heads = ("quantity", "reading", "speed", "oil", "behaviour")
    every = tuple(readings)
    kept = shown_here(every, lambda r: (r.visit, r.condition, r.quantity))
    groups = grouped((f"{r.visit}: {r.condition}", _reading_row(r, preferences)) for r in kept)
    note = _left_out(len(every), len(kept))
    return Table(words.READINGS, heads, groups, frozenset({1, 2, 3}), note)


Either = TypeVar("Either", Reading, Match)


def shown_here(every: Iterable[Either], same: Callable[[Either], Hashable]) -> list[Either]:
    """Those that the terminal shows; the rest stands elsewhere or says the same again.

    Parameters: readings or matches; what makes two of them the same but for the reference.
    """
    listed = list(every)
    gauged = {same(one) for one in listed if one.reference == "atmosphere"}
    return [
        one
        for one in listed
        if one.quantity not in IN_THEIR_OWN_COLUMNS
        and not (one.reference == "vacuum" and same(one) in gauged)
    ]


def _left_out(every: int, kept: int) -> str:
    if every == kept:
        return ""
    return NOT_SHOWN.format(parts=f"{every - kept} absolute pressures, speeds and oil temperatures")


def _reading_row(reading: Reading, preferences: Preferences) -> Row:
    how = shown(reading.quantity, reading.unit, preferences)
    if reading.reference == "vacuum":
        how = replace(how, signed=False)
    against = seen_from(reading.quantity, reading.reference)
    names = [words.QUANTITY.get(reading.quantity, reading.quantity), against]
    behaviour = words.BEHAVIOUR.get(reading.behaviour or "", "")
    return (
        ", ".join(filter(None, names)),
        _reading_text(reading, how),
        quantified(reading.speed),
        quantified(reading.oil_temperature),
        "; ".join(filter(None, [behaviour, *map(flag_text, reading.flags)])),
    )


def flag_text(flag: str) -> str:
    """A flag in words; one without words of its own is its code, read out."""
    return words.FLAG.get(flag, flag.replace("-", " "))


def _reading_text(reading: Reading, how: Shown) -> str:
    if reading.bound is not None:
        return f"{reading.bound} {figure(reading.value, None, how)}"
    if reading.low is None or reading.high is None:
        return figure(reading.value, None, how)
    return figure(reading.value, 0.5 * (reading.high - reading.low), how)


def seen_from(quantity: str, reference: str | None) -> str:
    """What a reading's pressure is measured against, in words; empty for other quantities."""
    if quantity == "crankcase-pressure":
        return words.REFERENCE_OF_CRANKCASE.get(reference or "", reference or "")
    return words.REFERENCE.get(reference or "", reference or "")


def figure(value: float, expanded: float | None, how: Shown) -> str:
    """A value with the half width of its 95 % interval and its unit, as shown to this user."""
    wide = None if expanded is None else expanded / how.per_unit
    places = decimals(wide, how.most_decimals)
    parts = [digits(how.of(value), places, how.signed)]
    if wide is not None:
        parts.append(f"±{NO_BREAK}{digits(wide, places)}")
    return NO_BREAK.join([*parts, how.unit])


def quantified(value: Quantified | None) -> str:
    """A speed or a temperature with its unit, or a dash where it is not known."""
    if value is None:
        return NO_VALUE
    unit = "°C" if value.unit == "degC" else value.unit
    places = 1 if value.unit == "degC" and value.value != round(value.value) else 0
    return f"{digits(value.value, places)}{NO_BREAK}{unit}"


def state_text(at: Mapping[str, Quantified]) -> str:
    """The state a value is stated for: "820 rpm, 80.0 °C"."""
    return ", ".join(quantified(value) for value in at.values())


def limits_table(checks: Iterable[LimitCheck], preferences: Preferences) -> Table:
    """Each limit: the gauge's check first, the bearings' below it as an explanation."""
    heads = ("visit, condition", "seen by", "value", "verdict", "chance")
    ordered = gauge_first(checks)
    groups = grouped((_limit_heading(c, preferences), _limit_row(c, preferences)) for c in ordered)
    bearings = any(check.seen_by == "bearings" for check in ordered)
    note = words.LIMITS_NOTE * bearings
    return Table(words.LIMITS, heads, groups, frozenset({2, 4}), note)


def gauge_first(checks: Iterable[LimitCheck]) -> list[LimitCheck]:
    """The checks in their order, each one by the bearings straight below its gauge's."""
    groups: dict[tuple[str, str | None, str | None], list[LimitCheck]] = {}
    for check in checks:
        groups.setdefault((check.limit, check.visit, check.condition), []).append(check)
    by_side = [sorted(group, key=lambda c: c.seen_by == "bearings") for group in groups.values()]
    return [check for group in by_side for check in group]


def _limit_heading(check: LimitCheck, preferences: Preferences) -> str:
    how = shown(check.quantity, check.unit, preferences)
    quantity = words.QUANTITY.get(check.quantity, check.quantity)
    asked = words.MAKER_ASKS.format(limit=limit_text(check.limit_value, how))
    state = words.HELD_AT.format(state=state_text(check.at)) if check.at else ""
    return f"{quantity}, {check.limit}: {' '.join(filter(None, [asked, state]))}"


def _limit_row(check: LimitCheck, preferences: Preferences) -> Row:
    how = shown(check.quantity, check.unit, preferences)
    return (
        ", ".join(filter(None, [check.visit, check.condition])) or NO_VALUE,
        words.SEEN_BY.get(check.seen_by, check.seen_by),
        _checked_value(check, how),
        "; ".join([check.verdict, *map(flag_text, check.flags)]),
        chance_text(check),
    )


def _checked_value(check: LimitCheck, how: Shown) -> str:
    if check.value is None:
        return NO_VALUE
    u = check.standard_uncertainty
    return figure(check.value, None if u is None else NORMAL_95 * u, how)


def limit_text(limit: Mapping[str, float], how: Shown) -> str:
    """A limit's ends in the unit shown: "90 to 350 kPa", "90 kPa or more"."""
    low, high = limit.get("min"), limit.get("max")
    if low is not None and high is not None:
        least = stated(low, how).rpartition(NO_BREAK)[0]
        return words.BETWEEN.format(low=least, high=stated(high, how))
    if low is not None:
        return words.OR_MORE.format(low=stated(low, how))
    return NO_VALUE if high is None else words.OR_LESS.format(high=stated(high, how))


def chance_text(check: LimitCheck) -> str:
    """The chance of meeting the limit, in per cent; a range for a one-sided reading."""
    low, high = check.probability_low, check.probability_high
    if low is not None and high is not None:
        return f"{_percent(low)} to {_percent(high)}"
    chance = check.probability_of_meeting
    return NO_VALUE if chance is None else _percent(chance)


def _percent(share: float) -> str:
    if share > 0.999:
        return words.OVER
    return words.UNDER if share < 0.001 else f"{100.0 * share:.1f} %"


def matches_table(matches: Iterable[Match], preferences: Preferences) -> Table:
    """Each match: two readings brought to one speed; absolute ones are left to the file."""
    heads = ("quantity", "at", "difference")
    every = tuple(matches)
    kept = shown_here(every, lambda m: (m.from_visit, m.from_, m.visit, m.to, m.quantity))
    groups = grouped((_match_heading(match), _match_row(match, preferences)) for match in kept)
    return Table(words.MATCHES, heads, groups, frozenset({2}), _left_out(len(every), len(kept)))


def _match_heading(match: Match) -> str:
    begin = f"{match.from_visit or match.visit}: {match.from_}"
    if (match.from_visit or match.visit) == match.visit:
        return f"{begin}, to {match.to}"
    return f"{begin}, to {match.visit}: {match.to}"


def _match_row(match: Match, preferences: Preferences) -> Row:
    how = shown(match.quantity, match.unit, preferences, signed=True)
    against = seen_from(match.quantity, match.reference)
    names = [words.QUANTITY.get(match.quantity, match.quantity), against]
    where = [state_text(match.at), words.EXTRAPOLATED if match.extrapolated else ""]
    wide = 0.5 * (match.high - match.low)
    return (
        ", ".join(filter(None, names)),
        ", ".join(filter(None, where)),
        figure(match.difference, wide, how),
    )


def checks_table(checks: Iterable[ReferenceCheck], preferences: Preferences) -> Table:
    """Each reference check: whether the gauge follows the crankcase, and what that explains."""
    heads = ("visit", "slope (95 %)", "so the gauge", "crankcase", "explains")
    groups = grouped(("", _check_row(check, preferences)) for check in checks)
    return Table(words.CHECKS, heads, groups, frozenset({1, 3}))


def _check_row(check: ReferenceCheck, preferences: Preferences) -> Row:
    slope, effect = NO_VALUE, NO_VALUE
    if check.slope is not None:
        ends = [NO_VALUE if e is None else digits(e, 2) for e in (check.low, check.high)]
        slope = f"{digits(check.slope, 2)} ({ends[0]} to {ends[1]})"
    if check.effect is not None:
        how = shown("crankcase-pressure", check.effect.unit, preferences)
        wide = 0.5 * (check.effect.high - check.effect.low)
        effect = figure(check.effect.value, wide, how)
    return (check.visit, slope, check.verdict, effect, check.explains)


def switches_table(checks: Iterable[SwitchCheck]) -> Table:
    """Each pressure switch: the share of the time for which it would light its lamp."""
    heads = ("visit, condition", "on", "explains the lamp")
    groups = grouped(
        (
            check.switch,
            (
                ", ".join(filter(None, [check.visit, check.condition])),
                _share_text(check),
                check.explains_lamp,
            ),
        )
        for check in checks
    )
    return Table(words.SWITCHES, heads, groups, frozenset({1}))


def _share_text(check: SwitchCheck) -> str:
    if check.lamp_on_share is None:
        return NO_VALUE
    share = f"{100.0 * check.lamp_on_share:.0f} %"
    if check.share_low is None or check.share_high is None:
        return share
    return f"{share} ({100.0 * check.share_low:.0f} to {100.0 * check.share_high:.0f} %)"


def warnings_table(findings: Findings) -> Table:
    """Every warning, with where it applies."""
    groups = grouped((caveat.where, (caveat.text,)) for caveat in findings.warnings)
    return Table(words.WARNINGS, ("",), groups)
