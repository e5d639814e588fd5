"""What is kept of the comparison, and whether it comes out the same again."""

from __future__ import annotations

import datetime as dt
import json
import math
import time
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any

from validation.physics.compared import Compared, Topic
from validation.physics.recordings import piston_start, road, virtual
from validation.run import commit

STORED = Path(__file__).parents[1] / "results" / "physics.json"
LIBRARIES = ("numpy", "scipy", "fluids", "chemicals", "coolprop", "ambiance")
CHECK_TOLERANCE = 1e-6
"""Relative; root finders and quadratures of other builds differ by less, wrong coefficients by
far more."""


def stored() -> dict[str, Any]:
    """What is kept; empty where nothing is."""
    return json.loads(STORED.read_text(encoding="utf-8")) if STORED.exists() else {}


def record(topic: Topic, rows: list[Compared], seconds: float) -> dict[str, Any]:
    """One topic as it is kept."""
    worst = max(rows, key=lambda row: (not row.counts, abs(row.difference)))
    return {
        "ours": topic.ours,
        "other": topic.other,
        "fast": topic.fast,
        "seconds": round(seconds, 1),
        "numbers": len(rows),
        "largest": {"name": worst.name, "difference": worst.difference, "gate": worst.gate},
        "compared": {row.name: _kept(row) for row in rows},
    }


def _kept(row: Compared) -> dict[str, float]:
    return {"ours": row.ours, "other": row.other, "difference": row.difference, "gate": row.gate}


def keep(topics: list[Topic]) -> dict[str, Any]:
    """Compute these topics, keep them beside the others, with commit, date and versions."""
    commit()
    found = stored()
    parts = found.get("topics", {})
    for topic in topics:
        began = time.perf_counter()
        rows = topic.compare()
        parts[topic.name] = record(topic, rows, time.perf_counter() - began)
    said = {"piston-start": piston_start(), "virtual engine": virtual()}
    return _write(parts, {**found.get("recordings", {}), **said})


def keep_road(logs: list[Path]) -> dict[str, Any]:
    """Keep the figures of road logs, which are not in the repository themselves."""
    found = stored()
    now = {log.stem: road(log) for log in logs}
    return _write(found.get("topics", {}), {**found.get("recordings", {}), **now})


def _write(topics: dict[str, Any], recordings: dict[str, Any]) -> dict[str, Any]:
    found = {
        "commit": commit(),
        "date": dt.datetime.now(dt.UTC).strftime("%Y-%m-%d"),
        "libraries": {name: version(name) for name in LIBRARIES},
        "topics": topics,
        "recordings": recordings,
    }
    STORED.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    return found


def recording_moved() -> list[str]:
    """What the shipped recording says now that the store does not."""
    kept = dict(leaves(stored().get("recordings", {}).get("piston-start", {})))
    now = dict(leaves(piston_start()))
    return [
        f"piston-start: {name}: stored {kept.get(name)}, now {now.get(name)}"
        for name in sorted(kept.keys() | now.keys())
        if not math.isclose(
            kept.get(name, math.nan), now.get(name, math.nan), rel_tol=CHECK_TOLERANCE
        )
    ]


def leaves(figures: Any, name: str = "") -> Iterator[tuple[str, float]]:
    """Every number of nested figures, by its path."""
    if isinstance(figures, dict):
        for key, value in figures.items():
            yield from leaves(value, f"{name}/{key}")
    elif isinstance(figures, list):
        for k, value in enumerate(figures):
            yield from leaves(value, f"{name}/{k}")
    else:
        yield name, float(figures)


def disagreements(topic: Topic) -> list[str]:
    """What a fast topic says now beyond its gates or beyond the store; empty when all agrees."""
    kept = stored().get("topics", {}).get(topic.name, {}).get("compared", {})
    now = {row.name: row for row in topic.compare()}
    wrong = [f"{topic.name}: {name} is not stored" for name in now if name not in kept]
    wrong += [f"{topic.name}: {name} is stored, and gone" for name in kept if name not in now]
    wrong += [_beyond(topic, row) for row in now.values() if not row.agrees]
    for name in now.keys() & kept.keys() if topic.pinned else ():
        wrong += _moved(topic, now[name], kept[name])
    return wrong


def _beyond(topic: Topic, row: Compared) -> str:
    return (
        f"{topic.name}: {row.name}: {row.ours:.8g} against {row.other:.8g}, "
        f"{row.difference:+.1e} with {row.gate:g} allowed"
    )


def _moved(topic: Topic, row: Compared, kept: dict[str, float]) -> list[str]:
    sides = {"ours": row.ours, "other": row.other}
    return [
        f"{topic.name}: {row.name}, {side}: stored {kept[side]:.10g}, now {value:.10g}"
        for side, value in sides.items()
        if not math.isclose(value, kept[side], rel_tol=CHECK_TOLERANCE)
    ]


def stored_beyond(topics: list[Topic]) -> list[str]:
    """What is stored beyond its gate, or not stored at all, slow topics among them."""
    parts = stored().get("topics", {})
    wrong = [f"{topic.name} is not stored" for topic in topics if topic.name not in parts]
    for name, part in parts.items():
        wrong += [
            f"{name}: {what} is stored {row['difference']:+.1e} off, {row['gate']:g} allowed"
            for what, row in part["compared"].items()
            if not abs(row["difference"]) <= row["gate"]
        ]
    return wrong
