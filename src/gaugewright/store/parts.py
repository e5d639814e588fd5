"""How far each part of a job is, from what its document holds."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def parts_of(tables: Mapping[str, Any], ready: bool) -> dict[str, str]:
    """The state of every part, as `lines.STATES` names them.

    `ready` says whether the job can be analysed as it stands.
    """
    measured = _recordings(tables)
    meaning = "waiting" if measured in ("missing", "begun") else "done" if ready else "begun"
    repair = _repair(tables) if meaning == "done" else "waiting"
    retest = _retest(tables) if repair == "done" else "waiting"
    return {
        "complaint": _complaint(tables),
        "limits": _limits(tables),
        "instruments": _instruments(tables),
        "recordings": measured,
        "meaning": meaning,
        "repair": repair,
        "retest": retest,
        "handover": "waiting" if meaning != "done" else "missing",
    }


def _state(whole: object, part: object) -> str:
    return "done" if whole else "begun" if part else "missing"


def _complaint(tables: Mapping[str, Any]) -> str:
    said = tables.get("complaint") or {}
    told = said.get("text") or said.get("codes")
    return _state(told and tables.get("observation"), told or tables.get("observation"))


def _limits(tables: Mapping[str, Any]) -> str:
    limits = tables.get("limit") or []
    return _state(limits and all(limit.get("source") for limit in limits), limits)


def _instruments(tables: Mapping[str, Any]) -> str:
    sensors = tables.get("sensor") or []
    signals = [s for r in tables.get("recording") or [] for s in r.get("signal") or []]
    named = [s for s in signals if s.get("sensor")]
    known = sensors or tables.get("instrument") or (signals and not named)
    return _state(known and all(len(s.get("points") or []) > 1 for s in sensors), known)


def _recordings(tables: Mapping[str, Any]) -> str:
    entries, by_hand = tables.get("recording") or [], tables.get("reading") or []
    if not entries:
        return "done" if by_hand else "missing"
    return _state(all(entry.get("condition") for entry in entries), entries)


def _repair(tables: Mapping[str, Any]) -> str:
    work = tables.get("work") or []
    return _state(any(item.get("state", "done") == "done" for item in work), work)


def _retest(tables: Mapping[str, Any]) -> str:
    visits = [visit.get("name") for visit in tables.get("visit") or []][1:]
    entries = [e for e in tables.get("recording") or [] if e.get("visit") in visits]
    by_hand = [r for r in tables.get("reading") or [] if r.get("visit") in visits]
    return _state(by_hand or any(entry.get("condition") for entry in entries), visits)
