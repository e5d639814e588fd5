"""One job's row, and the figures of many rows.

A row is plain data, so that it is kept and the figures can be made again from what is kept.
Log scores: of the shares of the true causes added up (nothing is lost by saying that two act at
once), and of the true hypothesis as a whole.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from validation.causes.answers import Answer, prior_answer
from validation.causes.cases import Case
from validation.causes.engines import HERE
from validation.causes.truths import CAUSES, NONE

with (HERE / "discriminating.toml").open("rb") as _file:
    PARTS: dict[str, Any] = tomllib.load(_file)
GATES: dict[str, Any] = PARTS["gates"]
FLOOR = 1e-6
"""No probability is scored as less: what is left out of a list may still be there."""
KEPT = 5e-4
Row = dict[str, Any]


def needs(causes: Iterable[str]) -> frozenset[str]:
    """What a job with these causes must hold to be called discriminable."""
    each = [PARTS["cause"][cause]["needs"] for cause in causes if cause in PARTS["cause"]]
    return frozenset(PARTS["all"]).union(*each)


def rivals(causes: Iterable[str]) -> frozenset[str]:
    """From which causes these cannot be told even so."""
    return frozenset().union(*(PARTS["cause"].get(c, {}).get("not_from", []) for c in causes))


def row(case: Case, items: frozenset[str], answer: Answer | None, seconds: float) -> Row:
    """One job, scored."""
    truth = case.truth
    told: Row = {
        "number": case.number,
        "truth": list(truth.causes),
        "severity": [round(s, 3) for s in truth.severities],
        "link": truth.link,
        "outside": truth.outside,
        "holds": len(items),
        "full": needs(truth.causes) <= items and truth.causes != (NONE,),
        "rivals": sorted(rivals(truth.causes)),
        "seconds": round(seconds, 2),
        "answered": answer is not None,
    }
    told["discriminable"] = told["full"] and not told["rivals"]
    told["prior"] = _scored(prior_answer(case.patient.car.build), truth.key)
    if answer is None:
        return told
    kept = {c: round(p, 4) for c, p in sorted(answer.causes.items()) if p >= KEPT}
    return told | {"top": answer.top, "causes": kept, **_scored(answer, truth.key)}


def _scored(answer: Answer, truth: frozenset[str]) -> Row:
    """Scores of one answer: logarithmic, quadratic, and the set."""
    share = sum(answer.shares().get(cause, 0.0) for cause in truth)
    off = [answer.causes.get(cause, 0.0) - float(cause in truth) for cause in CAUSES]
    chosen = answer.smallest_set(GATES["set_share"])
    return {
        "log_share": round(float(np.log(max(share, FLOOR))), 4),
        "log_whole": round(float(np.log(max(answer.hypotheses.get(truth, 0.0), FLOOR))), 4),
        "brier": round(float(np.sum(np.square(off))), 4),
        "in_set": truth in chosen,
        "set_size": len(chosen),
    }


def figures(rows: Sequence[Row]) -> dict[str, Any]:
    """Everything that the rows of one kind of job say; shares of nothing are None."""
    answered = [one for one in rows if one["answered"]]
    catalogue = [one for one in answered if one["truth"] != [NONE]]
    told = [one for one in catalogue if one["discriminable"]]
    others = [one for one in catalogue if not one["discriminable"]]
    grouped = [one for one in catalogue if one["full"] and one["rivals"]]
    return {
        "jobs": len(rows),
        "answered": len(answered),
        "discriminable": len(told),
        "top": _share(map(right, told)),
        "top_all": _share(map(right, catalogue)),
        "top_from_severity_0.3": _share(right(one) for one in told if min(one["severity"]) >= 0.3),
        "top_up_to_rivals": _share(
            one["top"] in (*one["truth"], *one["rivals"]) for one in grouped
        ),
        "top_of_each": by_class(told),
        "in_set": _share(one["in_set"] for one in others),
        "set_size": _mean(one["set_size"] for one in others),
        **_scores(answered),
        "none_leads": _share(one["top"] == NONE for one in answered if one["truth"] == [NONE]),
        "none_leads_wrongly": _share(one["top"] == NONE for one in catalogue),
        "reliability": reliability(answered),
        "median_seconds": _median(one["seconds"] for one in answered),
        "most_seconds": max((one["seconds"] for one in answered), default=None),
    }


def right(one: Row) -> bool:
    """Whether the leading cause is a true one."""
    return one["top"] in one["truth"]


def by_class(rows: Sequence[Row]) -> dict[str, dict[str, float]]:
    """Each true cause -> jobs that have it, and how often the top cause was right."""
    found: dict[str, dict[str, float]] = {}
    for cause in CAUSES:
        own = [one for one in rows if cause in one["truth"]]
        if own:
            share = _share(map(right, own))
            found[cause] = {"jobs": len(own), "top": share if share is not None else np.nan}
    return found


def _scores(rows: Sequence[Row]) -> dict[str, Any]:
    """Mean scores, and by how much they are better than those of the odds alone."""
    found: dict[str, Any] = {}
    for name in ("log_share", "log_whole", "brier"):
        own, prior = _mean(o[name] for o in rows), _mean(o["prior"][name] for o in rows)
        found[name], found[f"{name}_prior"] = own, prior
    return found


def reliability(rows: Sequence[Row]) -> list[dict[str, float]]:
    """By tenths of the predicted probability, over all causes of all jobs."""
    predicted = np.array([one["causes"].get(c, 0.0) for one in rows for c in CAUSES])
    there = np.array([c in one["truth"] for one in rows for c in CAUSES], dtype=np.float64)
    tenth = np.minimum((predicted * 10.0).astype(np.int64), 9)
    found = []
    for k in range(10):
        inside = tenth == k
        if inside.any():
            p, share = float(predicted[inside].mean()), float(there[inside].mean())
            table = {"from": k / 10, "cases": int(inside.sum()), "predicted": round(p, 4)}
            found.append(table | {"observed": round(share, 4)})
    return found


def unreliable(table: dict[str, float]) -> bool:
    """Whether this tenth has enough cases and is off by too much."""
    p = table["predicted"]
    spread = 2.0 * float(np.sqrt(max(p * (1.0 - p), 0.0) / table["cases"]))
    allowed = max(GATES["decile_points"], spread)
    off = abs(table["observed"] - p)
    return table["cases"] >= GATES["decile_cases"] and bool(off > allowed)


def _share(values: Iterable[Any]) -> float | None:
    return _mean(float(bool(one)) for one in values)


def _mean(values: Iterable[float]) -> float | None:
    known = list(values)
    return round(float(np.mean(known)), 4) if known else None


def _median(values: Iterable[float]) -> float | None:
    known = list(values)
    return round(float(np.median(known)), 2) if known else None
