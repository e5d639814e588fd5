"""The kept figures of the statistical proof: of this method, and come again."""

from __future__ import annotations

import json

import numpy as np
import pytest
from validation.seeds import SEEDS

from gaugewright import METHOD_VERSION
from validation import reml, run


def kept() -> list[str]:
    return [kind for kind in run.classes() if (run.RESULTS / f"{kind}.json").exists()]


def test_every_class_is_kept_whole_for_this_method() -> None:
    assert kept() == run.classes()
    for kind in run.classes():
        record = json.loads((run.RESULTS / f"{kind}.json").read_text(encoding="utf-8"))
        assert record["method_version"] == METHOD_VERSION, kind
        assert len(record["shards"]) == run.shards_of(kind), kind


@pytest.mark.parametrize("kind", list(SEEDS["cycles"]))
def test_intervals_hold_the_truth_in_93_to_97_percent(kind: str) -> None:
    for name, part in run.stored(kind)["figures"].items():
        assert part["given"] >= 0.95 * part["asked"], (kind, name)
        assert 0.93 <= part["coverage"] <= 0.97, (kind, name)
        assert part["width_ratio"] <= 1.3, (kind, name)


def test_a_limit_that_is_not_met_is_seldom_called_met() -> None:
    assert run.stored("on-the-limit")["figures"]["verdicts"]["share_meets"] <= 0.065
    assert run.stored("beyond-the-limit")["figures"]["verdicts"]["share_meets"] <= 0.01


def test_the_analysts_likelihood_agrees_with_dense_algebra() -> None:
    rng = np.random.default_rng(5)
    steps = np.abs(np.subtract.outer(np.arange(30), np.arange(30)))
    inverse = np.linalg.inv(0.6 * 0.7**steps + 0.4 * np.eye(30))
    design = np.column_stack([np.ones(30), np.arange(30) / 30.0])
    values = rng.standard_normal(30)
    normal = design.T @ inverse @ design
    best = np.linalg.solve(normal, design.T @ inverse @ values)
    _, found, covariance, _ = reml._pieces(design, values, 0.7, 0.4)
    assert found == pytest.approx(best, abs=1e-10)
    assert covariance == pytest.approx(np.linalg.inv(normal), abs=1e-10)


@pytest.mark.slow
def test_the_fixed_shard_comes_again() -> None:
    fixed = SEEDS["fixed"]
    assert run.disagreements(fixed["class"], fixed["shard"]) == []


def test_another_method_version_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "METHOD_VERSION", METHOD_VERSION + 1)
    fixed = SEEDS["fixed"]
    assert "method" in run.disagreements(fixed["class"], fixed["shard"])[0]


def test_one_interval_more_or_less_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    fixed = SEEDS["fixed"]
    before = run.stored(fixed["class"])["shards"][str(fixed["shard"])]
    other = {name: dict(part) for name, part in before.items()}
    other["reading"]["held"] -= 1
    monkeypatch.setattr(run, "measure", lambda _kind, _shard: other)
    assert len(run.disagreements(fixed["class"], fixed["shard"])) == 1
