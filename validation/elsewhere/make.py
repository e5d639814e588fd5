"""`python -m validation.elsewhere.make`: job folders with sealed truth."""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from validation.elsewhere.case import case
from validation.elsewhere.causes import KINDS
from validation.elsewhere.write import write_job, write_truth


def make(kind: str, seed: int, numbers: range, into: Path) -> None:
    """Write these jobs into `into`/0000, ... and their truths into `into`/truth/0000.json, ..."""
    for number in numbers:
        one = case(kind, seed, number)
        write_job(one, into / f"{number:04d}")
        write_truth(one, into / "truth" / f"{number:04d}.json")


def main() -> None:
    """Read the options and make the jobs."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--kind", choices=KINDS, required=True)
    options.add_argument("--seed", type=int, required=True)
    options.add_argument("--jobs", type=int, default=300)
    options.add_argument("--first", type=int, default=0, help="number of the first job")
    options.add_argument("--into", type=Path, required=True)
    told = options.parse_args()
    began = time.perf_counter()
    make(told.kind, told.seed, range(told.first, told.first + told.jobs), told.into)
    spent = (time.perf_counter() - began) / max(told.jobs, 1)
    print(f"{told.jobs} jobs in {told.into}, {spent:.3f} s each")


if __name__ == "__main__":
    main()
