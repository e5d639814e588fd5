"""Which cause, how large the leak is, what to do next: as the work record sets them."""

from __future__ import annotations

from collections.abc import Sequence

from gaugewright.evidence.results import CauseWeight, Findings, Predicted
from gaugewright.report import blocks, causes, display, phrases, words
from gaugewright.report.blocks import Bar, Block, Cell, Column, Row, Run, cell, soft, strong
from gaugewright.report.carried import carried
from gaugewright.report.cause_chart import MOST, Compared, cause_pictures, compared
from gaugewright.report.keeping import kept
from gaugewright.report.preferences import Preferences

SIDE_BY_SIDE = 4
"""Leading causes compared in one table; more of them get a table of their own."""


def which_cause(
    findings: Findings, preferences: Preferences, width: float, warned: bool = False
) -> list[Block]:
    """The causes with their weights, what speaks for and against, and what they predict.

    `warned`: a limit fails now or the lamp comes on; then it says that no cause acquits.
    """
    heading = blocks.Heading(words.CAUSES_HEAD)
    if not findings.causes:
        return [heading, blocks.Paragraph((Run(words.NOT_WEIGHED),))]
    visits = causes.several_visits(findings.causes)
    said = f"{words.JUDGED} {words.NO_PASS}" if warned else words.JUDGED
    note = blocks.Paragraph((soft(said),), "above")
    rows = [_cause(weight, preferences, visits) for weight in causes.shown(findings)]
    table = _table(words.CAUSE_HEADS, (0.11, 0.33, 0.3, 0.26), rows)
    body = kept(heading, note, table)
    others = causes.rest(findings)
    body += [blocks.Paragraph((Run(phrases.breakable(others)),), "text")] if others else []
    body += _pairs(findings)
    return body + _leading(findings, preferences, width, visits)


def _table(
    heads: Sequence[str], shares: Sequence[float], rows: Sequence[Row | tuple[Cell, ...]]
) -> blocks.Table:
    columns = tuple(Column(cell(soft(h)), s) for h, s in zip(heads, shares, strict=True))
    made = tuple(row if isinstance(row, Row) else Row(row) for row in rows)
    return blocks.Table(columns, made, stacks=True)


def _said(text: str, look: str = "") -> Cell:
    return cell(Run(phrases.breakable(phrases.one_line(text), 18), look))


def _weight(share: float) -> Cell:
    return cell(strong(causes.percent(share, unit=False)), soft(f"{display.NO_BREAK}%"))


def _cause(weight: CauseWeight, preferences: Preferences, visits: bool) -> Row:
    name = strong(phrases.capital(phrases.breakable(causes.name(weight.cause))))
    lines: list[blocks.Line] = [(name,), (Bar(weight.probability),)]
    if weight.severity:
        told = phrases.one_line(display.in_own_units(weight.severity.text, preferences))
        text = phrases.breakable(told)
        lines.append((Run(words.SEVERITY.format(text=text)),))
    sides = (
        _speaking(weight, 1, words.SPEAKS_FOR, preferences, visits),
        _speaking(weight, -1, words.SPEAKS_AGAINST, preferences, visits),
    )
    share = _weight(weight.probability)
    if weight.before is not None:
        share += ((soft(words.BEFORE.format(percent=causes.percent(weight.before))),),)
    return Row((share, tuple(lines), *sides))


def _speaking(
    weight: CauseWeight, side: int, sign: str, preferences: Preferences, visits: bool
) -> Cell:
    said = causes.speaking(weight, side, preferences, visits)
    if not said:
        known = bool(weight.predicted or weight.symptoms)
        return cell(soft(words.NOTHING_SPEAKS)) if known else cell(Run(""))
    gap = f"{sign}{display.NO_BREAK}"
    return tuple(
        (Run(f"{gap}{_small(text)}", "small ink"), Run(f" ({odds})", "soft small"))
        for text, odds in said
    )


def _small(text: str) -> str:
    return phrases.breakable(phrases.clipped(text, 160)[0], 18)


# One fault or two ---------------------------------------------------------------------


def _pairs(findings: Findings) -> list[Block]:
    """Every hypothesis that weighs something, where two faults together are among them."""
    shown = causes.pairs(findings)
    if not shown:
        return []
    rows = []
    for hypothesis in shown:
        name = strong(phrases.capital(phrases.breakable(causes.together(hypothesis))))
        lines: list[blocks.Line] = [(name,), (Bar(hypothesis.probability),)]
        rows.append((_weight(hypothesis.probability), tuple(lines)))
    left = 1.0 - sum(h.probability for h in shown)
    if left > 1e-6:
        other: Cell = ((Run(phrases.capital(words.OTHER_PAIRS)),), (Bar(left),))
        rows.append((_weight(left), other))
    note = blocks.Paragraph((soft(words.ADD_UP),), "above")
    table = _table(words.PAIR_HEADS, (0.11, 0.89), rows)
    return kept(blocks.Heading(words.PAIRS_HEAD, 3), note, table)


# What each leading cause predicts -----------------------------------------------------


def _leading(
    findings: Findings, preferences: Preferences, width: float, visits: bool
) -> list[Block]:
    leading = causes.leading(findings)
    chunks = [leading[i : i + SIDE_BY_SIDE] for i in range(0, len(leading), SIDE_BY_SIDE)]
    body: list[Block] = []
    for number, chunk in enumerate(chunks):
        rows = compared(chunk)
        first, *others = cause_pictures(chunk, preferences, width, visits)
        heads: list[Block] = [blocks.Heading(words.PREDICTED_HEAD, 3)] if number == 0 else []
        note = words.PREDICTED_NOTE
        note += f" {words.LOUDEST.format(count=MOST)}" if len(rows) > MOST else ""
        heads += [blocks.Paragraph((soft(note),), "note")] if number == 0 or others else []
        body.append(blocks.Keep((*heads, first)))
        body += others
        body.append(_predicted(rows, chunk, preferences, visits))
        if number == 0:
            body.append(blocks.Paragraph((soft(words.PREDICTED_TABLE_NOTE),), "note"))
    return body


def _predicted(
    rows: Sequence[Compared], chunk: Sequence[CauseWeight], preferences: Preferences, visits: bool
) -> blocks.Table:
    """Readings down, causes across: what was read, what each predicts, how it moves the odds."""
    share = (1.0 - 0.42) / len(chunk)
    columns = [
        Column(cell(soft(words.PREDICTED_HEADS[0])), 0.26),
        Column(cell(soft(words.PREDICTED_HEADS[1])), 0.16),
    ]
    for weight in chunk:
        name = strong(phrases.capital(phrases.breakable(causes.name(weight.cause), 18)))
        columns.append(Column((((name),), (soft(causes.percent(weight.probability)),)), share))
    made = [
        Row(
            (
                _reading(row.read, visits),
                _read(row.read, preferences),
                *(
                    _foretold(p, weight, preferences, len(chunk) < SIDE_BY_SIDE)
                    for p, weight in zip(row.predictions, chunk, strict=True)
                ),
            )
        )
        for row in rows
    ]
    return blocks.Table(tuple(columns), tuple(made), stacks=True)


def _reading(read: Predicted, visits: bool) -> Cell:
    quantity = strong(
        phrases.capital(phrases.quantity(read.quantity)), phrases.ink_of(read.quantity)
    )
    against = phrases.reference(read.quantity, read.reference)
    where = phrases.breakable(causes.held_in(read, visits), 18)
    lines: list[blocks.Line] = [(quantity,)]
    lines += [(soft(against),)] if against else []
    return (*lines, (soft(where),))


def _read(read: Predicted, preferences: Preferences) -> Cell:
    how = causes.shown_as(read, preferences)
    if read.read_low is None and read.read_high is None:
        return cell(display.number(read.read, None, how))
    if read.read_low is None or read.read_high is None:
        bound = words.BOUND["at most" if read.read_low is None else "at least"]
        return cell(display.number(read.read, None, how, bound + display.NO_BREAK))
    return cell(display.number(read.read, causes.half(read.read_low, read.read_high), how))


def _foretold(
    predicted: Predicted | None, weight: CauseWeight, preferences: Preferences, roomy: bool
) -> Cell:
    if predicted is None:
        return cell(soft(words.DASH))
    how = causes.shown_as(predicted, preferences)
    wide = causes.half(predicted.predicted_low, predicted.predicted_high)
    figure = display.number(predicted.predicted, wide, how)
    only = blocks.Number(figure.whole, figure.fraction, how.unit)
    low, high = (
        display.plain(end, how, wide).rpartition(display.NO_BREAK)[0]
        for end in (predicted.predicted_low, predicted.predicted_high)
    )
    ends = words.ENDS.format(low=low, high=high)
    below = [f"{ends}; {_pull(predicted)}"] if roomy else [ends, _pull(predicted)]
    return ((only,), *((soft(text),) for text in below), _moves(predicted, weight))


def _pull(predicted: Predicted) -> str:
    pattern = words.PULL_UP if predicted.pull >= 0.0 else words.PULL_DOWN
    return pattern.format(times=display.digits(abs(predicted.pull), 1))


def _moves(predicted: Predicted, weight: CauseWeight) -> blocks.Line:
    """How a reading moves the odds, said aloud where it does so most of all."""
    said = causes.odds(predicted.speaks)
    if predicted is causes.strongest(weight, 1):
        return (strong(f"{said}, {words.MOST_FOR}"),)
    if predicted is causes.strongest(weight, -1):
        return (strong(f"{said}, {words.MOST_AGAINST}"),)
    return (Run(said),)


# Leaks --------------------------------------------------------------------------------


def leaks(findings: Findings) -> list[Block]:
    """Each leak with its diameter, interval and discharge coefficient."""
    if not findings.leaks:
        return []
    rows = []
    for leak in findings.leaks:
        diameter, ends, coefficient = causes.leak_figures(leak)
        rows.append(
            (
                _said(phrases.capital(carried(leak.path)), "strong"),
                _said(diameter, "strong"),
                _said(ends),
                _said(coefficient),
                _said(causes.leak_where(leak) or words.DASH),
            )
        )
    table = _table(words.LEAK_HEADS, (0.27, 0.13, 0.18, 0.14, 0.28), rows)
    note = blocks.Paragraph((soft(words.LEAKS_NOTE),), "note")
    return kept(blocks.Heading(words.LEAKS_HEAD), table, note)
