"""The proof of the causes is right itself: its scores, its gates, its jobs, its store."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from validation.causes import engines, follow, gates, observed, run, score, truths
from validation.causes.answers import Answer, answer_of, prior_answer
from validation.causes.cases import draw, write
from validation.causes.truths import CAUSES, NONE, ODDS, SOUND

from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.steady import solve
from gaugewright.evidence.results import CauseWeight, Findings, Hypothesis
from gaugewright.job.folder import read
from gaugewright.job.words import OBSERVATIONS

BUILD = Build()
EVERYTHING = frozenset().union(
    score.PARTS["all"], *(table["needs"] for table in score.PARTS["cause"].values())
)


def fake_case(number: int, truth: frozenset[str]) -> Any:
    """A case as far as scoring looks at it."""
    causes = tuple(sorted(truth))
    told = truths.Truth(causes, tuple(0.5 for _ in causes))
    return SimpleNamespace(
        number=number, truth=told, patient=SimpleNamespace(car=SimpleNamespace(build=BUILD))
    )


def rows_with(
    answer: Callable[[frozenset[str]], Answer], jobs: int = 500, seed: int = 1
) -> list[score.Row]:
    """Rows of jobs whose truths come by the odds, answered like this."""
    prior = prior_answer(BUILD).hypotheses
    keys, chances = list(prior), np.array(list(prior.values()))
    drawn = np.random.default_rng(seed).choice(len(keys), size=jobs, p=chances / chances.sum())
    return [
        score.row(fake_case(k, keys[which]), EVERYTHING, answer(keys[which]), 1.0)
        | {"readings": 20}
        for k, which in enumerate(drawn)
    ]


def perfect(truth: frozenset[str]) -> Answer:
    return Answer(dict.fromkeys(truth, 1.0), {truth: 1.0})


def odds_alone(_truth: frozenset[str]) -> Answer:
    return prior_answer(BUILD)


def wrong(truth: frozenset[str]) -> Answer:
    """Sure of a cause that isn't there."""
    other = next(c for c in CAUSES if c not in truth and c != NONE)
    return Answer({other: 0.97, SOUND: 0.03}, {frozenset([other]): 0.97, frozenset([SOUND]): 0.03})


def by_name(rows: dict[str, list[score.Row]]) -> dict[str, gates.Gate]:
    return {gate.name: gate for gate in gates.gates(rows)}


def test_perfect_probabilities_reach_every_gate_on_them() -> None:
    rows = rows_with(perfect, 700)
    found = score.figures(rows)
    assert found["top"] == found["top_all"] == 1.0
    assert found["log_share"] == found["log_whole"] == found["brier"] == 0.0
    assert found["none_leads_wrongly"] == 0.0
    assert not [table for table in found["reliability"] if score.unreliable(table)]
    for name, gate in by_name({"mixed": rows}).items():
        if "in the set" not in name:
            assert gate.passed or gate.found is None, str(gate)


def test_odds_alone_are_reliable_and_no_better_than_themselves() -> None:
    rows = rows_with(odds_alone, 3000)
    found = score.figures(rows)
    assert not [table for table in found["reliability"] if score.unreliable(table)]
    assert found["log_share"] == found["log_share_prior"]
    assert found["brier"] == found["brier_prior"]
    held = np.mean([one["in_set"] for one in rows])
    assert held == pytest.approx(0.90, abs=0.03)
    told = by_name({"mixed": rows})
    assert not told["top cause, discriminable jobs"].passed
    assert not told["log_share over the odds'"].passed
    assert not told["Brier under the odds'"].passed


def test_wrong_probabilities_fail_nearly_every_gate() -> None:
    rows = rows_with(wrong)
    told = by_name({"mixed": rows})
    for name in (
        "top cause, discriminable jobs",
        "truth in the set, other jobs",
        "reliability",
        "log_share over the odds'",
        "log_whole over the odds'",
        "Brier under the odds'",
    ):
        assert told[name].found is not None, name
        assert not told[name].passed, name


def test_overconfidence_is_unreliable() -> None:
    """Odds raised to the third power: a little right, much too sure."""

    def sharp(_truth: frozenset[str]) -> Answer:
        shares = {c: p**3 for c, p in prior_answer(BUILD).shares().items()}
        total = sum(shares.values())
        known = {c: p / total for c, p in shares.items()}
        return Answer(known, {frozenset([c]): p for c, p in known.items()})

    table = score.figures(rows_with(sharp, 1500))["reliability"]
    assert [one for one in table if score.unreliable(one)]


def test_what_is_missing_is_told_as_missing() -> None:
    told = list(gates.gates({}))
    assert len(told) > 10
    assert not [gate for gate in told if gate.passed]
    assert all(str(gate).startswith("missing") for gate in told), [str(g) for g in told]


def test_a_job_without_an_answer_is_not_counted_as_right() -> None:
    one = score.row(fake_case(1, frozenset(["oil-thin"])), EVERYTHING, None, 1.0)
    found = score.figures([one])
    assert (found["jobs"], found["answered"], found["top"]) == (1, 0, None)


def test_scores_by_hand() -> None:
    answer = Answer(
        {"oil-thin": 0.7, "worn-pump": 0.5},
        {
            frozenset(["oil-thin"]): 0.5,
            frozenset(["worn-pump"]): 0.3,
            frozenset(["oil-thin", "worn-pump"]): 0.2,
        },
    )
    one = score.row(fake_case(1, frozenset(["oil-thin"])), EVERYTHING, answer, 1.0)
    assert one["log_share"] == pytest.approx(math.log(0.7 / 1.2), abs=1e-4)
    assert one["log_whole"] == pytest.approx(math.log(0.5), abs=1e-4)
    assert one["brier"] == pytest.approx(0.3**2 + 0.5**2)
    assert (one["in_set"], one["set_size"], one["top"]) == (True, 3, "oil-thin")
    both = score.row(fake_case(1, frozenset(answer.causes)), EVERYTHING, answer, 1.0)
    assert both["log_share"] == pytest.approx(0.0)
    assert both["log_whole"] == pytest.approx(math.log(0.2), abs=1e-4)


def test_links_of_one_pair_are_added_up() -> None:
    pair = ("worn-rings", "oil-level-low")
    findings = Findings(
        1,
        "job",
        hypotheses=(
            Hypothesis(pair, "consequence", 0.4),
            Hypothesis(pair[::-1], "unrelated", 0.2),
            Hypothesis(("oil-thin",), "single", 0.4),
        ),
        causes=(CauseWeight("oil-level-low", 0.6), CauseWeight("oil-thin", 0.4)),
    )
    answer = answer_of(findings)
    assert answer is not None
    assert answer.hypotheses[frozenset(pair)] == pytest.approx(0.6)
    assert answer.smallest_set(0.5) == {frozenset(pair)}
    assert answer_of(Findings(1, "job")) is None


def test_the_odds_add_up() -> None:
    answer = prior_answer(BUILD)
    assert sum(answer.hypotheses.values()) == pytest.approx(1.0)
    for cause in answer.causes:
        inside = sum(p for key, p in answer.hypotheses.items() if cause in key)
        assert answer.causes[cause] == pytest.approx(inside), cause


def test_discriminable_needs_what_the_table_asks() -> None:
    thin = fake_case(1, frozenset(["oil-thin"]))
    for item in ("oil-changed", "limit", "saw:oil-level"):
        assert not score.row(thin, EVERYTHING - {item}, None, 1.0)["discriminable"]
    assert score.row(thin, EVERYTHING, None, 1.0)["discriminable"]
    pump = fake_case(1, frozenset(["worn-pump"]))
    assert not score.row(pump, EVERYTHING, None, 1.0)["discriminable"]


def test_bayes_by_hand_on_the_trades_way() -> None:
    table = truths.TRADE["decisive"]
    there, not_there = float(np.mean(table["yes_when_there"])), table["yes_when_not"]
    new = follow._updated({"a": 0.2, "b": 0.8}, "a", True)
    assert new["a"] == pytest.approx(0.2 * there / (0.2 * there + 0.8 * not_there))


def test_minutes_of_a_job_that_is_never_settled_count_as_longest() -> None:
    def way(settled: bool, minutes: float, right: bool) -> dict[str, Any]:
        return {"settled": settled, "minutes": minutes, "right": right, "unknown": []}

    rows = [
        {"answered": True, "advised": way(True, 10.0, True), "trade": way(True, 30.0, True)},
        {"answered": True, "advised": way(True, 12.0, False), "trade": way(True, 40.0, True)},
        {"answered": True, "advised": way(False, 5.0, True), "trade": way(True, 60.0, True)},
    ]
    found = follow.figures(rows)
    assert (found["advised_median"], found["trade_median"]) == (12.0, 40.0)
    assert found["fewer_minutes"] == pytest.approx(0.7)
    assert found["advised_wrong_stops"] == pytest.approx(0.5)
    assert found["advised_settled"] == pytest.approx(2 / 3, abs=1e-4)


def test_tables_speak_of_every_cause_in_the_formats_words() -> None:
    assert set(score.PARTS["cause"]) == set(CAUSES) - {NONE}
    assert set(ODDS) == set(CAUSES)
    for what in observed.LOOKED:
        for cause, row in observed.SEEN[what].items():
            assert cause == "else" or cause in CAUSES
            assert set(row) <= set(OBSERVATIONS[what]), (what, cause)
            assert sum(row.values()) == pytest.approx(1.0), (what, cause)


def test_sound_engines_are_sound_and_differ() -> None:
    idle = []
    for number in range(25):
        car = engines.draw_car(np.random.default_rng([7, number]))
        solved = solve(car.build, car.engine, [Held()])
        low, high = engines.HEALTHY["accepted"]["idle_gauge_pa"]
        assert low <= solved.gauge_pa[0, 0] <= high
        idle.append(float(solved.gauge_pa[0, 0]))
    assert np.std(np.log(idle)) > 0.18


def test_a_job_reads_back_and_does_not_give_its_truth_away(tmp_path: Path) -> None:
    case = draw(31, 2, "worn-bearings")
    write(case, case.items, tmp_path)
    job, _ = read(tmp_path)
    assert len(job.recordings) >= 1
    assert "worn" not in (tmp_path / "job.toml").read_text(encoding="utf-8")
    again = draw(31, 2, "worn-bearings")
    assert again.truth == case.truth
    assert again.items == case.items


def test_an_item_is_the_same_whichever_others_are_written(tmp_path: Path) -> None:
    case = draw(31, 3, "mixed")
    write(case, frozenset(["hot-idle"]), tmp_path / "few")
    write(draw(31, 3, "mixed"), frozenset(["hot-idle", "zero", "limit"]), tmp_path / "more")
    name = next((tmp_path / "few" / "recordings").glob("hot-idle.*")).name
    few, more = (tmp_path / which / "recordings" / name for which in ("few", "more"))
    assert few.read_bytes() == more.read_bytes()


def kept() -> list[str]:
    return [kind for kind in run.KINDS if run.path_of(kind).exists()]


@pytest.mark.parametrize("kind", kept())
def test_kept_figures_are_those_of_the_kept_rows(kind: str) -> None:
    record = run.stored(kind)
    assert record["seed"] == run.seed_of(kind)
    rows = [row for shard in record["shards"].values() for row in shard]
    found = follow.figures(rows) if kind == "tests" else score.figures(rows)
    assert json.loads(json.dumps(found)) == record["figures"]


def fixed_rows() -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = run.stored("fixed")["shards"]["0"]
    return json.loads(json.dumps(rows))  # type: ignore[no-any-return]


def test_a_wrong_result_fails_the_check(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = fixed_rows()
    monkeypatch.setattr(run, "METHOD_VERSION", run.stored("fixed")["method_version"])
    monkeypatch.setattr(run, "measure", lambda _kind, _shard: rows)
    assert run.disagreements("fixed", 0) == []
    top = max(rows[0]["causes"], key=lambda cause: rows[0]["causes"][cause])
    rows[0]["causes"][top] -= 0.02
    assert len(run.disagreements("fixed", 0)) == 1
    rows[0]["top"] = "worn-rings" if rows[0]["top"] != "worn-rings" else "worn-pump"
    assert len(run.disagreements("fixed", 0)) == 2
    assert len(rows) == len(fixed_rows())
    rows.pop()
    assert len(run.disagreements("fixed", 0)) == 1


def test_another_method_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "METHOD_VERSION", run.METHOD_VERSION + 1)
    assert "method" in run.disagreements("fixed", 0)[0]


def test_the_confusion_table_has_its_truths_in_its_rows() -> None:
    rows = {"oil-thin": [row for row in rows_with(wrong, 40) if "oil-thin" in row["truth"]]}
    text = gates.table(rows)
    assert text.count("\n") == len(CAUSES) + 1
    line = next(line for line in text.splitlines() if " oil-thin |" in line)
    assert "**·**" in line


@pytest.mark.slow
def test_the_fixed_jobs_come_again() -> None:
    assert run.disagreements("fixed", 0) == []
