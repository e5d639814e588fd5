"""Scores the analysis on random jobs: held truths, widths, verdicts, what is missing.

python -m validation.score --jobs 50 [--first 0] [--worst 12]
"""

from __future__ import annotations

import argparse
import tempfile
import time
import traceback
from pathlib import Path
from typing import Any

import numpy as np

from validation.analyst import Analyst
from validation.jobs import LimitTruth, Made
from validation.seeds import SEEDS
from validation.story import make
from validation.tally import Row, Tally, summary

FAR_RPM = 150.0
"""Beyond it a straight line is no careful analyst's extrapolation, and no width is compared."""

PRESSURES = ("oil-pressure", "crankcase-pressure")


def _ends(low: float | None, high: float | None) -> tuple[float, float]:
    return (-np.inf if low is None else low, np.inf if high is None else high)


def score_readings(made: Made, analyst: Analyst, findings: Any, tally: Tally) -> None:
    """Readings against their truths; those that the data allow and that are absent."""
    seen = set()
    for reading in findings.readings:
        key = (reading.visit, reading.condition, reading.quantity, reading.reference)
        truth = made.level(*key) if reading.quantity in PRESSURES else None
        if truth is None:
            continue
        seen.add(key)
        recorded = all("/" in signal for signal in reading.signals)
        single = recorded and not any("oil2" in signal for signal in reading.signals)
        level = analyst.levels.get(key) if single else None
        ideal = None if level is None else 2.0 * analyst.interval(level)[2]
        kind = f"reading {reading.quantity} {reading.reference}"
        if not recorded:
            kind += " by hand"
        if reading.bound:
            kind += " bound"
        low, high = _ends(reading.low, reading.high)
        u = reading.standard_uncertainty
        item = f"{key} {reading.behaviour} n={reading.cycles}"
        flags = tuple(reading.flags)
        tally.rows.append(
            Row(kind, made.seed, item, reading.value, u, low, high, truth, ideal, flags)
        )
        _score_state(made, reading, tally)
    for key in analyst.levels:
        tally.expected["reading"] += 1
        if key not in seen:
            tally.missing["reading"].append(f"job {made.seed} {key}")


def _score_state(made: Made, reading: Any, tally: Tally) -> None:
    """The mean speed that a reading names."""
    found = made.held(reading.visit, reading.condition)
    if found is None or reading.speed is None or reading.reference != "atmosphere":
        return
    truth = made.state(*found)[0]
    u = reading.speed.standard_uncertainty or 0.0
    low, high = reading.speed.value - 5.0, reading.speed.value + 5.0
    item = f"{reading.visit} {reading.condition}"
    kind = "speed of a reading (within 5 rpm)"
    tally.rows.append(
        Row(kind, made.seed, item, reading.speed.value, u, low, high, truth, None, ())
    )


def _match_truth(made: Made, match: Any, speed: float) -> float | None:
    one = made.held(match.from_visit or match.visit, match.from_)
    other = made.held(match.visit, match.to)
    if one is None or other is None or match.quantity not in PRESSURES:
        return None
    degc = 0.5 * (made.state(*one)[1] + made.state(*other)[1])
    levels = [e.level(h, match.quantity, match.reference, speed, degc) for e, h in (one, other)]
    return levels[1] - levels[0]


def _match_ideal(made: Made, analyst: Analyst, match: Any, speed: float) -> float | None:
    """The careful analyst's width of a match within one visit, at the same speed."""
    if match.from_visit not in (None, match.visit):
        return None
    sides = []
    one, other = made.held(match.visit, match.from_), made.held(match.visit, match.to)
    if one is None or other is None or abs(one[1].speed_rpm - other[1].speed_rpm) > FAR_RPM:
        return None
    for engine, held in (one, other):
        level = analyst.levels.get((match.visit, held.name, match.quantity, match.reference))
        if level is None or not level.per_rpm_variance:
            return None
        there = level.at(speed)
        if match.quantity == "oil-pressure":
            there = analyst.warmed(engine, held, there, analyst.known_degc(*one)) or there
        sides.append(there)
    apart = sides[1].plus(sides[0], -1.0)
    if match.quantity == "oil-pressure":
        apart = apart.plus(analyst.drift_between(one[0], one[1], other[1], sides[0]), 1.0)
    return 2.0 * analyst.interval(apart)[2]


def score_matches(made: Made, analyst: Analyst, findings: Any, tally: Tally) -> None:
    """Matches against truth at the speed they name."""
    seen = set()
    for match in findings.matches:
        at = match.at.get("engine-speed")
        if at is None:
            continue
        truth = _match_truth(made, match, at.value)
        if truth is None:
            continue
        across = match.from_visit not in (None, match.visit)
        kind = f"match {match.quantity} {match.reference}"
        kind += " across" if across else ""
        kind += " extrapolated" if match.extrapolated else ""
        item = f"{match.visit} {match.from_} -> {match.to} at {at.value:.0f}"
        ideal = _match_ideal(made, analyst, match, at.value)
        u, flags = match.standard_uncertainty, tuple(match.flags)
        low, high = match.low, match.high
        tally.rows.append(
            Row(kind, made.seed, item, match.difference, u, low, high, truth, ideal, flags)
        )
        seen.add((match.visit, match.to, match.quantity, match.reference, across))
    _missing_matches(made, analyst, seen, tally)


def _missing_matches(made: Made, analyst: Analyst, seen: set[Any], tally: Tally) -> None:
    if made.recipe.speed_source == "none":
        return
    for visit, condition, quantity, reference in analyst.levels:
        engine = next(e for e in made.engines if e.visit == visit)
        first, held = engine.conditions[0], engine.named(condition)
        fast = "speed-raised" in held.did
        across = visit == "second" and condition == "as found"
        if (held is first and not across) or (fast and made.recipe.two_stage):
            continue
        kind = "match across" if across else "match to fast" if fast else "match"
        tally.expected[kind] += 1
        if (visit, condition, quantity, reference, across) not in seen:
            tally.missing[kind].append(
                f"job {made.seed} {visit} {condition} {quantity} {reference}"
            )


def _slope_word(slope: float) -> str:
    if slope == 1.0:
        return "follows the crankcase"
    return "real loss as well" if slope > 1.0 else "does not follow the crankcase"


def score_references(made: Made, analyst: Analyst, findings: Any, tally: Tally) -> None:
    """Reference checks: slope, verdict, effect."""
    checks = {check.visit: check for check in findings.reference_checks}
    for engine in made.engines:
        ideal = analyst.slope(engine)
        check = checks.get(engine.visit)
        if ideal is not None:
            tally.expected["reference check"] += 1
            if check is None or check.slope is None:
                tally.missing["reference check"].append(f"job {made.seed} {engine.visit}")
        if check is None or check.slope is None:
            continue
        width = None if ideal is None else 2.0 * 1.96 * ideal[1]
        low, high = _ends(check.low, check.high)
        row = Row(
            "reference slope",
            made.seed,
            f"{engine.visit} {check.verdict}",
            check.slope,
            check.standard_uncertainty or 0.0,
            low,
            high,
            engine.slope,
            width,
            tuple(check.flags),
        )
        tally.rows.append(row)
        decided = check.verdict != "undecided"
        right = check.verdict == _slope_word(engine.slope)
        entry = (made.seed, f"{engine.visit} u={row.u:.3f}", check.verdict, decided, right)
        tally.verdicts["reference check"].append(entry)
        possible = ideal is not None and 3.92 * ideal[1] < 0.8
        tally.verdicts["reference check, analyst could"].append((made.seed, "", "", possible, True))
        if check.effect is not None:
            _score_effect(made, engine.visit, check.effect, tally)


def _score_effect(made: Made, visit: str, effect: Any, tally: Tally) -> None:
    truth = made.level(visit, "as found", "crankcase-pressure", "atmosphere")
    if truth is not None:
        half = (effect.high - effect.low) / 2.0
        row = Row(
            "effect of the crankcase",
            made.seed,
            visit,
            effect.value,
            half / 1.96,
            effect.low,
            effect.high,
            truth,
            None,
            (),
        )
        tally.rows.append(row)


def _limit_truth(made: Made, limit: LimitTruth, seen_by: str) -> tuple[float, str]:
    """True value at the limit's state and the verdict an all-knowing judge would give."""
    engine = made.engines[0]
    held = engine.named(limit.condition)
    speed, degc = made.state(engine, held)
    reference = "crankcase" if seen_by == "bearings" else "atmosphere"
    at = limit.speed_rpm or speed, limit.oil_degc if limit.oil_degc is not None else degc
    value = engine.level(held, limit.quantity, reference, *at)
    less = limit.crankcase_kpa if seen_by == "bearings" else 0.0
    if limit.min_kpa is not None and value < limit.min_kpa - less:
        return value, "falls short"
    if limit.max_kpa is not None and value > limit.max_kpa - less:
        return value, "exceeds"
    return value, "meets"


def _could_decide(limit: LimitTruth, seen_by: str, found: tuple[float, float] | None) -> bool:
    if found is None:
        return False
    value, u = found
    less = limit.crankcase_kpa if seen_by == "bearings" else 0.0
    ends = [end - less for end in (limit.min_kpa, limit.max_kpa) if end is not None]
    return all(abs(value - end) > 1.645 * u for end in ends)


def score_limits(made: Made, analyst: Analyst, findings: Any, tally: Tally) -> None:
    """Limit checks of the first visit against what is true of them."""
    for limit in made.limits:
        for seen_by in ("gauge", "bearings"):
            if seen_by == "bearings" and limit.quantity != "oil-pressure":
                continue
            found = analyst.check(limit, seen_by)
            checks = [
                check
                for check in findings.limit_checks
                if (check.limit, check.seen_by, check.condition)
                == (limit.name, seen_by, limit.condition)
                and check.visit in (None, "first")
            ]
            kind = f"limit {seen_by}" if limit.quantity == "oil-pressure" else "limit crankcase"
            tally.expected[kind] += 1
            absent = (limit.condition, limit.quantity, "crankcase")
            if not checks and (
                seen_by == "gauge" or ("first", absent[0], *absent[1:]) in analyst.levels
            ):
                tally.missing[kind].append(f"job {made.seed} {limit.name} {limit.condition}")
            for check in checks:
                _score_check(made, limit, kind, seen_by, check, found, tally)


def _score_check(
    made: Made,
    limit: LimitTruth,
    kind: str,
    seen_by: str,
    check: Any,
    found: tuple[float, float] | None,
    tally: Tally,
) -> None:
    truth, word = _limit_truth(made, limit, seen_by)
    decided = check.verdict in ("meets", "falls short", "exceeds")
    item = f"{limit.name} v={check.value} u={check.standard_uncertainty} truth {truth:.3f} ({word})"
    item += f" min {limit.min_kpa} max {limit.max_kpa} T {limit.oil_degc} {check.flags}"
    tally.verdicts[kind].append((made.seed, item, check.verdict, decided, check.verdict == word))
    could = _could_decide(limit, seen_by, found)
    tally.verdicts[f"{kind}, analyst could"].append((made.seed, item, "", could, True))
    if word != "meets":
        entry = (made.seed, item, check.verdict, check.verdict == "meets", False)
        tally.verdicts[f"{kind}, false meets of failing"].append(entry)
    unknown = bool({"oil-temperature-unknown", "at-stop"} & set(check.flags))
    if check.value is not None and check.standard_uncertainty and not unknown:
        u = check.standard_uncertainty
        ideal = None if found is None else 3.92 * found[1]
        low, high = check.value - 1.96 * u, check.value + 1.96 * u
        flags = tuple(check.flags)
        row = Row(f"{kind} value", made.seed, item, check.value, u, low, high, truth, ideal, flags)
        tally.rows.append(row)


def score_switches(made: Made, findings: Any, tally: Tally) -> None:
    """The share of a condition's time for which the lamp truly was on.

    A slow logger has averaged the ripple away that the switch feels: not scored.
    """
    if made.switch_kpa is None or made.recipe.slow_hz:
        return
    course, engine = made.courses["first"], made.engines[0]
    for held in engine.conditions:
        tally.expected["switch"] += 1
        inside = (course.time_s > held.start_s) & (course.time_s < held.end_s)
        truth = float(np.mean(course.gauge_kpa[inside] < made.switch_kpa))
        checks = [
            c
            for c in findings.switch_checks
            if c.condition == held.name and c.visit in (None, "first")
        ]
        if not checks:
            tally.missing["switch"].append(f"job {made.seed} {held.name}")
        for check in checks:
            if check.lamp_on_share is None:
                continue
            low, high = (check.share_low or 0.0) - 0.01, (check.share_high or 0.0) + 0.01
            row = Row(
                "lamp share",
                made.seed,
                f"{held.name}",
                check.lamp_on_share,
                0.25 * (high - low),
                low,
                high,
                truth,
                None,
                (),
            )
            tally.rows.append(row)


def score_job(number: int, folder: Path, tally: Tally, seed: int) -> None:
    """Make one job, analyse it, score it."""
    from gaugewright.analysis.analyse import analyse
    from gaugewright.job.folder import opened

    made = make(seed, number, folder)
    analyst = Analyst(made)
    begun = time.perf_counter()
    try:
        with opened(folder) as (job, base):
            findings = analyse(job, base).findings
    except Exception:
        tally.crashes.append((number, traceback.format_exc(limit=-4)))
        return
    tally.seconds.append(time.perf_counter() - begun)
    score_readings(made, analyst, findings, tally)
    score_matches(made, analyst, findings, tally)
    score_references(made, analyst, findings, tally)
    score_limits(made, analyst, findings, tally)
    score_switches(made, findings, tally)


def score(first: int, count: int, seed: int) -> Tally:
    """Score jobs `first` to `first + count - 1` of a seed."""
    tally = Tally()
    for number in range(first, first + count):
        with tempfile.TemporaryDirectory() as folder:
            score_job(number, Path(folder), tally, seed)
    return tally


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=50)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--worst", type=int, default=12)
    parser.add_argument("--seed", type=int, default=SEEDS["jobs"]["mixed"])
    given = parser.parse_args()
    tally = score(given.first, given.jobs, given.seed)
    print("\n".join(summary(tally, given.worst)))


if __name__ == "__main__":
    main()
