"""From a bare first recording to a call: by the advised tests, and by the trade's own order.

Both stop when one cause has 95 %.  The advised tests are done on the same engine and written into
the job, which is analysed anew.  The trade's decisive tests are done in the order of odds over
minutes; each says yes or no about its own cause, and the odds follow by Bayes' rule.  A job that
no test settles counts as longer than any other.
"""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from gaugewright.analysis.analyse import analyse
from gaugewright.evidence.results import Findings, NextTest
from gaugewright.job.folder import read
from validation.causes.answers import answer_of, prior_answer
from validation.causes.cases import Case, write
from validation.causes.engines import HERE, Rng
from validation.causes.score import GATES
from validation.causes.truths import TRADE, suits

with (HERE / "looks.toml").open("rb") as _file:
    LOOKS: dict[str, dict[str, Any]] = tomllib.load(_file)
BARE = frozenset({"hot-idle", "limit", "saw:lamp"})
MOST_STEPS = 14
NEVER = 9999.0
"""Minutes of a job that no test settles."""
Row = dict[str, Any]


@dataclass
class Way:
    """How far a job has come: minutes, tests done, and what they have brought."""

    items: frozenset[str]
    saw: dict[str, str]
    minutes: float = 0.0
    done: list[str] = field(default_factory=list)
    top: str = ""
    probability: float = 0.0
    unknown: list[str] = field(default_factory=list)
    analyses: int = 0
    nothing_left: bool = False
    """Whether the advice itself came to an end."""

    @property
    def settled(self) -> bool:
        """Whether one cause has enough."""
        return self.probability >= float(GATES["stop_at"])


def followed(case: Case) -> Row:
    """One job both ways, as a row."""
    seed = [case.seed, case.number]
    advised = by_advice(case, np.random.default_rng([*seed, 9]))
    minutes, probability, top = by_the_trade(case, np.random.default_rng([*seed, 10]))
    truth = case.truth.causes
    return {
        "number": case.number,
        "truth": list(truth),
        "severity": [round(s, 3) for s in case.truth.severities],
        "outside": case.truth.outside,
        "answered": advised.analyses > 0,
        "advised": {
            "settled": advised.settled,
            "minutes": advised.minutes,
            "top": advised.top,
            "p": round(advised.probability, 4),
            "right": advised.top in truth,
            "tests": advised.done,
            "unknown": advised.unknown,
            "nothing_left": advised.nothing_left,
        },
        "trade": {
            "settled": probability >= GATES["stop_at"],
            "minutes": minutes,
            "top": top,
            "p": round(probability, 4),
            "right": top in truth,
        },
    }


def by_advice(case: Case, rng: Rng) -> Way:
    """The first advised test that can be done, again and again, until one cause has enough."""
    way = Way(case.possible(BARE), dict(case.saw))
    while True:
        findings = _analysed(case, way)
        if not _weighed(way, findings) or way.settled or len(way.done) == MOST_STEPS:
            return way
        test = _next(case, way, findings.next_tests)
        if test is None:
            way.nothing_left = True
            return way
        _do(case, way, test, rng)


def _analysed(case: Case, way: Way) -> Findings:
    with tempfile.TemporaryDirectory() as place:
        write(replace(case, saw=way.saw), way.items, Path(place))
        job, folder = read(Path(place))
        return analyse(job, folder).findings


def _weighed(way: Way, findings: Findings) -> bool:
    """Take over what the analysis says; False: it says nothing."""
    answer = answer_of(findings)
    if answer is None:
        return False
    way.analyses += 1
    way.top = answer.top
    way.probability = answer.causes[way.top]
    return True


def _next(case: Case, way: Way, advised: Sequence[NextTest]) -> NextTest | None:
    """The first advised test that is known here and brings something that isn't there yet."""
    for test in advised:
        if _brings(case, way, test.test) - way.items:
            return test
        if test.test not in (*LOOKS["finds"], *LOOKS["adds"]):
            way.unknown.append(test.test)
    return None


def _brings(case: Case, way: Way, test: str) -> frozenset[str]:
    """The job's items once this test is done."""
    new = way.items | frozenset(LOOKS["adds"].get(test, ()))
    looked = {f"saw:{test}"} if test in LOOKS["finds"] else set()
    return case.possible(new) | looked


def _do(case: Case, way: Way, test: NextTest, rng: Rng) -> None:
    way.minutes += test.minutes
    way.done.append(test.test)
    way.items = way.items | _brings(case, way, test.test)
    if test.test in LOOKS["finds"]:
        way.saw[test.test] = _shown(case, LOOKS["finds"][test.test], rng)


def _shown(case: Case, words: Mapping[str, str], rng: Rng) -> str:
    """What a test that is looked at shows on this engine."""
    found = [w for cause, w in words.items() if cause != "else" and says_yes(rng, case, cause)]
    return found[0] if found else words["else"]


def says_yes(rng: Rng, case: Case, cause: str) -> bool:
    """Whether the decisive test of a cause says yes on this engine."""
    truth, table = case.truth, TRADE["decisive"]
    if cause not in truth.causes:
        return bool(rng.random() < table["yes_when_not"])
    low, high = table["yes_when_there"]
    severity = truth.severities[truth.causes.index(cause)]
    return bool(rng.random() < low + (high - low) * severity)


def by_the_trade(case: Case, rng: Rng) -> tuple[float, float, str]:
    """(minutes, probability, cause) when the decisive tests are done by odds over minutes."""
    build = case.patient.car.build
    odds = dict(prior_answer(build).shares())
    tests = sorted(
        (c for c, row in TRADE["cause"].items() if row["minutes"] and suits(c, build)),
        key=lambda c: -TRADE["cause"][c]["odds"] / TRADE["cause"][c]["minutes"],
    )
    minutes = 0.0
    for cause in tests:
        minutes += TRADE["cause"][cause]["minutes"]
        odds = _updated(odds, cause, says_yes(rng, case, cause))
        if max(odds.values()) >= GATES["stop_at"]:
            break
    top = max(odds, key=lambda c: odds[c])
    return minutes, odds[top], top


def _updated(odds: Mapping[str, float], cause: str, yes: bool) -> dict[str, float]:
    """Bayes' rule after the test of one cause has spoken."""
    table = TRADE["decisive"]
    there = float(np.mean(table["yes_when_there"]))
    chance = {c: there if c == cause else table["yes_when_not"] for c in odds}
    new = {c: p * (chance[c] if yes else 1.0 - chance[c]) for c, p in odds.items()}
    total = sum(new.values())
    return {c: p / total for c, p in new.items()}


def figures(rows: Sequence[Row]) -> dict[str, Any]:
    """Medians and wrong stops of both ways; None where there is nothing."""
    known = [row for row in rows if row["answered"]]
    found: dict[str, Any] = {"jobs": len(rows), "answered": len(known)}
    for who in ("advised", "trade"):
        found |= {f"{who}_{name}": value for name, value in _of(known, who).items()}
    ours, theirs = found["advised_median"], found["trade_median"]
    found["fewer_minutes"] = None if ours is None else round(1.0 - ours / theirs, 4)
    found["advice_ended"] = _share(row["advised"].get("nothing_left", False) for row in known)
    found["unknown_tests"] = sorted({name for row in known for name in row["advised"]["unknown"]})
    return found


def _share(values: Iterable[bool]) -> float | None:
    known = [float(one) for one in values]
    return round(float(np.mean(known)), 4) if known else None


def _of(rows: Sequence[Row], who: str) -> dict[str, float | None]:
    ways = [row[who] for row in rows]
    if not ways:
        return dict.fromkeys(("median", "median_spent", "settled", "wrong_stops"))
    minutes = [way["minutes"] if way["settled"] else NEVER for way in ways]
    stops = [way for way in ways if way["settled"]]
    wrong = float(np.mean([not way["right"] for way in stops])) if stops else None
    return {
        "median": float(np.median(minutes)),
        "median_spent": float(np.median([way["minutes"] for way in ways])),
        "settled": round(len(stops) / len(ways), 4),
        "wrong_stops": None if wrong is None else round(wrong, 4),
    }
