"""Which line above the numbers names the columns, which gives units, and what they say."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from gaugewright.recording import cells
from gaugewright.recording.layout import Head, Split
from gaugewright.recording.source import repaired

_WITH_UNIT = re.compile(r"^(.*\S)\s*(?:\[([^\]]{0,14})\]|\(([^)]{0,14})\))$")


def names_row(lines: Sequence[str], split: Split, width: int, wanted: Sequence[str]) -> int | None:
    """The index of the line that names the columns, or None.

    The line in which most of the job's own column names stand wins; else the one with the most
    different texts that are neither numbers nor units; of equals, the topmost.
    """
    best: tuple[int, int] = (0, 0)
    answer = None
    for index, line in enumerate(lines):
        found = row_cells(line, split, width)
        score = (_hits(found, wanted), _name_like(found, split.decimal))
        enough = score[0] > 0 or score[1] >= max(1, (width + 1) // 2)
        fits = width - 1 <= len(found) <= width + 1 or score[0] > 1
        if enough and fits and score > best:
            best, answer = score, index
    return answer


def row_cells(line: str, split: Split, width: int) -> list[str]:
    """The cells of a line above the numbers; names with blanks part at two blanks."""
    found = split.cells(line)
    if split.delimiter == " " and len(found) != width:
        wide = [cell for cell in re.split(r"\s{2,}|\t", line.strip()) if cell]
        return wide if len(wide) == width else found
    return found


def _hits(found: Sequence[str], wanted: Sequence[str]) -> int:
    there = {" ".join(form.casefold().split()) for cell in found for form in _forms(cell)}
    return sum(" ".join(name.casefold().split()) in there for name in wanted)


def _forms(cell: str) -> tuple[str, ...]:
    head = head_of(cell)
    return cell, head.raw, head.name


def _name_like(found: Sequence[str], decimal: str) -> int:
    texts = {cell for cell in found if cells.kind(cell, decimal) == "text"}
    return sum(not cells.is_unit(cell) or len(cell) == 1 for cell in texts)


def units_row(lines: Sequence[str], split: Split, width: int) -> int | None:
    """The index of the first line of which at least half of the filled cells are units."""
    for index, line in enumerate(lines):
        found = [cell for cell in row_cells(line, split, width) if cell]
        if found and sum(map(cells.is_unit, found)) >= 0.5 * max(len(found), 2):
            return index
    return None


def head_of(cell: str) -> Head:
    """Name and unit of one header cell: "Speed [rpm]", "Speed (rpm)" or just "Speed"."""
    raw = repaired(cell).strip()
    match = _WITH_UNIT.match(raw)
    if match and (match.group(2) is not None or cells.is_unit(match.group(3))):
        unit = match.group(2) if match.group(2) is not None else match.group(3)
        return Head(match.group(1), raw, unit.strip() or None)
    return Head(raw, raw)


def heads(
    names: Sequence[str] | None, units: Sequence[str] | None, width: int
) -> tuple[tuple[Head, ...], tuple[str, ...]]:
    """The columns' heads, and the names that stood there more than once.

    A column without a name is known by its number; the second of a name gets " (2)".
    """
    made: list[Head] = []
    seen: Counter[str] = Counter()
    for index in range(width):
        cell = names[index] if names is not None and index < len(names) else ""
        head = head_of(cell) if cell else Head(str(index + 1), str(index + 1))
        seen[head.raw] += 1
        if seen[head.raw] > 1:
            suffix = f" ({seen[head.raw]})"
            head = Head(head.name + suffix, head.raw + suffix, head.unit)
        unit = units[index].strip("[]() ") if units is not None and index < len(units) else ""
        made.append(Head(head.name, head.raw, repaired(unit) or head.unit))
    return tuple(made), tuple(name for name, count in seen.items() if count > 1)
