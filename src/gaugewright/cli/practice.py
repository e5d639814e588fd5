"""`gaugewright practise`: make a job with a hidden fault, or open the truth of one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from gaugewright.errors import InputError, Problem

if TYPE_CHECKING:
    from argparse import Namespace

    from gaugewright.evidence.results import Findings
    from gaugewright.report.preferences import Preferences

MOST_SEED = 1_000_000
"""Drawn seeds stay below it: short enough to be told to a colleague."""


def practise(flags: Namespace) -> None:
    """Make a practice job in a folder, and say how to go on.

    Raises InputError where the folder holds something else, OutputError where it can't be
    written.
    """
    from gaugewright.examples.practice.levels import LEVELS
    from gaugewright.examples.practice.make import make

    level = LEVELS[flags.level or 1]
    seed = _drawn_seed() if flags.seed is None else flags.seed
    folder = flags.folder or Path(f"practice-{level.number}-{seed}")
    make(folder, level.number, seed)
    print(f"practice job: {folder}")
    print(f"level {level.number}, {level.word}: {level.line}; seed {seed}")
    print(f"analyse it: gaugewright analyse {folder}")
    print(f"open the truth: gaugewright practise --reveal {folder}")


def _drawn_seed() -> int:
    import secrets

    return secrets.randbelow(MOST_SEED)


def reveal(folder: Path, findings: Findings | None, preferences: Preferences) -> None:
    """Print a practice job's truth, beside what was found where that is given."""
    from gaugewright.cli.practice_rows import truth_tables
    from gaugewright.cli.printing import print_tables, stdout_console
    from gaugewright.examples.practice.seal import opened

    inside = opened(folder)
    title = f"Practice, level {inside.truth.level}, seed {inside.truth.seed}"
    print_tables(title, truth_tables(inside, findings, preferences), stdout_console())


def refuse_mixture(flags: Namespace) -> None:
    """Raise InputError where options of making and of opening are given together."""
    making = [name for name in ("level", "seed", "folder") if getattr(flags, name) is not None]
    if flags.reveal is not None and making:
        found = f"found --{making[0]} beside it, which is for making a job"
        raise InputError(_problem("--reveal", found))
    if flags.reveal is None and flags.analyse:
        raise InputError(_problem("--analyse", "found without --reveal FOLDER"))


def _problem(option: str, found: str) -> Problem:
    return Problem("gaugewright practise", option, found, "give one or the other")
