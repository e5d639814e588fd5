"""`python -m validation.elsewhere.score FOLDER`: how well the weighing does on these jobs.

Every job's line is added to FOLDER/rows-PART-of-PARTS.jsonl (or the file named by --rows) as soon
as it is known; jobs already there are not weighed again.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path
from typing import Any

from validation.elsewhere.rows import Row, figures, printed, row


def weigh(folder: Path) -> dict[str, float]:
    """The probabilities that the tool gives the causes of one job."""
    from gaugewright.analysis.analyse import analyse
    from gaugewright.job.folder import read

    job, place = read(folder)
    findings = analyse(job, place).findings
    return {entry.cause: float(entry.probability) for entry in findings.causes}


def score(into: Path, numbers: list[int], kept: Path) -> list[Row]:
    """Weigh the jobs of these numbers; lines already kept are taken from the file."""
    known = {one["number"]: one for one in lines(kept)}
    for number in numbers:
        if number in known:
            continue
        known[number] = _one(into, number)
        with kept.open("a", encoding="utf-8") as file:
            file.write(json.dumps(known[number]) + "\n")
    return [known[number] for number in numbers]


def _one(into: Path, number: int) -> Row:
    truth: dict[str, Any] = json.loads((into / "truth" / f"{number:04d}.json").read_text("utf-8"))
    began = time.perf_counter()
    found = weigh(into / f"{number:04d}")
    return row(truth, found, time.perf_counter() - began)


def lines(kept: Path) -> list[Row]:
    """The rows in this file; a last line cut off in the middle is left out."""
    if not kept.is_file():
        return []
    text = kept.read_text(encoding="utf-8")
    whole = text[: text.rfind("\n") + 1]
    if whole != text:
        kept.write_text(whole, encoding="utf-8")
    return [json.loads(line) for line in whole.splitlines()]


def numbers_in(into: Path, part: str, most: int | None) -> list[int]:
    """The jobs of this part, `1/2` say: every second one from the first."""
    which, parts = (int(text) for text in part.split("/"))
    if not 1 <= which <= parts:
        raise SystemExit(f"--part {part}: write which part of how many, such as 1/2.")
    every = sorted(int(path.stem) for path in (into / "truth").glob("*.json"))[:most]
    return every[which - 1 :: parts]


def main() -> None:
    """Read the options, weigh, print the figures."""
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    options.add_argument("folder", type=Path)
    options.add_argument("--jobs", type=int, help="only the first so many jobs of the folder")
    options.add_argument("--part", default="1/1")
    options.add_argument("--rows", type=Path, help="where each job's line is kept")
    options.add_argument("--json", type=Path, help="figures as JSON")
    told = options.parse_args()
    kept = told.rows or told.folder / f"rows-{told.part.replace('/', '-of-')}.jsonl"
    found = figures(score(told.folder, numbers_in(told.folder, told.part, told.jobs), kept))
    print(printed(found))
    if told.json:
        told.json.write_text(json.dumps(found, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
