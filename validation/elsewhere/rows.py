"""One line for each job that was weighed, and the figures over many of them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

Row = dict[str, Any]
FLOOR = 1e-6
SHOWN = 5e-4


def row(truth: dict[str, Any], causes: dict[str, float], seconds: float) -> Row:
    """What is kept of one job: number, truth, what it holds, every cause above 0.0005."""
    kept = {cause: round(value, 6) for cause, value in causes.items() if value >= SHOWN}
    for cause in truth["causes"]:
        kept[cause] = causes.get(cause, 0.0)
    ordered = dict(sorted(kept.items(), key=lambda item: -item[1]))
    made = {key: truth[key] for key in ("kind", "number", "causes", "link", "severity", "holds")}
    total = float(sum(causes.values()))
    return made | {"probabilities": ordered, "sum": total, "seconds": round(seconds, 3)}


def leading(one: Row) -> str:
    """The cause that leads; none-of-these counts as an answer, and a wrong one."""
    return max(one["probabilities"], key=one["probabilities"].get, default="")


def right(one: Row) -> bool:
    """Does one of the true causes lead?"""
    return leading(one) in one["causes"]


def log_share(one: Row) -> float:
    """Logarithm of the true causes' share of the sum over all causes."""
    share = sum(one["probabilities"].get(cause, 0.0) for cause in one["causes"])
    return float(np.log(max(share / max(one["sum"], FLOOR), FLOOR)))


def log_marginal(one: Row) -> float:
    """Logarithm of the one true cause's probability."""
    return float(np.log(max(one["probabilities"].get(one["causes"][0], 0.0), FLOOR)))


def mean(rows: Iterable[Row], of: Callable[[Row], float]) -> tuple[float, float]:
    """Mean over the rows and its standard error; nan where it cannot be told."""
    values = np.array([of(one) for one in rows], float)
    if len(values) == 0:
        return float("nan"), float("nan")
    error = values.std(ddof=1) / np.sqrt(len(values)) if len(values) > 1 else float("nan")
    return float(values.mean()), float(error)


def figures(rows: list[Row]) -> dict[str, Any]:
    """All figures over these rows."""
    single = [one for one in rows if len(one["causes"]) == 1]
    return {
        "jobs": len(rows),
        "single": len(single),
        "top_cause": mean(rows, right),
        "top_cause_single": mean(single, right),
        "log_share": mean(rows, log_share),
        "log_marginal_single": mean(single, log_marginal),
        "seconds": mean(rows, lambda one: one["seconds"]),
        "causes": by_cause(rows),
        "led_instead": confusion(rows),
        "reliability": reliability(rows),
    }


def by_cause(rows: list[Row]) -> dict[str, dict[str, float]]:
    """Jobs, top-cause accuracy and mean log share for each true cause."""
    groups: dict[str, list[Row]] = defaultdict(list)
    for one in rows:
        for cause in one["causes"]:
            groups[cause].append(one)
    return {
        cause: {
            "jobs": len(group),
            "led": mean(group, lambda one: leading(one) == cause)[0],  # noqa: B023
            "right": mean(group, right)[0],
            "log_share": mean(group, log_share)[0],
        }
        for cause, group in sorted(groups.items())
    }


def confusion(rows: list[Row]) -> dict[str, dict[str, int]]:
    """For each single true cause, what led and how often."""
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for one in rows:
        if len(one["causes"]) == 1:
            counts[one["causes"][0]][leading(one)] += 1
    return {cause: dict(found.most_common()) for cause, found in sorted(counts.items())}


def reliability(rows: list[Row]) -> list[dict[str, float]]:
    """By tenths of the probability given: how often the cause was there.

    Probabilities below 0.0005 are not counted.
    """
    pairs = [
        (value, float(cause in one["causes"]))
        for one in rows
        for cause, value in one["probabilities"].items()
        if value >= SHOWN
    ]
    table = []
    for tenth in range(10):
        found = [pair for pair in pairs if min(int(pair[0] * 10.0), 9) == tenth]
        if found:
            said, true = np.mean(found, axis=0)
            table.append({"from": tenth / 10.0, "n": len(found), "said": said, "true": true})
    return table


def printed(found: dict[str, Any]) -> str:
    """The figures as lines of text."""
    lines = [f"{found['jobs']} jobs, {found['single']} with a single cause"]
    for name in ("top_cause", "top_cause_single", "log_share", "log_marginal_single", "seconds"):
        value, error = found[name]
        lines.append(f"{name:22s} {value:8.3f} +- {error:.3f}")
    lines.append(f"\n{'true cause':28s} jobs   led right log_share  what led (single causes)")
    for cause, one in found["causes"].items():
        led = ", ".join(f"{name} {n}" for name, n in found["led_instead"].get(cause, {}).items())
        lines.append(
            f"{cause:28s} {one['jobs']:4d} {one['led']:5.2f} {one['right']:5.2f} "
            f"{one['log_share']:9.2f}  {led}"
        )
    lines.append("\nprobability given, mean, share in which the cause was there")
    lines += [
        f"{ten['from']:.1f}  n {ten['n']:5d}  {ten['said']:.3f}  {ten['true']:.3f}"
        for ten in found["reliability"]
    ]
    return "\n".join(lines)
