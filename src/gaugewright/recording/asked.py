"""What the job asks of a file: which columns, and which of them are clocks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import RecordingEntry
from gaugewright.recording.layout import Layout

TIME_NAMES = ("time", "t", "clock", "timestamp", "time stamp", "date time", "datetime", "seconds")


@dataclass(frozen=True)
class Asked:
    """What the job asks of the file: column indices by the job's names, the time columns."""

    columns: Mapping[str, int]
    clocks: Mapping[str, int | None]
    main: int | None


def names(entry: RecordingEntry) -> list[str]:
    """All column names that the entry uses, clocks among them."""
    names = [entry.time] if entry.time else []
    for signal in entry.signals:
        names += [n for n in (signal.column, signal.supply_column, signal.time) if n]
    return names


def asked_of(entry: RecordingEntry, layout: Layout, stamped: set[int], numeric: set[int]) -> Asked:
    """Find what the job names; complain of all that is missing at once."""
    problems: list[Problem] = []
    main = _main_clock(entry, layout, stamped, problems)
    clocks: dict[str, int | None] = {"": main}
    found: dict[str, int] = {}
    for number, signal in enumerate(entry.signals, 1):
        where = f"signal {number} of recording '{entry.name}'"
        for name in filter(None, (signal.column, signal.supply_column)):
            _find(name, layout, found, entry.file, where, problems)
        if signal.time:
            _find_clock(signal.time, layout, clocks, entry.file, problems)
    if not entry.signals:
        found = {layout.heads[i].name: i for i in sorted(numeric - {main})}
        if not found:
            text = "no column of numbers beside the clock"
            problems.append(Problem(entry.file, "", text, "export the recording with its samples"))
    if problems:
        raise InputError(problems)
    return Asked(found, clocks, main)


def _find(
    name: str,
    layout: Layout,
    found: dict[str, int],
    file: str,
    where: str,
    problems: list[Problem],
) -> None:
    index = layout.find(name)
    if index is not None:
        found[name] = index
        return
    place = f"{where}, column '{name}'" if where else f"column '{name}'"
    problem = Problem(file, place, "no such column", f"the columns are {layout.listed()}")
    if problem not in problems:
        problems.append(problem)


def _find_clock(
    name: str,
    layout: Layout,
    clocks: dict[str, int | None],
    file: str,
    problems: list[Problem],
) -> None:
    there: dict[str, int] = {}
    _find(name, layout, there, file, "time", problems)
    if name in there:
        clocks[name] = there[name]
        raw = layout.heads[there[name]].raw
        if raw in layout.twice:
            problems.append(
                Problem(
                    file,
                    f"time, column '{name}'",
                    "two columns carry this name, and only one can be the clock",
                    f"name the second as '{raw} (2)', or rename one in the file",
                )
            )


def _main_clock(
    entry: RecordingEntry, layout: Layout, stamped: set[int], problems: list[Problem]
) -> int | None:
    if entry.time:
        clocks: dict[str, int | None] = {}
        _find_clock(entry.time, layout, clocks, entry.file, problems)
        return clocks.get(entry.time)
    if entry.rate or (entry.signals and all(signal.time for signal in entry.signals)):
        return None
    likely = [i for i, head in enumerate(layout.heads) if head.plain in TIME_NAMES or i in stamped]
    if not likely:
        problems.append(
            Problem(
                entry.file,
                f"recording '{entry.name}'",
                "neither a time column nor a rate is stated, and no column is called time",
                f'write time = "…" with one of {layout.listed()}, or rate = "… Hz"',
            )
        )
    return likely[0] if likely else None
