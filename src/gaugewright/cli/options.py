"""The commands and their options: what can be typed, and the help that says so."""

from __future__ import annotations

import argparse

from gaugewright import METHOD_VERSION, __version__

TYPE_CHECKING = False
if TYPE_CHECKING:
    from pathlib import Path

PAPERS = ("a4", "letter")
PRESSURE_UNITS = ("kPa", "psi", "bar")
VACUUM_UNITS = ("kPa", "inHg", "mbar")
LANGUAGES = ("en", "de")

LEVELS = (1, 2, 3)

WIDTH = 78
"""Columns of the help: those of the narrowest usual terminal, less two."""

EXIT_CODES = """exit codes:
  0  done
  1  a defect of ours
  2  what was handed in cannot be used
  3  a result could not be written"""


COMMANDS = {
    "demo": "make the example job, analyse it, write its findings and both pages",
    "analyse": "analyse a job and print what was found",
    "practise": "make a job with a hidden fault, or open the truth of one",
    "open": "the app on this machine, in the browser",
}
"""Each command and its line in the help."""


def parser(words: list[str]) -> argparse.ArgumentParser:
    """The command line, with the options of those commands that these words name.

    A command that is not named is only listed: building what nobody asked for takes longer
    than all the rest of `--help`.
    """
    whole = argparse.ArgumentParser(
        prog="gaugewright",
        description="From a job folder to readings that can be trusted,\n"
        "and to the page for the owner and the record for the file.",
        epilog=EXIT_CODES,
        formatter_class=_formatter,
    )
    version = f"gaugewright {__version__}, method {METHOD_VERSION}"
    whole.add_argument("--version", action="version", version=version)
    commands = whole.add_subparsers(
        dest="command", metavar="COMMAND", required=True, prog="gaugewright"
    )
    add = {
        "demo": _add_demo,
        "analyse": _add_analyse,
        "practise": _add_practise,
        "open": _add_open,
    }
    for name, line in COMMANDS.items():
        command = commands.add_parser(name, help=line, formatter_class=_formatter)
        if name in words:
            add[name](command)
    return whole


def _formatter(prog: str) -> argparse.HelpFormatter:
    """Help of one width everywhere; asking the terminal for its own would load a good deal."""
    return argparse.RawDescriptionHelpFormatter(prog, width=WIDTH)


def _path(text: str) -> Path:
    from pathlib import Path

    return Path(text)


def _add_demo(demo: argparse.ArgumentParser) -> None:
    demo.description = (
        "Makes the example job, analyses it, writes its findings and both pages,\n"
        "and says where they are."
    )
    demo.add_argument(
        "--real",
        action="store_true",
        help="an open recording of a real engine instead of the invented van",
    )
    demo.add_argument(
        "--folder",
        type=_path,
        default="demo",
        metavar="FOLDER",
        help="where to write (default: ./demo)",
    )
    _add_preferences(demo)


def _add_analyse(analyse: argparse.ArgumentParser) -> None:
    analyse.description = (
        "Reads a job, prints its readings and checks, and writes what is asked for."
    )
    analyse.epilog = EXIT_CODES
    analyse.add_argument(
        "job", type=_path, metavar="JOB", help="a job folder, its job.toml, or a bundle (.zip)"
    )
    analyse.add_argument(
        "--json", type=_path, metavar="FILE", help="write the findings to this file"
    )
    analyse.add_argument(
        "--report", type=_path, metavar="FOLDER", help="write both pages into this folder"
    )
    own = analyse.add_argument_group("odds of the causes before any evidence")
    own.add_argument(
        "--odds", type=_path, metavar="FILE", help="a table of odds in place of the shipped one"
    )
    own.add_argument(
        "--closed",
        type=_path,
        metavar="FILE",
        help="the workshop's closed jobs, to move the odds by",
    )
    _add_preferences(analyse)


def _add_practise(practise: argparse.ArgumentParser) -> None:
    practise.description = (
        "Makes a job with a hidden fault from the virtual engine, the truth sealed beside it;\n"
        "with --reveal, opens the truth of one. The same level and seed make the same job."
    )
    practise.epilog = EXIT_CODES
    practise.add_argument(
        "--level",
        type=int,
        choices=LEVELS,
        help="1 plain (default), 2 everyday, 3 awkward",
    )
    practise.add_argument(
        "--seed", type=_whole, metavar="N", help="a whole number from 0 (default: drawn, and told)"
    )
    practise.add_argument(
        "--folder",
        type=_path,
        metavar="FOLDER",
        help="where to write (default: ./practice-LEVEL-N)",
    )
    practise.add_argument(
        "--reveal", type=_path, metavar="FOLDER", help="open the truth of the job in this folder"
    )
    practise.add_argument(
        "--analyse",
        action="store_true",
        help="with --reveal: analyse the job too, and print what is found beside the truth",
    )
    _add_preferences(practise)


def _add_open(open_: argparse.ArgumentParser) -> None:
    open_.description = (
        "Opens the app in the browser: every job of the workshop, kept on this machine.\n"
        "A job that is named is taken in; it is never written to."
    )
    open_.epilog = EXIT_CODES
    open_.add_argument(
        "job",
        type=_path,
        nargs="?",
        metavar="JOB",
        help="a job folder, its job.toml, or a bundle (.zip) to take in and show",
    )
    open_.add_argument(
        "--share",
        action="store_true",
        help="let the shop's tablets in with a pairing code (else: this machine alone)",
    )
    open_.add_argument(
        "--port", type=_whole, metavar="N", help="where to listen (default: the first free one)"
    )
    open_.add_argument(
        "--store",
        metavar="URL",
        help="the database (default: SQLite in the user's data folder)",
    )
    open_.add_argument(
        "--no-browser", action="store_true", help="only say the address, open no browser"
    )


def _whole(text: str) -> int:
    if text.isascii() and text.isdigit():
        return int(text)
    raise argparse.ArgumentTypeError(f'found "{text}"; give a whole number from 0')


def _add_preferences(command: argparse.ArgumentParser) -> None:
    group = command.add_argument_group("how it is shown (the findings never change with it)")
    group.add_argument("--paper", choices=PAPERS, help="paper of the pages")
    group.add_argument(
        "--pressure-unit", choices=PRESSURE_UNITS, help="unit of oil and other pressures"
    )
    group.add_argument(
        "--vacuum-unit", choices=VACUUM_UNITS, help="unit of crankcase and manifold pressures"
    )
    group.add_argument(
        "--language", choices=LANGUAGES, help="language of the pages (the terminal keeps English)"
    )


if __name__ == "__main__":
    import sys

    sys.stdout.write(parser([]).format_help())
