"""What is asked of the causes, against what is kept; and the confusion table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from validation.causes import follow
from validation.causes.score import GATES, Row, figures, unreliable
from validation.causes.truths import CAUSES, NONE, SOUND

MISSING = "missing"


@dataclass(frozen=True)
class Gate:
    """One thing that is asked: `found` None where nothing is kept of it."""

    name: str
    asked: str
    found: Any
    passed: bool

    def __str__(self) -> str:
        state = MISSING if self.found is None else "reached" if self.passed else "NOT REACHED"
        return f"{state:12s} {self.name}: {self.found} (asked: {self.asked})"


def _gate(name: str, asked: str, found: Any, passed: bool) -> Gate:
    return Gate(name, asked, found, found is not None and passed)


def gates(rows: Mapping[str, Sequence[Row]]) -> Iterator[Gate]:
    """Every gate of `discriminating.toml`, from the rows by kind of job."""
    each = [row for cause in CAUSES if cause != NONE for row in rows.get(cause, ())]
    mixed, outside = list(rows.get("mixed", ())), list(rows.get("outside", ()))
    yield from _top_gates(figures(each + mixed))
    yield from _calibration_gates(figures(mixed), len(mixed))
    yield from _none_gates(figures(outside), figures(each + mixed))
    yield from _time_gates([*mixed, *each, *outside])
    yield from _test_gates(list(rows.get("tests", ())))


def _at_least(value: float | None, least: float) -> bool:
    return value is not None and value >= least


def _top_gates(found: Mapping[str, Any]) -> Iterator[Gate]:
    top = found["top"]
    yield _gate(
        "top cause, discriminable jobs", f">= {GATES['top']}", top, _at_least(top, GATES["top"])
    )
    least = GATES["top_of_each_class"]
    for cause, own in found["top_of_each"].items():
        named = f"top cause, {cause}, {own['jobs']} jobs"
        yield _gate(named, f">= {least}", own["top"], own["top"] >= least)


def _calibration_gates(found: Mapping[str, Any], jobs: int) -> Iterator[Gate]:
    answered = found["answered"]
    yield _gate(
        "jobs by the trade's odds",
        f">= {GATES['jobs']}",
        answered or None,
        answered >= GATES["jobs"],
    )
    low, high = GATES["set_holds"]
    held = found["in_set"]
    yield _gate(
        "truth in the set, other jobs",
        f"{low} to {high}",
        held,
        held is not None and low <= held <= high,
    )
    off = [table for table in found["reliability"] if unreliable(table)]
    told = None if not jobs else f"{len(off)} tenths off {off}"
    yield _gate("reliability", "0 tenths off", told, not off)
    for name, margin in (
        ("log_share", "log_score_over_prior"),
        ("log_whole", "log_score_over_prior"),
    ):
        own, prior = found[name], found[f"{name}_prior"]
        better = None if own is None else round(own - prior, 3)
        yield _gate(
            f"{name} over the odds'",
            f">= {GATES[margin]}",
            better,
            _at_least(better, GATES[margin]),
        )
    own, prior = found["brier"], found["brier_prior"]
    better = None if own is None else round(prior - own, 3)
    least = GATES["brier_over_prior"]
    yield _gate("Brier under the odds'", f">= {least}", better, _at_least(better, least))


def _none_gates(outside: Mapping[str, Any], inside: Mapping[str, Any]) -> Iterator[Gate]:
    jobs = outside["answered"]
    yield _gate(
        "jobs with outside faults",
        f">= {GATES['none_jobs']}",
        jobs or None,
        jobs >= GATES["none_jobs"],
    )
    leads, least = outside["none_leads"], GATES["none_leads"]
    yield _gate("none-of-these leads there", f">= {least}", leads, _at_least(leads, least))
    wrongly, most = inside["none_leads_wrongly"], GATES["none_leads_wrongly"]
    yield _gate(
        "and in jobs of the catalogue",
        f"<= {most}",
        wrongly,
        wrongly is not None and wrongly <= most,
    )


def _time_gates(rows: list[Row]) -> Iterator[Gate]:
    few = [row["seconds"] for row in rows if row["answered"] and 15 <= row["readings"] <= 25]
    most = max(few, default=None)
    limit = GATES["seconds_a_job"]
    yield _gate(
        "most seconds, 15 to 25 readings", f"< {limit}", most, most is not None and most < limit
    )


def _test_gates(rows: list[Row]) -> Iterator[Gate]:
    found = follow.figures(rows)
    fewer, asked = found["fewer_minutes"], round(GATES["fewer_minutes"], 3)
    yield _gate(
        "fewer minutes by advised tests",
        f">= {asked}",
        fewer,
        _at_least(fewer, GATES["fewer_minutes"]),
    )
    for who in ("advised", "trade"):
        wrong, most = found[f"{who}_wrong_stops"], GATES["wrong_stops"]
        yield _gate(f"wrong stops, {who}", f"<= {most}", wrong, wrong is not None and wrong <= most)


def told(rows: Mapping[str, Sequence[Row]]) -> list[str]:
    """The gates and the figures behind them, line by line."""
    each = [row for cause in CAUSES if cause != NONE for row in rows.get(cause, ())]
    lines = [str(gate) for gate in gates(rows)]
    for name, these in (("each", each), ("mixed", rows.get("mixed", ()))):
        plain = {
            k: v for k, v in figures(list(these)).items() if k not in ("reliability", "top_of_each")
        }
        lines.append(f"{name}: {plain}")
    lines += [f"  {table}" for table in figures(list(rows.get("mixed", ())))["reliability"]]
    return [*lines, f"tests: {follow.figures(list(rows.get('tests', ())))}"]


def table(rows: Mapping[str, Sequence[Row]]) -> str:
    """Markdown: truth down, leading cause across, per cent of the row's jobs; a dot for none."""
    led = [*(c for c in CAUSES if c not in (SOUND, NONE)), SOUND, NONE]
    head = "| truth | jobs | " + " | ".join(str(place + 1) for place in range(len(led))) + " |"
    lines = [head, "|---|--:|" + "--:|" * len(led)]
    for place, cause in enumerate(led):
        own = rows.get(cause, ())
        cells = [_cell(own, cause, top) for top in led]
        lines.append(f"| {place + 1} {cause} | {len(own)} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def _cell(rows: Sequence[Row], cause: str, top: str) -> str:
    if not rows:
        return ""
    share = 100.0 * sum(_leads(row, cause, top) for row in rows) / len(rows)
    told = f"{share:.0f}" if share else "·"
    return f"**{told}**" if top == cause else told


def _leads(row: Row, cause: str, top: str) -> bool:
    """Of two true causes, either that leads counts as the row's own."""
    return (cause if row["top"] in row["truth"] else row["top"]) == top
