"""What each command does, and how its end is told: in sentences and by the exit code."""

from __future__ import annotations

import os
import sys
from argparse import Namespace
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from gaugewright.errors import GaugewrightError, OutputError, Problem

if TYPE_CHECKING:
    from gaugewright.analysis.outcome import Outcome
    from gaugewright.causes.odds import Table
    from gaugewright.report.preferences import Preferences

TRACEBACK = "GAUGEWRIGHT_TRACEBACK"
"""Set to anything, this environment variable lets a defect show its traceback."""

DONE, DEFECT, STOPPED = 0, 1, 130


def run(flags: Namespace) -> int:
    """Run one command and give its exit code; failures are told on standard error."""
    _never_fail_to_print()
    try:
        COMMANDS[flags.command](flags)
    except GaugewrightError as error:
        print(error.text, file=sys.stderr)
        return error.exit_code
    except KeyboardInterrupt:
        print("stopped.", file=sys.stderr)
        return STOPPED
    except Exception as defect:
        if os.environ.get(TRACEBACK):
            raise
        print(_defect_text(defect), file=sys.stderr)
        return DEFECT
    return DONE


def _never_fail_to_print() -> None:
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _defect_text(defect: Exception) -> str:
    said = " ".join(f"{type(defect).__name__}: {defect}".split())
    return (
        f"gaugewright has a defect and could not finish ({said}); "
        f"set the environment variable {TRACEBACK}=1 and run it again to see where."
    )


def analyse_command(flags: Namespace) -> None:
    """`gaugewright analyse`: read a job, print its findings, write what is asked for."""
    preferences = _preferences(flags)
    outcome = _analysed(flags.job, _own_odds(flags))
    _show(outcome, preferences)
    if flags.json is not None:
        _say_where("findings", [_write_findings(outcome, flags.json)])
    if flags.report is not None:
        _say_where("pages", _write_pages(outcome, flags.report, preferences))


def demo_command(flags: Namespace) -> None:
    """`gaugewright demo`: make an example job, analyse it, write its findings and pages."""
    preferences = _preferences(flags)
    job = flags.folder / ("cold-start" if flags.real else "tick-at-hot-idle")
    results = flags.folder / f"{job.name}-results"
    _make_example(job, flags.real)
    outcome = _analysed(job)
    _show(outcome, preferences)
    findings = _write_findings(outcome, results / "findings.json")
    pages = _write_pages(outcome, results, preferences)
    _say_where("job", [job])
    _say_where("findings", [findings])
    _say_where("pages", pages)


def practise_command(flags: Namespace) -> None:
    """`gaugewright practise`: make a job with a hidden fault, or open the truth of one."""
    from gaugewright.cli.practice import practise, refuse_mixture, reveal

    refuse_mixture(flags)
    if flags.reveal is None:
        practise(flags)
        return
    found = _analysed(flags.reveal).findings if flags.analyse else None
    reveal(flags.reveal, found, _preferences(flags))


def open_command(flags: Namespace) -> None:
    """`gaugewright open`: the app on this machine, in the browser."""
    from gaugewright.cli.opening import open_app

    open_app(flags)


COMMANDS = {
    "analyse": analyse_command,
    "demo": demo_command,
    "practise": practise_command,
    "open": open_command,
}


def _preferences(flags: Namespace) -> Preferences:
    import datetime as dt

    from gaugewright.cli.settings import preferences

    return preferences(flags, dt.date.today())


def _own_odds(flags: Namespace) -> Table | None:
    from gaugewright.cli.settings import odds_files

    odds, closed = odds_files(flags)
    if odds is None and closed is None:
        return None
    from gaugewright.causes.own_odds import own_table

    return own_table(odds, closed)


def _analysed(path: Path, table: Table | None = None) -> Outcome:
    from gaugewright.analysis.analyse import analyse
    from gaugewright.cli.progress import progress
    from gaugewright.job.folder import opened

    with opened(path) as (job, folder), progress() as tell:
        return analyse(job, folder, tell, table=table)


def _show(outcome: Outcome, preferences: Preferences) -> None:
    from gaugewright.cli.printing import print_findings, stdout_console

    print_findings(outcome, preferences, stdout_console())


def _make_example(folder: Path, real: bool) -> None:
    with writing(folder):
        if real:
            from gaugewright.examples import piston

            piston.make(folder)
        else:
            from gaugewright.examples import van

            van.make(folder)


def _write_findings(outcome: Outcome, path: Path) -> Path:
    from gaugewright.analysis.findings_json import write

    with writing(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        write(outcome.findings, path)
    return path


def _write_pages(outcome: Outcome, folder: Path, preferences: Preferences) -> Sequence[Path]:
    from gaugewright.report.pages import write

    with writing(folder):
        folder.mkdir(parents=True, exist_ok=True)
        return write(outcome, folder, preferences)


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Turn whatever keeps us from writing this file or folder into an OutputError."""
    try:
        yield
    except OSError as why:
        reason = why.strerror or str(why)
        remedy = "free some space, or name a place that can be written"
        place = Problem(str(path), "", f"it could not be written ({reason})", remedy)
        raise OutputError(place) from why


def _say_where(what: str, paths: Sequence[Path]) -> None:
    for path in paths:
        print(f"{what}: {path}")
