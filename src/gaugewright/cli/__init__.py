"""The commands.  Nothing heavy is imported before a command needs it.

`--help` is answered from the options alone: even the standard library is imported late here,
because a command that starts slowly is not asked for help.
"""

from __future__ import annotations


def main(argv: list[str] | None = None) -> int:
    """Run the command line and give its exit code: 0 done, 1 our defect, 2 input, 3 output.

    Parameters: the words after `gaugewright`; None takes them from the process.
    """
    import sys

    from gaugewright.cli.options import parser

    words = sys.argv[1:] if argv is None else argv
    flags = parser(words).parse_args(words)

    from gaugewright.cli.command import run

    return run(flags)
