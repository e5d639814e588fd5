"""A delimited text from its first byte to needed columns: sniffed, then read fast or carefully."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import Path

from gaugewright.job.model import Text
from gaugewright.recording import careful, cells, dialect, fast
from gaugewright.recording.firstrow import is_data
from gaugewright.recording.layout import Layout
from gaugewright.recording.source import Ends
from gaugewright.recording.tables import NotSimpleError, Table
from gaugewright.recording.types import Note

_ENOUGH = 5


def layout(ends: Ends, text: Text, wanted: Sequence[str], file: str) -> Layout:
    """How the text is laid out; see `dialect.guess`."""
    return dialect.guess(ends, text, wanted, file)


def is_stamped(found: Layout, index: int) -> bool:
    """Whether a column holds stamps like 11:53:32 rather than numbers."""
    kinds = [
        cells.kind(row[index], found.split.decimal) for row in found.sample if index < len(row)
    ]
    filled = [kind for kind in kinds if kind != "empty"]
    return bool(filled) and 2 * filled.count("stamp") > len(filled)


def is_numeric(found: Layout, index: int) -> bool:
    """Whether a column's first filled cells are numbers."""
    kinds = [
        cells.kind(row[index], found.split.decimal) for row in found.sample if index < len(row)
    ]
    return not kinds.count("text") and not kinds.count("stamp")


def read(
    path: Path,
    ends: Ends,
    found: Layout,
    text: Text,
    numeric: Collection[int],
    textual: Collection[int],
    clocks: Collection[int],
    file: str,
) -> Table:
    """Read the needed columns, the last line left out where it was cut.

    The job's marks for "no value" hold for all columns but the `clocks`.
    """
    cut = last_line_cut(ends, found)
    try:
        table = fast.read(path, found, numeric, textual, cut)
    except NotSimpleError:
        table = careful.read(path, found, numeric, textual, clocks, text.missing, cut, file)
    numbers = dict(table.numbers)
    for index in set(numbers) - set(clocks):
        numbers[index] = cells.mark_missing(numbers[index], text.missing)
    notes = table.notes
    if cut:
        notes += (Note("last-row-cut", "the last line is incomplete and left out", 1),)
    return replace(table, numbers=numbers, notes=notes)


def last_line_cut(ends: Ends, found: Layout) -> bool:
    """Whether the last line was cut off while it was written.

    It was when it has fewer fields than every line before it, or no line end and a last number
    with fewer decimals than all the others.
    """
    tail = ends.tail.decode(found.encoding.replace("-sig", ""), errors="replace")
    lines = [line for line in tail.replace("\r", "\n").split("\n") if line.strip("\x00 ")]
    lines = lines[0 if ends.whole else 1 :][-60:]
    if len(lines) < 3:
        return False
    rows = [found.split.cells(line) for line in lines]
    last = rows[-1]
    before = [r for r in rows[:-1] if is_data(r, found.split.decimal)]
    if not before:
        return False
    if len(last) < min(map(len, before)):
        return True
    ended = tail.rstrip("\x00").endswith(("\n", "\r"))
    if ended or len(last) != found.width or not last[-1]:
        return False
    return _decimals(last[-1], found.split.decimal) < _fixed_decimals(
        [row[-1] for row in before], found.split.decimal
    )


def _fixed_decimals(column: list[str], mark: str) -> int:
    """How many decimals every number is written with, 0 if they differ or that may be chance."""
    decimals = {_decimals(cell, mark) for cell in column}
    padded = any(cell.endswith("0") for cell in column)
    return decimals.pop() if len(decimals) == 1 and len(column) >= _ENOUGH and padded else 0


def _decimals(cell: str, mark: str) -> int:
    return len(cell.partition(mark)[2])
