"""Runs the statistical proof shard by shard and keeps its figures.

python -m validation.run                              every shard that is still missing
python -m validation.run --part 1/2                   half of the classes, for one of two cores
python -m validation.run --class steady --shard 3     one shard
python -m validation.run --shard fixed --check        the fixed shard again, against the store
"""

from __future__ import annotations

import argparse
import datetime as dt
import functools
import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

from gaugewright import METHOD_VERSION
from validation.measure import SHARD, measure_class, measure_limits
from validation.seeds import SEEDS

RESULTS = Path(__file__).parent / "results"
Figures = dict[str, dict[str, float]]
CHECK_TOLERANCE = 1e-3
"""Relative; other builds of the linear algebra round differently, other methods by far more."""


def shards_of(kind: str) -> int:
    """How many shards a class has."""
    count = SEEDS["counts"]["limits" if kind in SEEDS["limits"] else "stretches"]
    return int(count) // SHARD


def classes() -> list[str]:
    """Every class that is run at cycle level."""
    return [*SEEDS["cycles"], *SEEDS["limits"]]


def measure(kind: str, shard: int) -> Figures:
    """One shard's figures."""
    return measure_limits(kind, shard) if kind in SEEDS["limits"] else measure_class(kind, shard)


def stored(kind: str) -> dict[str, Any]:
    """What is kept of a class; empty where nothing is, or where the method is another."""
    path = RESULTS / f"{kind}.json"
    return json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}


@functools.cache
def commit() -> str:
    """The commit that the code was at when this run began."""
    told = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False
    )
    return told.stdout.strip()


def merged(shards: dict[str, Figures]) -> Figures:
    """Counts added up over shards; widths as the median of the shards' medians."""
    names = {name for shard in shards.values() for name in shard}
    return {
        name: _merged([s[name] for s in shards.values() if name in s]) for name in sorted(names)
    }


def _merged(parts: list[dict[str, float]]) -> dict[str, float]:
    total: dict[str, float] = {}
    for key in sorted({key for part in parts for key in part}):
        values = sorted(part.get(key, 0.0) for part in parts)
        middle = values[len(values) // 2] + values[(len(values) - 1) // 2]
        total[key] = 0.5 * middle if key.startswith("median") else sum(values)
    if "held" in total:
        total["coverage"] = round(total["held"] / max(total["given"], 1), 4)
        total["width_ratio"] = round(
            total["median_width"] / (total["median_ideal_width"] or 1.0), 3
        )
    if "asked" in total and "held" not in total:
        total["share_meets"] = round(total.get("meets", 0.0) / total["asked"], 4)
    return total


def keep(kind: str, shard: int, figures: Figures) -> dict[str, Any]:
    """Store one shard with commit, date, seed and method; shards of another method go."""
    old = stored(kind)
    shards = old.get("shards", {}) if old.get("method_version") == METHOD_VERSION else {}
    shards[str(shard)] = figures
    seeds = SEEDS["limits"] if kind in SEEDS["limits"] else SEEDS["cycles"]
    record = {
        "class": kind,
        "seed": seeds[kind],
        "method_version": METHOD_VERSION,
        "commit": commit(),
        "date": dt.datetime.now(dt.UTC).strftime("%Y-%m-%d"),
        "figures": merged(shards),
        "shards": dict(sorted(shards.items(), key=lambda item: int(item[0]))),
    }
    RESULTS.mkdir(exist_ok=True)
    text = json.dumps(record, indent=1) + "\n"
    (RESULTS / f"{kind}.json").write_text(text, encoding="utf-8")
    return record


def disagreements(kind: str, shard: int) -> list[str]:
    """What the fixed shard says now that the store does not; empty when all agrees."""
    record = stored(kind)
    if record.get("method_version") != METHOD_VERSION:
        found = record.get("method_version")
        return [f"{kind}: stored for method version {found}, the method is {METHOD_VERSION}"]
    before = record.get("shards", {}).get(str(shard))
    if before is None:
        return [f"{kind}: shard {shard} is not stored"]
    now = measure(kind, shard)
    return [
        f"{kind} {name} {key}: stored {value}, now {now.get(name, {}).get(key)}"
        for name, part in before.items()
        for key, value in part.items()
        if not math.isclose(value, now.get(name, {}).get(key, math.nan), rel_tol=CHECK_TOLERANCE)
    ]


def _check(kind: str, shard: int) -> int:
    wrong = disagreements(kind, shard)
    print("\n".join(wrong) if wrong else f"{kind} shard {shard} agrees with the store")
    return 1 if wrong else 0


def _check_causes() -> int:
    """The fixed jobs of the proof of the causes, again."""
    from validation.causes import run as causes

    wrong = causes.disagreements("fixed", 0)
    print("\n".join(wrong) if wrong else "causes, fixed jobs agree with the store")
    return 1 if wrong else 0


def missing(kind: str) -> list[int]:
    """The shards of a class that are not yet kept for this method."""
    old = stored(kind)
    done = old.get("shards", {}) if old.get("method_version") == METHOD_VERSION else {}
    return [k for k in range(shards_of(kind)) if str(k) not in done]


def _run(kinds: list[str], shard: int | None) -> None:
    """One shard, or all that are missing, every class keeping pace with the others."""
    commit()
    todo = [(k, kind) for kind in kinds for k in ([shard] if shard is not None else missing(kind))]
    for each, kind in sorted(todo, key=lambda pair: pair[0]):
        record = keep(kind, each, measure(kind, each))
        print(kind, each, json.dumps(record["figures"]), flush=True)


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--class", dest="kind", choices=classes(), default=None)
    parser.add_argument("--shard", default=None, help="a number, or: fixed")
    parser.add_argument("--part", default="1/1", help="of all classes, as 1/2 and 2/2 on two cores")
    parser.add_argument("--check", action="store_true")
    given = parser.parse_args()
    fixed = given.shard == "fixed"
    kind = SEEDS["fixed"]["class"] if fixed else given.kind
    shard = SEEDS["fixed"]["shard"] if fixed else None if given.shard is None else int(given.shard)
    if given.check:
        return max(_check(kind or classes()[0], shard or 0), _check_causes() if fixed else 0)
    part, parts = (int(text) for text in given.part.split("/"))
    _run([kind] if kind else classes()[part - 1 :: parts], shard)
    return 0


if __name__ == "__main__":
    sys.exit(main())
