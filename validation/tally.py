"""What scoring collects, and how it is told."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True)
class Row:
    """One scored interval: where it stands, what it said, what was true, what was possible."""

    kind: str
    job: int
    item: str
    value: float
    u: float
    low: float
    high: float
    truth: float
    ideal_width: float | None
    flags: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Does the interval hold the truth?"""
        return self.low <= self.truth <= self.high

    @property
    def wrong_by(self) -> float:
        """How many standard uncertainties the value is from the truth."""
        return abs(self.value - self.truth) / self.u if self.u else float("inf")


@dataclass
class Tally:
    """Everything that scoring collects."""

    rows: list[Row] = field(default_factory=list)
    verdicts: dict[str, list[tuple[int, str, str, bool, bool]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    missing: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    expected: Counter[str] = field(default_factory=Counter)
    crashes: list[tuple[int, str]] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)


def summary(tally: Tally, worst: int) -> Iterator[str]:
    """The figures, line by line, then the worst misses."""
    kinds: dict[str, list[Row]] = defaultdict(list)
    for row in tally.rows:
        kinds[row.kind].append(row)
    for kind in sorted(kinds):
        yield _kind_line(kind, kinds[kind])
    for kind, entries in tally.verdicts.items():
        yield _verdict_line(kind, entries)
    for kind, count in tally.expected.items():
        gone = tally.missing.get(kind, [])
        yield f"expected {kind}: {count}, missing {len(gone)} {'; '.join(gone[:4])}"
    yield f"crashes {len(tally.crashes)}"
    for number, text in tally.crashes[:6]:
        yield f"--- job {number}\n{text}"
    if tally.seconds:
        yield f"analyse: median {np.median(tally.seconds):.2f} s, most {max(tally.seconds):.2f} s"
    misses = sorted((r for r in tally.rows if not r.holds), key=lambda r: -r.wrong_by)
    for row in misses[:worst]:
        yield (
            f"miss: job {row.job} {row.kind} {row.item}: {row.value:.4g} u {row.u:.3g} "
            f"truth {row.truth:.4g} ({row.wrong_by:.1f} u) {row.flags}"
        )
    for kind, entries in tally.verdicts.items():
        wrong = [e for e in entries if e[3] and not e[4]]
        for entry in wrong[:worst]:
            yield f"wrong verdict, {kind}: job {entry[0]} {entry[1]}: {entry[2]}"


def _kind_line(kind: str, rows: list[Row]) -> str:
    held = float(np.mean([row.holds for row in rows]))
    line = f"{kind:52s} n {len(rows):5d}  holds {held:.3f}"
    pairs = [(r.high - r.low, r.ideal_width) for r in rows if r.ideal_width and np.isfinite(r.high)]
    if pairs:
        widths = np.array(pairs)
        ratio = np.median(widths[:, 0]) / np.median(widths[:, 1])
        line += f"  median width {np.median(widths[:, 0]):.3g}  ratio {ratio:.2f}"
        line += f"  median of ratios {np.median(widths[:, 0] / widths[:, 1]):.2f}"
    return line


def _verdict_line(kind: str, entries: list[tuple[int, str, str, bool, bool]]) -> str:
    decided = [entry for entry in entries if entry[3]]
    right = sum(entry[4] for entry in decided)
    share = len(decided) / max(len(entries), 1)
    line = f"{kind:52s} n {len(entries):5d}  yes {share:.3f}"
    return line + f"  right of these {right / max(len(decided), 1):.3f}"
