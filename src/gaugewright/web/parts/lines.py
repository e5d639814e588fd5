"""The line beside each part's head: how much there is of it, in a few words."""

from __future__ import annotations

from collections.abc import Callable

from gaugewright.web.parts.gaps import Tables, measured, repaired, rows, visits
from gaugewright.web.wording import Words


def line_of(name: str, tables: Tables, words: Words) -> str:
    """What a part holds, in a few words."""
    return _LINES[name](tables, words)


def _complaint(tables: Tables, words: Words) -> str:
    said = str((tables.get("complaint") or {}).get("text", "")).strip()
    seen = len(rows(tables, "observation"))
    if not said and not seen:
        return words("line.not-taken")
    return words.count("line.observations", seen) if seen else words("line.taken")


def _limits(tables: Tables, words: Words) -> str:
    found = rows(tables, "limit")
    if not found:
        return words("line.no-limit")
    bare = sum(not row.get("source") for row in found)
    if bare:
        return words("line.limits-bare", n=len(found), bare=bare)
    return words.count("line.limits", len(found))


def _instruments(tables: Tables, words: Words) -> str:
    sensors, gauges = len(rows(tables, "sensor")), len(rows(tables, "instrument"))
    said = [words.count("line.sensors", sensors)] if sensors else []
    said += [words.count("line.gauges", gauges)] if gauges else []
    return ", ".join(said) or words("line.no-sensor")


def _recordings(tables: Tables, words: Words) -> str:
    found = rows(tables, "recording")
    marked = {
        (row.get("visit"), stretch.get("name"))
        for row in found
        for stretch in rows(row, "condition")
    }
    by_hand = len(rows(tables, "reading"))
    said = [words.count("line.recordings", len(found))] if found else []
    said += [words.count("line.conditions", len(marked))] if marked else []
    said += [words.count("line.by-hand", by_hand)] if by_hand else []
    return ", ".join(said) or words("line.no-recording")


def _meaning(tables: Tables, words: Words) -> str:
    return words("line.meaning" if measured(tables) else "line.waits-measure")


def _repair(tables: Tables, words: Words) -> str:
    work = rows(tables, "work")
    if not work:
        return words("line.no-repair")
    done = sum(row.get("state", "done") == "done" for row in work)
    return words("line.repair", done=done, n=len(work))


def _retest(tables: Tables, words: Words) -> str:
    names = visits(tables)
    if len(names) > 1:
        key = "line.retested" if measured(tables, names[-1]) else "line.retest-begun"
        return words(key, visit=names[-1])
    return words("line.retest" if repaired(tables) else "line.waits-repair")


def _handover(tables: Tables, words: Words) -> str:
    return words("line.pages" if measured(tables) else "line.waits-measure")


_LINES: dict[str, Callable[[Tables, Words], str]] = {
    "complaint": _complaint,
    "limits": _limits,
    "instruments": _instruments,
    "recordings": _recordings,
    "meaning": _meaning,
    "repair": _repair,
    "retest": _retest,
    "handover": _handover,
}
