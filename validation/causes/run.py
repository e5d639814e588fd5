"""Runs the proof of the causes shard by shard, keeps every job's row, and tells the figures.

python -m validation.causes.run                       every shard that is still missing
python -m validation.causes.run --part 1/2            every second of them, for one of two cores
python -m validation.causes.run --kind mixed --shard 3
python -m validation.causes.run --figures             what is kept, against the gates
python -m validation.causes.run --table               the confusion table, as markdown
python -m validation.causes.run --kind fixed --check  the fixed jobs again, against the store
"""

from __future__ import annotations

import argparse
import datetime as dt
import json
import math
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from gaugewright import METHOD_VERSION
from gaugewright.analysis.analyse import analyse
from gaugewright.job.folder import read
from validation import run as intervals
from validation.causes import follow, gates, score
from validation.causes.answers import answer_of
from validation.causes.cases import Case, draw, write
from validation.causes.engines import HERE
from validation.causes.truths import CAUSES, NONE

with (HERE / "seeds.toml").open("rb") as _file:
    SEEDS: dict[str, dict[str, int]] = tomllib.load(_file)
RESULTS = intervals.RESULTS
EACH = tuple(cause for cause in CAUSES if cause != NONE)
KINDS = ("mixed", "outside", "tests", "fixed", *EACH)
P_TOLERANCE = 5e-3
"""Of a probability; other builds of the linear algebra round differently."""
Row = dict[str, Any]


def group(kind: str) -> str:
    """The entry of the seeds' tables that a kind goes by."""
    return "each" if kind in EACH else kind


def seed_of(kind: str) -> int:
    """The seed of a kind of job."""
    place = EACH.index(kind) * 1000 if kind in EACH else 0
    return SEEDS["seed"][group(kind)] + place


def shards_of(kind: str) -> int:
    """How many shards a kind has."""
    return math.ceil(SEEDS["count"][group(kind)] / SEEDS["shard"][group(kind)])


def case_kind(kind: str) -> str:
    """How the cases of this kind are drawn."""
    return "mixed" if kind in ("tests", "fixed") else kind


def measure(kind: str, shard: int) -> list[Row]:
    """The rows of one shard."""
    size = SEEDS["shard"][group(kind)]
    last = min((shard + 1) * size, SEEDS["count"][group(kind)])
    one: Callable[[Case], Row] = follow.followed if kind == "tests" else analysed
    return [
        one(draw(seed_of(kind), number, case_kind(kind))) for number in range(shard * size, last)
    ]


def analysed(case: Case) -> Row:
    """One case written, analysed, scored."""
    with tempfile.TemporaryDirectory() as place:
        began = time.perf_counter()
        case.items = case.driven()
        write(case, case.items, Path(place))
        made = time.perf_counter()
        job, folder = read(Path(place))
        findings = analyse(job, folder).findings
        seconds = time.perf_counter() - made
    row = score.row(case, case.parting(case.items), answer_of(findings), seconds)
    return row | {"readings": len(findings.readings), "made_in": round(made - began, 2)}


def path_of(kind: str) -> Path:
    """Where a kind's rows are kept."""
    return RESULTS / f"causes-{kind}.json"


def stored(kind: str) -> dict[str, Any]:
    """What is kept of a kind; empty where nothing is."""
    path = path_of(kind)
    return json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}


def kept_shards(kind: str) -> dict[str, list[Row]]:
    """The shards kept for the method as it is now."""
    old = stored(kind)
    return old.get("shards", {}) if old.get("method_version") == METHOD_VERSION else {}


def kept_rows(kind: str) -> list[Row]:
    """All rows kept of a kind for the method as it is now."""
    shards = kept_shards(kind)
    return [row for name in sorted(shards, key=int) for row in shards[name]]


def keep(kind: str, shard: int, rows: list[Row]) -> None:
    """Store one shard with commit, date, seed and method; shards of another method go."""
    shards = kept_shards(kind) | {str(shard): rows}
    ordered = dict(sorted(shards.items(), key=lambda item: int(item[0])))
    every = [row for each in ordered.values() for row in each]
    record = {
        "class": f"causes-{kind}",
        "seed": seed_of(kind),
        "method_version": METHOD_VERSION,
        "commit": intervals.commit(),
        "date": dt.datetime.now(dt.UTC).strftime("%Y-%m-%d"),
        "figures": follow.figures(every) if kind == "tests" else score.figures(every),
        "shards": ordered,
    }
    text = json.dumps(record, indent=1)
    RESULTS.mkdir(exist_ok=True)
    path_of(kind).write_text(_rows_on_lines(text, ordered) + "\n", encoding="utf-8")


def _rows_on_lines(text: str, shards: dict[str, list[Row]]) -> str:
    """The same JSON with each row on a line of its own."""
    head = text[: text.index(' "shards": {')]
    parts = [
        f'  "{name}": [\n' + ",\n".join(f"   {json.dumps(row)}" for row in rows) + "\n  ]"
        for name, rows in shards.items()
    ]
    return head + ' "shards": {\n' + ",\n".join(parts) + "\n }\n}"


def missing(kind: str) -> list[int]:
    """The shards not yet kept for this method."""
    done = kept_shards(kind)
    return [shard for shard in range(shards_of(kind)) if str(shard) not in done]


TIMES = ("seconds", "made_in")


def disagreements(kind: str, shard: int) -> list[str]:
    """What a shard says now that the store does not; empty when all agrees."""
    record = stored(kind)
    if record.get("method_version") != METHOD_VERSION:
        found = record.get("method_version")
        return [f"causes {kind}: stored for method {found}, the method is {METHOD_VERSION}"]
    before = record.get("shards", {}).get(str(shard))
    if before is None:
        return [f"causes {kind}: shard {shard} is not stored"]
    now = measure(kind, shard)
    if len(now) != len(before):
        return [f"causes {kind}: {len(before)} jobs are stored, {len(now)} are made"]
    return [
        f"causes {kind}, job {old['number']}, {name}: stored {old.get(name)}, now {new.get(name)}"
        for old, new in zip(before, now, strict=True)
        for name in sorted({*old, *new} - set(TIMES))
        if not same(old.get(name), new.get(name))
    ]


def same(old: Any, new: Any) -> bool:
    """Whether two kept values agree: probabilities within what rounding does to them."""
    if isinstance(old, dict) and isinstance(new, dict):
        return all(same(old.get(key, 0.0), new.get(key, 0.0)) for key in {*old, *new})
    if isinstance(old, float) or isinstance(new, float):
        numbers = isinstance(old, (int, float)) and isinstance(new, (int, float))
        return numbers and math.isclose(old, new, rel_tol=1e-2, abs_tol=P_TOLERANCE)
    return bool(old == new)


def confusion() -> str:
    """Markdown: the jobs of each cause, and what led: in per cent, rows are the truth."""
    every = {cause: [row for row in kept_rows(cause) if row["answered"]] for cause in EACH}
    return gates.table({**every, NONE: [row for row in kept_rows("outside") if row["answered"]]})


def _run(kinds: list[str], part: str, shard: int | None) -> None:
    intervals.commit()
    todo = [(k, kind) for kind in kinds for k in ([shard] if shard is not None else missing(kind))]
    place, parts = (int(text) for text in part.split("/"))
    for each, kind in sorted(todo, key=lambda pair: pair[0])[place - 1 :: parts]:
        began = time.perf_counter()
        keep(kind, each, measure(kind, each))
        print(kind, each, f"{time.perf_counter() - began:.0f} s", flush=True)


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kind", choices=KINDS, default=None)
    parser.add_argument("--shard", type=int, default=None)
    parser.add_argument("--part", default="1/1", help="1/2 and 2/2 on two cores")
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--figures", action="store_true")
    parser.add_argument("--table", action="store_true")
    given = parser.parse_args()
    if given.table:
        print(confusion())
        return 0
    if given.figures:
        lines = gates.told({kind: kept_rows(kind) for kind in KINDS})
        print("\n".join(lines))
        return 0
    if given.check:
        wrong = disagreements(given.kind or "fixed", given.shard or 0)
        print("\n".join(wrong) if wrong else "the causes agree with the store")
        return 1 if wrong else 0
    _run([given.kind] if given.kind else list(KINDS), given.part, given.shard)
    return 0


if __name__ == "__main__":
    sys.exit(main())
