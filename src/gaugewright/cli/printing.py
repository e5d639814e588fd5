"""Findings on the terminal: tables where it can draw them, plain lines where it cannot."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from gaugewright.cli.rows import Table, tables

if TYPE_CHECKING:
    from rich.console import Console

    from gaugewright.analysis.outcome import Outcome
    from gaugewright.report.preferences import Preferences

PLAIN_WIDTH = 132
"""Columns used when the output is no terminal (a pipe, a file)."""


def stdout_console() -> Console:
    """Standard output: as wide as the terminal, without colours or marks when it is none."""
    from rich.console import Console

    at_terminal = sys.stdout.isatty()
    return Console(
        file=sys.stdout,
        width=None if at_terminal else PLAIN_WIDTH,
        highlight=False,
        markup=False,
        emoji=False,
    )


def print_findings(outcome: Outcome, preferences: Preferences, console: Console) -> None:
    """Print what was found: the limits first, then readings, matches, checks and warnings."""
    console.print(outcome.findings.job, style="bold", soft_wrap=True)
    for table in tables(outcome.findings, preferences):
        console.print()
        _print_table(table, console)
    if not outcome.findings.readings:
        console.print()
        console.print("No reading could be taken; the warnings say why.")


def _print_table(table: Table, console: Console) -> None:
    from rich import box
    from rich.table import Table as Drawn

    drawn = Drawn(
        title=table.title,
        title_justify="left",
        title_style="bold",
        caption=table.note or None,
        caption_justify="left",
        box=box.SIMPLE_HEAD,
        show_edge=False,
        pad_edge=False,
    )
    for place, head in enumerate(table.heads):
        drawn.add_column(
            head, justify="right" if place in table.figures else "left", overflow="fold"
        )
    for row in table.rows:
        drawn.add_row(*row)
    console.print(drawn)
