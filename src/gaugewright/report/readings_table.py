"""Every reading, set in columns under its condition's bracket, visits side by side."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from gaugewright.analysis.outcome import Outcome
from gaugewright.evidence.results import Reading
from gaugewright.job.model import Job
from gaugewright.report import blocks, display, phrases, words
from gaugewright.report.blocks import Block, Cell, Column, Group, Row, Run, cell, soft, strong
from gaugewright.report.keeping import kept
from gaugewright.report.preferences import Preferences

MOST_COLUMNS = 4
NAME_SHARE = 0.21
Held = tuple[str, str]
Kind = tuple[str, str | None]


def readings(outcome: Outcome, preferences: Preferences) -> list[Block]:
    """The readings part of the work record."""
    found = outcome.findings.readings
    if not found:
        return [blocks.Heading(words.READINGS), blocks.Paragraph((Run(words.NO_READINGS),))]
    tables = [
        _table(outcome.job, columns, found, preferences)
        for columns in _chunks(list(dict.fromkeys((r.visit, r.condition) for r in found)))
    ]
    note = blocks.Paragraph((soft(words.READINGS_NOTE),), "note")
    body: list[Block] = []
    for number, made in enumerate(tables):
        first = (blocks.Heading(words.READINGS), note) if number == 0 else ()
        body += kept(*first, made)
    return body


def _chunks(columns: list[Held]) -> list[list[Held]]:
    """Columns in tables of at most four, a visit kept together where it fits."""
    chunks: list[list[Held]] = []
    for visit in dict.fromkeys(visit for visit, _ in columns):
        own = [column for column in columns if column[0] == visit]
        for start in range(0, len(own), MOST_COLUMNS):
            part = own[start : start + MOST_COLUMNS]
            if chunks and len(chunks[-1]) + len(part) <= MOST_COLUMNS:
                chunks[-1] += part
            else:
                chunks.append(part)
    return chunks


def _table(
    job: Job, columns: list[Held], found: Iterable[Reading], preferences: Preferences
) -> blocks.Table:
    own = {column: [r for r in found if (r.visit, r.condition) == column] for column in columns}
    kinds = sorted({(r.quantity, r.reference) for rs in own.values() for r in rs}, key=_order)
    share = (1.0 - NAME_SHARE) / max(len(columns), 2)
    rows = _under_each_other([_row(kind, own, preferences) for kind in kinds])
    rows += [row for row in (_cycles_row(own),) if row]
    spare = 1.0 - NAME_SHARE - share * len(columns)
    heads = [Column(cell(soft("")), NAME_SHARE)]
    heads += [Column(_head(job, c, own[c]), share, bracket=True) for c in columns]
    if spare > 0.01:
        heads.append(Column(cell(Run("")), spare))
        rows = [Row((*row.cells, cell(Run(""))), row.ruled) for row in rows]
    return blocks.Table(tuple(heads), tuple(rows), _groups(job, columns, spare > 0.01))


def _order(kind: Kind) -> tuple[int, str, int]:
    names = list(words.QUANTITY)
    place = names.index(kind[0]) if kind[0] in names else len(names)
    references = ["atmosphere", "crankcase", "vacuum", None]
    return place, kind[0], references.index(kind[1]) if kind[1] in references else 9


# Heads --------------------------------------------------------------------------------


def _groups(job: Job, columns: list[Held], spare: bool) -> tuple[Group, ...]:
    groups = [Group("", 1)]
    for visit in dict.fromkeys(visit for visit, _ in columns):
        stated = phrases.visit_named(job, visit)
        day = phrases.date(stated.date) if stated else ""
        name = f"{visit}, {day}" if day else visit
        groups.append(
            Group(phrases.label(name, 16), sum(1 for column in columns if column[0] == visit))
        )
    return tuple([*groups, Group("", 1)] if spare else groups)


def _head(job: Job, column: Held, own: list[Reading]) -> Cell:
    did = _did(job, column)
    said = phrases.listed(words.DID.get(word, word) for word in did)
    lines: list[blocks.Line] = [(strong(phrases.label(column[1], 16)),)]
    lines += [(soft(said),)] if said and said != column[1] else []
    held = _held(own)
    return tuple([*lines, (soft(held),)] if held else lines)


def _did(job: Job, column: Held) -> tuple[str, ...]:
    return next(
        (
            condition.did
            for recording in job.recordings
            if recording.visit in (column[0], None)
            for condition in recording.conditions
            if condition.name == column[1]
        ),
        (),
    )


def _held(own: list[Reading]) -> str:
    """The speed and oil temperature that most readings of a condition hold for."""
    said = [state for state in map(_state, own) if state]
    return max(dict.fromkeys(said), key=said.count, default="")


def _state(reading: Reading) -> str:
    parts = []
    if reading.speed and reading.quantity != "engine-speed":
        parts.append(display.rpm(reading.speed.value))
    if reading.oil_temperature and reading.quantity.endswith("-pressure"):
        warm = display.digits(reading.oil_temperature.value, 0)
        parts.append(f"{warm}{display.NO_BREAK}°C")
    return ", ".join(parts)


# Rows ---------------------------------------------------------------------------------


def _row(kind: Kind, own: dict[Held, list[Reading]], preferences: Preferences) -> Row:
    quantity, against = kind
    name: Cell = ((strong(phrases.capital(phrases.quantity(quantity)), phrases.ink_of(quantity)),),)
    small = phrases.reference(quantity, against)
    name += ((soft(small),),) if small else ()
    cells = []
    for readings_here in own.values():
        fitting = [r for r in readings_here if (r.quantity, r.reference) == kind]
        cells.append(_cell(fitting, _held(readings_here), preferences))
    return Row((name, *_aligned(cells)))


def _cell(fitting: list[Reading], held: str, preferences: Preferences) -> Cell:
    """The reading the checks use first; of several instruments each one's own below it."""
    if not fitting:
        return cell(soft(words.DASH))
    first = max(fitting, key=lambda r: len(r.signals))
    lines: list[blocks.Line] = [(phrases.reading_number(first, preferences),)]
    state = _state(first)
    if state and state != held and first.quantity.endswith("-pressure"):
        lines.append((soft(state),))
    if first.flags:
        lines.append((soft(phrases.listed(map(phrases.flag, first.flags))),))
    if len(fitting) > 1:
        apart = [r for r in fitting if r is not first or len(r.signals) == 1]
        lines += [_instrument(r, preferences) for r in apart]
    return tuple(lines)


def _instrument(reading: Reading, preferences: Preferences) -> blocks.Line:
    figure = phrases.reading_number(reading, preferences)
    said = f"{figure.whole}{figure.fraction}{display.NO_BREAK}{figure.after}"
    name = ", ".join(reading.signals) or words.BY_HAND
    return (soft(f"{phrases.breakable(name, 18)}: {said}"),)


def _aligned(cells: list[Cell]) -> list[Cell]:
    """Figures of one row keep one room, so that columns read alike."""
    figures = [c[0][0] for c in cells if isinstance(c[0][0], blocks.Number)]
    even = iter(display.aligned([f for f in figures if isinstance(f, blocks.Number)]))
    return [
        ((next(even), *c[0][1:]), *c[1:]) if isinstance(c[0][0], blocks.Number) else c
        for c in cells
    ]


def _under_each_other(rows: list[Row]) -> list[Row]:
    """The same rows, every decimal mark of a column under the one above."""
    figures = [c[0][0] for row in rows for c in row.cells if isinstance(c[0][0], blocks.Number)]
    lead = max((f.lead for f in figures if isinstance(f, blocks.Number)), default=0.0)
    return [Row(tuple(_led(c, lead) for c in row.cells), row.ruled) for row in rows]


def _led(one: Cell, lead: float) -> Cell:
    figure = one[0][0]
    if not isinstance(figure, blocks.Number) or not figure.lead:
        return one
    return ((replace(figure, lead=lead), *one[0][1:]), *one[1:])


def _cycles_row(own: dict[Held, list[Reading]]) -> Row | None:
    cells = []
    counted = False
    for here in own.values():
        cycles = max((r.cycles for r in here if r.cycles), default=None)
        ways = dict.fromkeys(r.behaviour for r in here if r.behaviour)
        said = phrases.listed(words.BEHAVIOUR.get(way, way) for way in ways)
        counted = counted or bool(cycles) or bool(ways)
        figure = strong(display.digits(float(cycles), 0)) if cycles else soft(words.DASH)
        cells.append(cell(figure, soft(f" {said}" if said else "")))
    return Row((cell(strong(phrases.capital(words.CYCLES))), *cells)) if counted else None
