"""What is missing in each part of a job, so that the page can say what comes next."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from gaugewright.store.lines import PARTS

Tables = Mapping[str, Any]


def gaps(tables: Tables) -> dict[str, tuple[str, ...]]:
    """Part -> what is missing in it, as keys of texts; nothing where nothing is."""
    return {name: tuple(_RULES[name](tables)) for name in PARTS}


def next_part(states: Mapping[str, str], missing: Mapping[str, tuple[str, ...]]) -> str | None:
    """The first part that is neither done nor waits for another: where the job goes on."""
    open_ = (name for name in PARTS if states.get(name) in ("begun", "missing"))
    return next(open_, None) or next((name for name in PARTS if missing[name]), None)


def rows(tables: Tables, name: str) -> list[Tables]:
    """The rows of a repeated table; none where there is none."""
    found = tables.get(name) or []
    return [row for row in found if isinstance(row, Mapping)] if isinstance(found, list) else []


def visits(tables: Tables) -> list[str]:
    """The names of the visits in their order; a job without any has its first one."""
    return [str(row.get("name", "")) for row in rows(tables, "visit")] or ["first"]


def visit_of(tables: Tables, row: Tables) -> str:
    """The visit a row belongs to."""
    return str(row.get("visit") or visits(tables)[0])


def measured(tables: Tables, visit: str | None = None) -> bool:
    """Whether anything was measured (at this visit): a marked recording or a hand reading."""
    marked = [row for row in rows(tables, "recording") if row.get("condition")]
    return any(
        visit is None or visit_of(tables, row) == visit
        for row in (*marked, *rows(tables, "reading"))
    )


def repaired(tables: Tables) -> bool:
    """Whether any work is done."""
    return any(row.get("state", "done") == "done" for row in rows(tables, "work"))


def _complaint(tables: Tables) -> list[str]:
    seen = {row.get("what") for row in rows(tables, "observation")}
    said = str((tables.get("complaint") or {}).get("text", "")).strip()
    graded = (tables.get("vehicle") or {}).get("oil_grade")
    asked = {
        "complaint-text": said,
        "oil-level": "oil-level" in seen,
        "lamp": "lamp" in seen,
        "oil-grade": graded,
    }
    return [key for key, there in asked.items() if not there]


def _limits(tables: Tables) -> list[str]:
    found = rows(tables, "limit")
    if not found:
        return ["limit"]
    return [] if all(row.get("source") for row in found) else ["limit-source"]


def _instruments(tables: Tables) -> list[str]:
    recorded = [s for row in rows(tables, "recording") for s in rows(row, "signal")]
    in_units = any(signal.get("unit") for signal in recorded)
    sensors = rows(tables, "sensor")
    if not sensors and not rows(tables, "instrument") and not in_units:
        return ["sensor"]
    return [] if all(len(s.get("points") or ()) > 1 for s in sensors) else ["points"]


def _recordings(tables: Tables) -> list[str]:
    if measured(tables):
        return []
    return ["condition"] if rows(tables, "recording") else ["recording"]


def _meaning(tables: Tables) -> list[str]:
    if not measured(tables):
        return ["measure"]
    return [] if rows(tables, "work") else ["decide"]


def _repair(tables: Tables) -> list[str]:
    if repaired(tables):
        return []
    return ["repair-done"] if rows(tables, "work") else ["repair"]


def _retest(tables: Tables) -> list[str]:
    names = visits(tables)
    if len(names) > 1:
        return [] if measured(tables, names[-1]) else ["measure-again"]
    return ["retest"] if repaired(tables) else ["repair-first"]


def _handover(tables: Tables) -> list[str]:
    return ["hand-over"] if measured(tables) else ["measure"]


_RULES: dict[str, Callable[[Tables], list[str]]] = {
    "complaint": _complaint,
    "limits": _limits,
    "instruments": _instruments,
    "recordings": _recordings,
    "meaning": _meaning,
    "repair": _repair,
    "retest": _retest,
    "handover": _handover,
}
