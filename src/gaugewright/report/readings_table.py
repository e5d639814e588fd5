"""Every reading, set in columns under its condition's bracket, visits side by side."""

from __future__ import annotations

from collections.abc import Iterable

from gaugewright.analysis.outcome import Outcome
from gaugewright.evidence.results import Reading
from gaugewright.job.model import Job
from gaugewright.report import blocks, display, phrases, words
from gaugewright.report.blocks import Block, Cell, Column, Group, Row, Run, cell, soft, strong
from gaugewright.report.preferences import Preferences

MOST_COLUMNS = 4
NAME_SHARE = 0.22
MOST_KEPT = 14
Held = tuple[str, str]
Kind = tuple[str, str | None, tuple[str, ...]]


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
    kept: list[Block] = []
    for number, made in enumerate(tables):
        parts = (blocks.Heading(words.READINGS), note, made) if number == 0 else (made,)
        kept += [blocks.Keep(parts)] if len(made.rows) <= MOST_KEPT else list(parts)
    return kept


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
    here = [r for r in found if (r.visit, r.condition) in columns]
    kinds = sorted({_kind(r, here) for r in here}, key=_order)
    share = (1.0 - NAME_SHARE) / max(len(columns), 2)
    rows = [_row(kind, columns, here, preferences) for kind in kinds]
    rows += [row for row in (_cycles_row(columns, here),) if row]
    spare = 1.0 - NAME_SHARE - share * len(columns)
    heads = [Column(cell(soft("")), NAME_SHARE)]
    heads += [Column(_head(job, column, here), share, bracket=True) for column in columns]
    if spare > 0.01:
        heads.append(Column(cell(Run("")), spare))
        rows = [Row((*row.cells, cell(Run(""))), row.ruled) for row in rows]
    return blocks.Table(tuple(heads), tuple(rows), _groups(job, columns, spare > 0.01))


def _groups(job: Job, columns: list[Held], spare: bool) -> tuple[Group, ...]:
    groups = [Group("", 1)]
    for visit in dict.fromkeys(visit for visit, _ in columns):
        stated = phrases.visit_named(job, visit)
        day = phrases.date(stated.date) if stated else ""
        name = f"{visit}, {day}" if day else visit
        groups.append(Group(name, sum(1 for column in columns if column[0] == visit)))
    return tuple([*groups, Group("", 1)] if spare else groups)


def _head(job: Job, column: Held, here: list[Reading]) -> Cell:
    did = next(
        (
            condition.did
            for recording in job.recordings
            if recording.visit in (column[0], None)
            for condition in recording.conditions
            if condition.name == column[1]
        ),
        (),
    )
    said = phrases.listed(words.DID.get(word, word) for word in did)
    by_hand = all(not r.cycles for r in here if (r.visit, r.condition) == column)
    second = said if said != column[1] else ""
    second = second or (words.BY_HAND if by_hand and not did else "")
    first = (strong(phrases.breakable(column[1], 16)),)
    return (first, (soft(second),)) if second else (first,)


def _kind(reading: Reading, here: list[Reading]) -> Kind:
    """Quantity and reference; its signals too where several instruments read it."""
    same = {
        r.signals
        for r in here
        if (r.quantity, r.reference) == (reading.quantity, reading.reference)
        and (r.visit, r.condition) == (reading.visit, reading.condition)
    }
    return reading.quantity, reading.reference, reading.signals if len(same) > 1 else ()


def _order(kind: Kind) -> tuple[int, str, int, int, tuple[str, ...]]:
    names = list(words.QUANTITY)
    place = names.index(kind[0]) if kind[0] in names else len(names)
    references = ["atmosphere", "crankcase", "vacuum", None]
    against = references.index(kind[1]) if kind[1] in references else 9
    return place, kind[0], against, len(kind[2]), kind[2]


def _row(kind: Kind, columns: list[Held], here: list[Reading], preferences: Preferences) -> Row:
    quantity, against, signals = kind
    ink = phrases.ink_of(quantity)
    name: Cell = ((strong(phrases.capital(phrases.quantity(quantity)), ink),),)
    small = phrases.reference(quantity, against)
    name += ((soft(small),),) if small else ()
    name += tuple((soft(phrases.breakable(signal, 18)),) for signal in signals)
    cells = [_cell(_find(kind, column, here), here, preferences) for column in columns]
    return Row((name, *_aligned(cells)))


def _find(kind: Kind, column: Held, here: list[Reading]) -> Reading | None:
    return next(
        (r for r in here if (r.visit, r.condition) == column and _kind(r, here) == kind),
        None,
    ) or next(
        (
            r
            for r in here
            if (r.visit, r.condition) == column
            and not kind[2]
            and (r.quantity, r.reference) == kind[:2]
            and _kind(r, here)[2] == ()
        ),
        None,
    )


def _cell(reading: Reading | None, here: list[Reading], preferences: Preferences) -> Cell:
    if reading is None:
        return cell(soft(words.DASH))
    lines: list[blocks.Line] = [(phrases.reading_number(reading, preferences),)]
    lines += [(soft(said),) for said in _circumstances(reading, here, preferences)]
    return tuple(lines)


def _circumstances(reading: Reading, here: list[Reading], preferences: Preferences) -> list[str]:
    """What stands small under a figure: speed, oil temperature, flags."""
    said = []
    own = {r.quantity for r in here if (r.visit, r.condition) == (reading.visit, reading.condition)}
    held = []
    if reading.speed and reading.quantity != "engine-speed":
        held.append(f"{display.digits(reading.speed.value, 0)}{display.NO_BREAK}rpm")
    temperature = reading.oil_temperature
    if temperature and reading.quantity != "oil-temperature" and "pressure" in reading.quantity:
        how = display.shown("oil-temperature", temperature.unit, preferences)
        half = 1.96 * temperature.standard_uncertainty if temperature.standard_uncertainty else None
        held.append(display.plain(temperature.value, how, half))
    said += [", ".join(held)] if held and own else []
    said += [phrases.listed(phrases.flag(code) for code in reading.flags)] if reading.flags else []
    return said


def _aligned(cells: list[Cell]) -> list[Cell]:
    """Figures of one row keep one room, so that columns read alike."""
    figures = [c[0][0] for c in cells if isinstance(c[0][0], blocks.Number)]
    even = iter(display.aligned([f for f in figures if isinstance(f, blocks.Number)]))
    return [
        ((next(even), *c[0][1:]), *c[1:]) if isinstance(c[0][0], blocks.Number) else c
        for c in cells
    ]


def _cycles_row(columns: list[Held], here: list[Reading]) -> Row | None:
    cells = []
    for column in columns:
        own = [r for r in here if (r.visit, r.condition) == column]
        cycles = max((r.cycles for r in own if r.cycles), default=None)
        ways = dict.fromkeys(r.behaviour for r in own if r.behaviour)
        said = phrases.listed(words.BEHAVIOUR.get(way, way) for way in ways)
        counted = display.digits(float(cycles), 0) if cycles else words.DASH
        cells.append(cell(strong(counted), soft(f" {said}" if said else "")))
    if all(words.DASH in str(c) for c in cells):
        return None
    return Row((cell(strong(phrases.capital(words.CYCLES))), *cells))
