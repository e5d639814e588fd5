"""The what-if bench: at a limit's own state it says what the limit check says."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from gaugewright.web.bench_case import Ask, bench_of, matched, verdict, would_be
from gaugewright.web.recording_room import room_of

sys.path.insert(0, str(Path(__file__).parent))
from recording_made import Opened, opened_app, small_folder  # noqa: F401


def on_the_bench(app: Opened):
    return bench_of(room_of(app.bay).read(app.kept, wait=True), "first")


@pytest.mark.parametrize(
    ("seen_by", "reference"), [("gauge", "atmosphere"), ("bearings", "crankcase")]
)
def test_at_the_limits_state_it_is_the_limit_check(
    app: Opened,
    seen_by: str,
    reference: str,
) -> None:
    bench = on_the_bench(app)
    checks = [c for c in bench.findings.limit_checks if c.seen_by == seen_by]
    assert {c.condition for c in checks} == {"as found"}
    for check in checks:
        situation = next(s for s in bench.situations if s.condition == check.condition)
        would = would_be(bench, situation, reference, 830.0, situation.warmth.degc)
        assert would is not None
        assert would.value / 1000 == pytest.approx(check.value, rel=1e-9)
        word, chance = verdict(would, bench.limits[0])
        assert word == check.verdict
        assert chance == pytest.approx(check.probability_of_meeting, abs=1e-9)


def test_at_the_common_speed_it_is_the_match(app: Opened) -> None:
    bench = on_the_bench(app)
    match = next(
        m
        for m in bench.findings.matches
        if (m.quantity, m.reference) == ("oil-pressure", "atmosphere")
    )
    one, two = (
        next(s for s in bench.situations if s.condition == n) for n in (match.from_, match.to)
    )
    speed = match.at["engine-speed"].value
    found = matched(bench, Ask(one, two, None, speed, one.warmth.degc))
    assert found is not None
    assert found.value / 1000 == pytest.approx(match.difference, rel=1e-6)
    assert found.u / 1000 == pytest.approx(match.standard_uncertainty, rel=1e-6)


def test_faster_asks_for_more_pressure_and_knows_less_of_it(app: Opened) -> None:
    bench = on_the_bench(app)
    held = [would_be(bench, bench.situations[0], "atmosphere", s, 90.0) for s in (830.0, 1000.0)]
    assert held[1].value > held[0].value
    assert held[1].half > 2 * held[0].half
    assert (held[0].beyond, held[1].beyond) == (False, True)


def test_the_answer_says_what_holds_elsewhere(app: Opened) -> None:
    address = f"/api/jobs/{app.job}/bench"
    on_the_bench(app)
    told = app.client.get(address).json()
    assert told["chosen"] == {"condition": "as found", "other": "cap off", "limit": "hot idle"}
    assert "a thought, not a check" not in told["html"]
    away = app.client.get(address, params={"speed": 1000}).json()
    assert "a thought, not a check" in away["html"]
    assert "never acquits" in away["html"]
    assert "safe" not in away["html"]


def test_a_visit_that_is_not_there_is_said(app: Opened) -> None:
    on_the_bench(app)
    answer = app.client.get(f"/api/jobs/{app.job}/bench", params={"visit": "tomorrow"})
    assert answer.status_code == 404
    assert 'visit "tomorrow"' in answer.json()["sentence"]
