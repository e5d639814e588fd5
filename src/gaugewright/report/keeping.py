"""What stays together on one page of the work record: a part with its head, unless it is tall."""

from __future__ import annotations

import math

from gaugewright.report import blocks
from gaugewright.report.blocks import Block, Cell, Line

TALLEST = 560.0
"""Points that a kept part may take; the type area of letter paper is about 650 high."""
SIGNS_A_LINE = 100.0
"""About how many signs of the record's text fit on a line across the page."""
LINE = 12.0


def kept(*parts: Block) -> list[Block]:
    """The parts as one that stays on one page, or as they are when that would be too tall."""
    fits = sum(height(part) for part in parts) <= TALLEST
    return [blocks.Keep(parts)] if fits else list(parts)


def height(part: Block) -> float:
    """About how high a part stands on paper, in points, on the safe side."""
    if isinstance(part, blocks.Picture):
        return part.height + 16.0
    if isinstance(part, blocks.Table):
        return 44.0 + sum(_row(row, part.columns) for row in part.rows)
    if isinstance(part, blocks.Heading):
        return 34.0 + _lines(len(part.text), 60.0)
    if isinstance(part, blocks.Paragraph):
        return 8.0 + _lines(_signs(part.runs), SIGNS_A_LINE)
    if isinstance(part, blocks.Items):
        return sum(4.0 + _lines(_signs(point), SIGNS_A_LINE) for point in part.points)
    if isinstance(part, blocks.Keep):
        return sum(height(inner) for inner in part.blocks)
    return 60.0


def _row(row: blocks.Row, columns: tuple[blocks.Column, ...]) -> float:
    cells = zip(row.cells, columns, strict=True)
    return 9.0 + max(_cell(cell, column.share) for cell, column in cells)


def _cell(cell: Cell, share: float) -> float:
    return sum(_lines(_signs(line), share * SIGNS_A_LINE) for line in cell)


def _signs(line: Line) -> int:
    return sum(_said(part) for part in line)


def _said(part: blocks.Inline) -> int:
    if isinstance(part, blocks.Number):
        return len(part.whole + part.fraction + part.after)
    return 0 if isinstance(part, blocks.Bar) else len(part.text)


def _lines(signs: int, per_line: float) -> float:
    return LINE * max(math.ceil(signs / per_line), 1)
