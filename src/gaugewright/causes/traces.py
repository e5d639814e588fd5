"""How a recording runs within its stretches, as evidence: ripple, dips and sag of the oil pressure,
and the idle's hunting.

The virtual engine predicts levels; what an engine does about its level is told by the trade's table
in words, and weighed by the table traces.toml beside this module (judgement).
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
import numpy.typing as npt

from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.observation import COLD_BELOW_DEGC
from gaugewright.causes.symptoms import Told
from gaugewright.evidence.case import Case
from gaugewright.evidence.cycles import is_slow
from gaugewright.evidence.stretch import Kept
from gaugewright.quantities.said import said

Floats = npt.NDArray[np.float64]

LEAST_CYCLES = 20
"""Fewer cycles tell nothing of how a stretch runs."""
DIPPED = 0.85
"""Below this share of the level a cycle has dipped."""
SPAN = 3.0
"""What does something else altogether lies evenly within so many spreads of a logarithm, or so many
times a tenth, about the usual."""


@dataclass(frozen=True)
class Trace:
    """One thing that can be measured within a stretch; see traces.toml."""

    title: str
    told: str
    log: bool
    least: float
    usual: float
    spread: float
    anything: float
    shows: Mapping[str, tuple[float, float, float]]

    def density(self, value: float, hypothesis: Hypothesis) -> float:
        """Density of this value under a hypothesis, but for a common factor."""
        at = self._on_scale(max(value, self.least))
        quiet = _normal(at, self._on_scale(self.usual), self.spread)
        showing = [self.shows[cause] for cause in hypothesis if cause in self.shows]
        silent = float(np.prod([1.0 - often for often, _, _ in showing]))
        total = sum(often for often, _, _ in showing) or 1.0
        loud = sum(
            often * _normal(at, self._on_scale(middle), spread) for often, middle, spread in showing
        )
        told = silent * quiet + (1.0 - silent) * loud / total
        return (1.0 - self.anything) * told + self.anything / self._reach()

    def _on_scale(self, value: float) -> float:
        return float(np.log(value)) if self.log else value

    def _reach(self) -> float:
        return 2.0 * SPAN if self.log else 0.2 * SPAN


def _normal(at: float, middle: float, spread: float) -> float:
    return float(np.exp(-0.5 * ((at - middle) / spread) ** 2) / (spread * np.sqrt(2.0 * np.pi)))


@cache
def traces() -> Mapping[str, Trace]:
    """The table, by name."""
    text = resources.files(__package__).joinpath("traces.toml").read_text(encoding="utf-8")
    return {
        name: Trace(**{**row, "shows": {c: tuple(three) for c, three in row["shows"].items()}})
        for name, row in tomllib.loads(text).items()
    }


def trace_likelihoods(
    case: Case, visits: Sequence[str], hypotheses: Sequence[Hypothesis]
) -> tuple[Told, ...]:
    """What does the run of each stretch say about each hypothesis?

    Each thing counts once, by the stretch in which it is most pronounced; nothing is said of what
    no stretch was long or quick enough to show.
    """
    found: dict[str, list[float]] = {}
    for name, value in _measured(case, set(visits)):
        found.setdefault(name, []).append(value)
    return tuple(
        Told(
            trace.title, _said(trace, max(found[name])), _logs(trace, max(found[name]), hypotheses)
        )
        for name, trace in traces().items()
        if name in found
    )


def _said(trace: Trace, value: float) -> str:
    return said(trace.told, size=100.0 * value)


def _logs(trace: Trace, value: float, hypotheses: Sequence[Hypothesis]) -> Floats:
    return np.log([trace.density(value, hypothesis) for hypothesis in hypotheses])


def _measured(case: Case, visits: set[str]) -> Iterator[tuple[str, float]]:
    """(name, value) of everything that warm stretches show in which nothing was done but to hold
    the engine."""
    cold = _cold(case)
    for kept in case.gathered.stretches:
        visit, did = kept.recording.visit, set(kept.span.did) - {"nothing"}
        held = did <= {"speed-raised"} and kept.last - kept.first >= LEAST_CYCLES
        warm = kept.span.condition not in cold and "cold" not in kept.span.condition.lower()
        if visit in visits and held and warm:
            yield from _of_oil(kept, raised=bool(did))
            if not did:
                yield from _of_speed(kept)


def _cold(case: Case) -> set[str]:
    """Conditions with cold oil."""
    return {
        s.condition for s in case.situations if s.warmth.known and s.warmth.degc < COLD_BELOW_DEGC
    }


def _of_oil(kept: Kept, raised: bool) -> Iterator[tuple[str, float]]:
    cycle_s = (kept.to_s - kept.from_s) / (kept.last - kept.first)
    for signal in kept.recording.signals:
        if signal.quantity != "oil-pressure" or signal.label not in kept.table.means:
            continue
        values = np.asarray(kept.table.means[signal.label][kept.cycles])
        values = values[np.isfinite(values)]
        if len(values) < LEAST_CYCLES or signal.reference == "vacuum" or np.median(values) <= 0.0:
            continue
        level = float(np.median(values))
        if not is_slow(signal, cycle_s):
            yield "ripple", float(np.diff(values).std() / np.sqrt(2.0)) / level
            yield "dips", float(np.mean(values < DIPPED * level))
        if raised:
            place = np.linspace(-0.5, 0.5, len(values))
            yield "sag", -float(np.polyfit(place, values, 1)[0]) / level


def _of_speed(kept: Kept) -> Iterator[tuple[str, float]]:
    if kept.table.speed_rpm is None:
        return
    speed = np.asarray(kept.table.speed_rpm[kept.cycles])
    speed = speed[np.isfinite(speed)]
    if len(speed) >= LEAST_CYCLES:
        place = np.arange(len(speed))
        rest = speed - np.polyval(np.polyfit(place, speed, 1), place)
        yield "hunting", 1.4826 * float(np.median(np.abs(rest))) / float(speed.mean())
