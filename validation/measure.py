"""One shard of the statistical proof: stretches made, weighed, and held against the truth."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

import numpy as np

from validation.classes import Pair, Stretch, make_pair
from validation.ideal import ideal_fit
from validation.noise import Floats
from validation.reml import Fit
from validation.seeds import SEEDS
from validation.weighing import Limited, findings_of
from validation.whole import whole_findings

SHARD = 100
ITEMS = ("reading", "match", "slope")


@dataclass(frozen=True)
class Interval:
    """What was found for one item, and the ideal analyst's standard uncertainty of it."""

    value: float
    u: float
    low: float
    high: float
    truth: float
    ideal_u: float

    @property
    def holds(self) -> bool:
        """Does the interval hold the truth?"""
        return self.low <= self.truth <= self.high

    @property
    def ideal_width(self) -> float:
        """The ideal analyst's width with the same t factor."""
        return self.ideal_u * (self.high - self.low) / self.u


def _ideal(
    pair: Pair, values: tuple[Floats, Floats]
) -> tuple[tuple[Fit, float], tuple[Fit, float]]:
    late, few = pair.scene.kind == "slow-late-speed", pair.scene.kind == "few-cycles"
    first = ideal_fit(pair.first, values[0], late, few)
    return first, ideal_fit(pair.second, values[1], late, few)


def _apart_u(fits: tuple[tuple[Fit, float], tuple[Fit, float]]) -> float:
    """Standard uncertainty of the difference at one speed, slopes taken together."""
    (one, mean_one), (other, mean_other) = fits
    variance = float(one.covariance[0, 0] + other.covariance[0, 0])
    if len(one.coefficients) > 1:
        slopes = 1.0 / (1.0 / one.covariance[1, 1] + 1.0 / other.covariance[1, 1])
        variance += (mean_one - mean_other) ** 2 * float(slopes)
    return variance**0.5


def _less(stretch: Stretch, share: float) -> Floats:
    return np.asarray(stretch.gauge_kpa - share * stretch.crankcase_kpa)


def intervals(pair: Pair, findings: Any) -> dict[str, Interval]:
    """The gauge's reading as found, its match and the reference slope, where they were given."""
    fits = _ideal(pair, (pair.first.gauge_kpa, pair.second.gauge_kpa))
    found: dict[str, Interval] = {}
    for reading in findings.readings:
        key = (reading.condition, reading.quantity, reading.reference)
        if key == ("as found", "oil-pressure", "atmosphere") and reading.low is not None:
            ideal = float(fits[0][0].covariance[0, 0]) ** 0.5
            truth = pair.first.level_kpa
            found["reading"] = _interval(reading, reading.value, truth, ideal)
    for match in findings.matches:
        if (match.quantity, match.reference) == ("oil-pressure", "atmosphere"):
            at = match.at["engine-speed"].value
            truth = pair.second.at(at) - pair.first.at(at)
            found["match"] = _interval(match, match.difference, truth, _apart_u(fits))
    for check in findings.reference_checks:
        if check.slope is not None and check.low is not None and check.high is not None:
            less = _ideal(pair, (_less(pair.first, pair.slope), _less(pair.second, pair.slope)))
            ideal = _apart_u(less) / abs(pair.second.box_kpa - pair.first.box_kpa)
            found["slope"] = _interval(check, check.slope, pair.slope, ideal)
    return found


def _interval(item: Any, value: float, truth: float, ideal_u: float) -> Interval:
    return Interval(value, item.standard_uncertainty, item.low, item.high, truth, ideal_u)


def _figures(intervals_of: list[Interval], asked: int) -> dict[str, float]:
    widths = np.array([i.high - i.low for i in intervals_of])
    ideals = np.array([i.ideal_width for i in intervals_of])
    return {
        "asked": asked,
        "given": len(intervals_of),
        "held": sum(i.holds for i in intervals_of),
        "median_width": float(np.median(widths)) if len(widths) else 0.0,
        "median_ideal_width": float(np.median(ideals)) if len(widths) else 0.0,
    }


def measure_class(kind: str, shard: int) -> dict[str, dict[str, float]]:
    """Figures of one shard of a class of stretches."""
    seed = SEEDS["cycles"][kind]
    collected: dict[str, list[Interval]] = defaultdict(list)
    for number in range(shard * SHARD, (shard + 1) * SHARD):
        pair = make_pair(seed, number, kind)
        whole = number % SEEDS["counts"]["whole-every"] == 0
        findings = whole_findings(pair, number) if whole else findings_of(pair, number)
        for name, interval in intervals(pair, findings).items():
            collected[name].append(interval)
    return {name: _figures(collected[name], SHARD) for name in ITEMS}


def measure_limits(kind: str, shard: int) -> dict[str, dict[str, float]]:
    """How often a gauge that truly does not do better than its limit is said to meet it."""
    kinds = [name for name in SEEDS["cycles"] if name != "few-cycles"]
    seed = SEEDS["limits"][kind]
    verdicts: dict[str, int] = defaultdict(int)
    for number in range(shard * SHARD, (shard + 1) * SHARD):
        pair = make_pair(seed, number, kinds[number % len(kinds)])
        beyond = 0.0
        if kind == "beyond-the-limit":
            late = pair.scene.kind == "slow-late-speed"
            fit, _ = ideal_fit(pair.first, pair.first.gauge_kpa, late, False)
            place = 4.0 * np.random.default_rng([seed, number, 1]).random()
            beyond = place * float(fit.covariance[0, 0]) ** 0.5
        findings = findings_of(pair, number, Limited(pair.first.level_kpa + beyond))
        for check in findings.limit_checks:
            if (check.seen_by, check.condition) == ("gauge", "as found"):
                verdicts[check.verdict] += 1
    return {"verdicts": {"asked": SHARD, **verdicts}}
