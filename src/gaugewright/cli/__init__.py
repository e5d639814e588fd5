"""The commands.  Nothing heavy is imported before a command needs it.

`--help` is a text that ships beside this file, made from the options (`make help-text`) and held
to them by a test: even the standard library's parser takes longer to load than Python itself,
and a command that starts slowly is not asked for help.
"""

from __future__ import annotations

HELP = "help.txt"


def main(argv: list[str] | None = None) -> int:
    """Run the command line and give its exit code: 0 done, 1 our defect, 2 input, 3 output.

    Parameters: the words after `gaugewright`; None takes them from the process.
    """
    import sys

    words = sys.argv[1:] if argv is None else argv
    if words in (["-h"], ["--help"]):
        sys.stdout.write(help_text())
        return 0

    from gaugewright.cli.options import parser

    flags = parser(words).parse_args(words)

    from gaugewright.cli.command import run

    return run(flags)


def help_text() -> str:
    """What `gaugewright --help` prints."""
    import os

    path = os.path.join(os.path.dirname(__file__), HELP)
    with open(path, encoding="utf-8") as file:
        return file.read()
