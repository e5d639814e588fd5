"""Findings on the terminal: tables where it can draw them, plain lines where it cannot."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

from gaugewright.cli.rows import tables
from gaugewright.cli.table import Row, Table

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console, JustifyMethod
    from rich.table import Table as Grid

    from gaugewright.analysis.outcome import Outcome
    from gaugewright.report.preferences import Preferences

PLAIN_WIDTH = 132
"""Columns used when the output is no terminal (a pipe, a file) and COLUMNS says nothing."""

GAP = 2
"""Blank columns before each column of a table."""

LEAST_TEXT = 12
"""Columns of words are not made narrower than this while figures can stay whole."""


def stdout_console() -> Console:
    """Standard output: as wide as the terminal, without colours or marks when it is none."""
    from rich.console import Console

    known = sys.stdout.isatty() or "COLUMNS" in os.environ
    return Console(
        file=sys.stdout,
        width=None if known else PLAIN_WIDTH,
        highlight=False,
        markup=False,
        emoji=False,
    )


def print_findings(outcome: Outcome, preferences: Preferences, console: Console) -> None:
    """Print what was found: the limits first, then readings, matches, checks and warnings."""
    print_tables(outcome.findings.job, tables(outcome.findings, preferences), console)
    if not outcome.findings.readings:
        console.print()
        console.print("No reading could be taken; the warnings say why.")


def print_tables(title: str, parts: Iterable[Table], console: Console) -> None:
    """Print a title and tables below it, each after an empty line."""
    console.print(title, style="bold", soft_wrap=True)
    for table in parts:
        console.print()
        _print_table(table, console)


def _print_table(table: Table, console: Console) -> None:
    widths = column_widths(table, console.width)
    console.print(table.title, style="bold", soft_wrap=True)
    if any(table.heads):
        console.print(_grid([table.heads], table, widths), style="dim")
        console.print("\u2500" * min(sum(widths) + GAP * len(widths), console.width))
    for heading, rows in table.groups:
        if heading:
            console.print(heading, style="italic")
        if rows:
            console.print(_grid(rows, table, widths))
    if table.note:
        console.print(table.note, style="dim")


def _grid(rows: Sequence[Row], table: Table, widths: Sequence[int]) -> Grid:
    """Rows in columns of these widths, each column set in by the gap."""
    from rich.table import Table as Grid

    drawn = Grid.grid(padding=0)
    for place, width in enumerate(widths):
        side: JustifyMethod = "right" if place in table.figures else "left"
        drawn.add_column(width=GAP)
        drawn.add_column(width=width, justify=side, overflow="fold")
    for row in rows:
        drawn.add_row(*(part for cell in row for part in ("", cell)))
    return drawn


def column_widths(table: Table, room: int) -> list[int]:
    """The width of each column: as wide as its cells, words giving way before figures.

    Parameters: the table; the columns of the terminal.
    """
    widths = [max(map(len, column)) for column in zip(table.heads, *table.rows, strict=True)]
    text = [place for place in range(len(widths)) if place not in table.figures]
    for givers, least in ((text, LEAST_TEXT), (range(len(widths)), 1)):
        while sum(widths) + GAP * len(widths) > room:
            widest = max(givers, key=lambda place: widths[place], default=None)
            if widest is None or widths[widest] <= least:
                break
            widths[widest] -= 1
    return widths
