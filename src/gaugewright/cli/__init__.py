"""The commands.  Nothing heavy is imported before a command needs it."""

from __future__ import annotations

from collections.abc import Sequence


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line and give its exit code: 0 done, 1 our defect, 2 input, 3 output.

    Parameters: the words after `gaugewright`; None takes them from the process.
    """
    from gaugewright.cli.command import run

    return run(argv)
