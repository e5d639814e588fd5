"""The commands and their options: what can be typed, and the help that says so."""

from __future__ import annotations

import argparse
from pathlib import Path

from gaugewright import METHOD_VERSION, __version__

PAPERS = ("a4", "letter")
PRESSURE_UNITS = ("kPa", "psi", "bar")
VACUUM_UNITS = ("kPa", "inHg", "mbar")

EXIT_CODES = """exit codes:
  0  done
  1  a defect of ours
  2  what was handed in cannot be used
  3  a result could not be written"""


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    whole = argparse.ArgumentParser(
        prog="gaugewright",
        description="From a job folder to readings that can be trusted, and to the page "
        "for the owner and the record for the file.",
        epilog=EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    version = f"gaugewright {__version__}, method {METHOD_VERSION}"
    whole.add_argument("--version", action="version", version=version)
    commands = whole.add_subparsers(dest="command", metavar="COMMAND", required=True)
    _add_demo(commands)
    _add_analyse(commands)
    return whole


def _add_demo(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    demo = commands.add_parser(
        "demo",
        help="make the example job, analyse it, write its findings and both pages",
        description="Makes the example job, analyses it, writes its findings and both pages, "
        "and says where they are.",
    )
    demo.add_argument(
        "--real",
        action="store_true",
        help="an open recording of a real engine instead of the invented van",
    )
    demo.add_argument(
        "--folder",
        type=Path,
        default=Path("demo"),
        metavar="FOLDER",
        help="where to write (default: ./demo)",
    )
    _add_preferences(demo)


def _add_analyse(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    analyse = commands.add_parser(
        "analyse",
        help="analyse a job and print what was found",
        description="Reads a job, prints its readings and checks, and writes what is asked for.",
        epilog=EXIT_CODES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    analyse.add_argument(
        "job", type=Path, metavar="JOB", help="a job folder, its job.toml, or a bundle (.zip)"
    )
    analyse.add_argument(
        "--json", type=Path, metavar="FILE", help="write the findings to this file"
    )
    analyse.add_argument(
        "--report", type=Path, metavar="FOLDER", help="write both pages into this folder"
    )
    _add_preferences(analyse)


def _add_preferences(command: argparse.ArgumentParser) -> None:
    group = command.add_argument_group("how it is shown (the findings never change with it)")
    group.add_argument("--paper", choices=PAPERS, help="paper of the pages")
    group.add_argument(
        "--pressure-unit", choices=PRESSURE_UNITS, help="unit of oil and other pressures"
    )
    group.add_argument(
        "--vacuum-unit", choices=VACUUM_UNITS, help="unit of crankcase and manifold pressures"
    )
