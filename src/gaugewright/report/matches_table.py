"""Matches and switches, as the work record sets them."""

from __future__ import annotations

from gaugewright.analysis.outcome import Outcome
from gaugewright.evidence.results import Match, SwitchCheck
from gaugewright.report import blocks, display, phrases, words
from gaugewright.report.blocks import Block, Cell, Column, Row, Run, cell, soft, strong
from gaugewright.report.keeping import kept
from gaugewright.report.preferences import Preferences

Kind = tuple[str, str | None]
Pair = tuple[str, str, str, str]
MOST_KINDS = 4
PAIR_SHARE = 0.36


def matches(outcome: Outcome, preferences: Preferences) -> list[Block]:
    """Readings brought to one speed: a row for each pair of conditions, within visits first."""
    found = outcome.findings.matches
    if not found:
        return []
    shown = [m for m in found if not _told_elsewhere(m, found)]
    note = [soft(words.MATCHES_ABSOLUTE)] if len(shown) < len(found) else []
    body: list[Block] = [blocks.Heading(words.MATCHES)]
    body += [blocks.Paragraph(tuple(note), "note")] if note else []
    for title, across in ((words.MATCHES_WITHIN, False), (words.MATCHES_ACROSS, True)):
        own = [m for m in shown if _across(m) == across]
        if own:
            body += _tables(phrases.capital(title), own, preferences)
    return body


def _across(match: Match) -> bool:
    return match.from_visit not in (None, match.visit)


def _pair(match: Match) -> Pair:
    return match.from_visit or match.visit, match.from_, match.visit, match.to


def _told_elsewhere(match: Match, found: tuple[Match, ...]) -> bool:
    """Whether the same difference stands against the outside air as well."""
    return match.reference == "vacuum" and any(
        other.reference == "atmosphere"
        and other.quantity == match.quantity
        and _pair(other) == _pair(match)
        for other in found
    )


def _tables(title: str, own: list[Match], preferences: Preferences) -> list[Block]:
    kinds = list(dict.fromkeys((m.quantity, m.reference) for m in own))
    pairs = list(dict.fromkeys(_pair(m) for m in own))
    body: list[Block] = []
    for start in range(0, len(kinds), MOST_KINDS):
        part = kinds[start : start + MOST_KINDS]
        share = (1.0 - PAIR_SHARE) / max(len(part), 3)
        columns = [Column(cell(soft(words.MATCH_FROM_TO)), PAIR_SHARE)]
        columns += [Column(_head(kind), share) for kind in part]
        spare = 1.0 - PAIR_SHARE - share * len(part)
        columns += [Column(cell(Run("")), spare)] if spare > 0.01 else []
        rows = [_row(pair, part, own, preferences, spare > 0.01) for pair in pairs]
        table = blocks.Table(tuple(columns), tuple(rows))
        body += kept(blocks.Heading(title, 3), table)
    return body


def _head(kind: Kind) -> Cell:
    name = (strong(phrases.capital(phrases.quantity(kind[0])), phrases.ink_of(kind[0])),)
    small = phrases.reference(*kind)
    return (name, (soft(small),)) if small else (name,)


def _row(
    pair: Pair, kinds: list[Kind], own: list[Match], preferences: Preferences, spare: bool
) -> Row:
    cells: list[Cell] = [_name(pair)]
    for kind in kinds:
        match = next(
            (m for m in own if _pair(m) == pair and (m.quantity, m.reference) == kind), None
        )
        cells.append(_cell(match, preferences))
    return Row((*cells, cell(Run(""))) if spare else tuple(cells))


def _name(pair: Pair) -> Cell:
    visit, start, other, end = (phrases.label(part, 18) for part in pair)
    said = start if start == end else f"{start} \u2192 {end}"
    visits = visit if visit == other else f"{visit} \u2192 {other}"
    return ((Run(said),), (soft(visits),))


def _cell(match: Match | None, preferences: Preferences) -> Cell:
    if match is None:
        return cell(soft(words.DASH))
    how = display.shown(match.quantity, match.unit, preferences, signed=True)
    figure = display.number(match.difference, 0.5 * (match.high - match.low), how)
    notes = [words.HELD_AT.format(state=phrases.at(match.at))] if match.at else []
    notes += [words.EXTRAPOLATED] if match.extrapolated else []
    notes += [phrases.flag(code) for code in match.flags]
    return ((figure,), (soft(", ".join(notes)),)) if notes else ((figure,),)


def switches(outcome: Outcome) -> list[Block]:
    """Each pressure switch: for which share of the time it would light its lamp."""
    found = outcome.findings.switch_checks
    if not found:
        return []
    groups: dict[tuple[str, str, str, str], list[str]] = {}
    for check in found:
        key = (check.switch, check.visit or "", _share(check), check.explains_lamp)
        groups.setdefault(key, []).append(check.condition)
    rows = [
        Row(
            (
                _said(phrases.clipped(switch, 60)[0], "strong"),
                _said(phrases.clipped(visit, 60)[0]),
                _said(", ".join(phrases.clipped(h, 60)[0] for h in held)),
                _said(s),
                _said(words.EXPLAINS_LAMP.get(e, e)),
            )
        )
        for (switch, visit, s, e), held in groups.items()
    ]
    shares = (0.16, 0.18, 0.3, 0.2, 0.16)
    heads = tuple(
        Column(cell(soft(h)), share) for h, share in zip(words.SWITCH_HEADS, shares, strict=True)
    )
    return kept(blocks.Heading(words.SWITCHES), blocks.Table(heads, tuple(rows)))


def _said(text: str, look: str = "") -> Cell:
    return cell(Run(phrases.breakable(phrases.one_line(text), 18), look))


def _share(check: SwitchCheck) -> str:
    if check.lamp_on_share is None:
        return words.UNMEASURED
    said = f"{display.digits(100 * check.lamp_on_share, 0)}{display.NO_BREAK}%"
    if check.share_low is None or check.share_high is None:
        return said
    low, high = (display.digits(100 * end, 0) for end in (check.share_low, check.share_high))
    ends = words.ENDS.format(low=low, high=high)
    return said if low == high else f"{said} ({ends}{display.NO_BREAK}%)"
