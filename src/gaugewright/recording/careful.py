"""The careful reader: line by line, for texts with awkward places; says where it stumbles."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from gaugewright.errors import InputError, Problem
from gaugewright.quantities.said import said
from gaugewright.recording import cells
from gaugewright.recording.layout import Layout
from gaugewright.recording.tables import Table, counted
from gaugewright.recording.types import Floats, Note

_LINES = 20_000
_PADDING = "\n\r\ufeff\x00 \t"


@dataclass
class _Gathered:
    """What has been read so far; grows by one part for each stretch of lines."""

    numbers: dict[int, list[Floats]]
    texts: dict[int, list[str]]
    units: dict[int, set[str]]
    infinite: dict[int, int]
    bad: dict[int, list[tuple[int, str]]] = field(default_factory=dict)
    lines: list[int] = field(default_factory=list)
    rows: int = 0
    repeated: int = 0
    remarks: int = 0
    damaged: int = 0


def read(
    path: Path,
    layout: Layout,
    numeric: Collection[int],
    textual: Collection[int],
    clocks: Collection[int],
    missing: Collection[str],
    cut: bool,
    file: str,
) -> Table:
    """Read columns of an awkward text: `numeric` as float64, `textual` as they stand.

    Left out, and counted: the lines above the numbers where they come again, remarks after "#",
    rows with more fields than columns, the last line if `cut`.
    Raises InputError with one sentence for each column that holds something else than numbers.
    """
    got = _Gathered(
        {i: [] for i in numeric}, {i: [] for i in textual}, {i: set() for i in numeric}, {}
    )
    with path.open(encoding=layout.encoding, errors="replace", newline=None) as stream:
        lines = itertools.islice(enumerate(stream, 1), layout.first_row - 1, None)
        for part in _parts(_without_last(lines) if cut else lines):
            _gather(part, layout, got, {i: () if i in clocks else missing for i in numeric})
    _refuse(got, layout, file)
    return Table(
        got.rows,
        {i: np.concatenate(parts) if parts else np.empty(0) for i, parts in got.numbers.items()},
        got.texts,
        {i: next(iter(units)) for i, units in got.units.items() if units},
        got.infinite,
        _notes(got),
        lines=got.lines,
    )


def _without_last(lines: Iterable[tuple[int, str]]) -> Iterator[tuple[int, str]]:
    held: list[tuple[int, str]] = []
    for number, line in lines:
        if line.strip():
            yield from held
            held = [(number, line)]


def _parts(lines: Iterable[tuple[int, str]]) -> Iterator[list[tuple[int, str]]]:
    stream = iter(lines)
    while part := list(itertools.islice(stream, _LINES)):
        yield part


def _gather(
    part: list[tuple[int, str]],
    layout: Layout,
    got: _Gathered,
    missing: Mapping[int, Collection[str]],
) -> None:
    if _gather_at_once(part, layout, got):
        return
    rows: list[list[str]] = []
    numbers: list[int] = []
    for number, line in part:
        row = _row(line, layout, got)
        if row is not None:
            rows.append(row)
            numbers.append(number)
    got.rows += len(rows)
    got.lines += numbers if got.texts else []
    for index in got.texts:
        got.texts[index].extend(_cell(row, index) for row in rows)
    for index in got.numbers:
        _numbers(index, [_cell(row, index) for row in rows], numbers, layout, got, missing[index])


def _gather_at_once(part: list[tuple[int, str]], layout: Layout, got: _Gathered) -> bool:
    """Read a stretch of plain lines in one go; False, and nothing read, if one is not plain."""
    delimiter = layout.split.delimiter
    lines = [line for _, line in part if line.strip(_PADDING)]
    most = max((line.count(delimiter) for line in lines), default=0)
    if layout.split.quoted or not lines or (delimiter != " " and most >= layout.width):
        return False
    if delimiter == " " and max(len(line.split()) for line in lines) > layout.width:
        return False
    plain = [line.replace(",", ".") for line in lines] if layout.split.decimal == "," else lines
    mark = None if delimiter == " " else delimiter
    used = list(got.numbers)
    try:
        table = np.loadtxt(plain, delimiter=mark, usecols=used, comments=None, ndmin=2)
        texts = {i: [line.split(mark, i + 1)[i].strip() for line in lines] for i in got.texts}
    except (ValueError, IndexError):
        return False
    if table.shape[0] != len(lines) or np.isinf(table).any():
        return False
    for place, index in enumerate(used):
        got.numbers[index].append(np.ascontiguousarray(table[:, place]))
    for index, found in texts.items():
        got.texts[index].extend(found)
    got.lines += [number for number, line in part if line.strip(_PADDING)] if texts else []
    got.rows += len(lines)
    return True


def _row(line: str, layout: Layout, got: _Gathered) -> list[str] | None:
    text = line.strip("\n\r\ufeff\x00")
    if not text.strip():
        return None
    if text.strip() in layout.skipped:
        got.repeated += 1
        return None
    if text.startswith("#"):
        got.remarks += 1
        return None
    row = layout.split.cells(text)
    if len(row) > layout.width and any(row[layout.width :]):
        got.damaged += 1
        return None
    return row


def _cell(row: Sequence[str], index: int) -> str:
    return row[index] if index < len(row) else ""


def _numbers(
    index: int,
    texts: list[str],
    lines: list[int],
    layout: Layout,
    got: _Gathered,
    missing: Collection[str],
) -> None:
    found = cells.numbers(texts, layout.split.decimal, missing)
    got.numbers[index].append(found.values)
    got.units[index] |= found.units
    if found.infinite:
        got.infinite[index] = got.infinite.get(index, 0) + found.infinite
    if found.bad:
        got.bad.setdefault(index, []).extend((lines[row], texts[row]) for row in found.bad)


def _refuse(got: _Gathered, layout: Layout, file: str) -> None:
    problems = [_not_a_number(i, bad, layout, file) for i, bad in sorted(got.bad.items())]
    problems += [
        Problem(
            file,
            f"column '{layout.heads[i].name}'",
            f"numbers with different units glued on ({', '.join(sorted(units))})",
            "export the column in one unit",
        )
        for i, units in sorted(got.units.items())
        if len(units) > 1
    ]
    if problems:
        raise InputError(problems)


def _not_a_number(index: int, bad: list[tuple[int, str]], layout: Layout, file: str) -> Problem:
    line, cell = bad[0]
    place = f"line {line}, column '{layout.heads[index].name}'"
    more = f" (and at {len(bad) - 1} more lines)" if len(bad) > 1 else ""
    if cells.has_thousands(cell):
        return Problem(
            file,
            place,
            f"'{cell}' is written with thousands marks, which could as well be decimals{more}",
            "export the numbers without thousands marks",
        )
    return Problem(
        file,
        place,
        f"'{cell}' where a number belongs{more}",
        f"mend the line, or write '{cell}' to the list missing under [recording.text]",
    )


HEADER_REPEATED = "{who} what stands above the numbers; left out"
DAMAGED = "{who} more fields than there are columns; left out"


def _notes(got: _Gathered) -> tuple[Note, ...]:
    repeated = counted(got.repeated, "line repeats", "lines repeat")
    remarks = counted(got.remarks, "line is a remark", "lines are remarks")
    damaged = counted(got.damaged, "row holds", "rows hold")
    counts = (
        ("header-repeated", got.repeated, said(HEADER_REPEATED, who=repeated)),
        ("remarks", got.remarks, said("{who}; left out", who=remarks)),
        ("rows-damaged", got.damaged, said(DAMAGED, who=damaged)),
    )
    return tuple(Note(code, text, n) for code, n, text in counts if n)
