"""The tests one could do next: all there, with their cautions, and never on an engine to stop."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from gaugewright.causes import catalogue
from gaugewright.causes import tests as doing
from gaugewright.causes.catalogue import FAULTS, NAMES
from gaugewright.causes.view import JobView, Observed
from gaugewright.engine.held import ACTIONS as ENGINE_ACTIONS
from gaugewright.job.words import ACTIONS, BLOCKING, LASTING, SEEN
from gaugewright.quantities.catalogue import QUANTITIES

DOCS = Path(__file__).parents[2] / "docs/reference"
BY_NAME = {one.name: one for one in doing.every_test()}
DECISIVE_MINUTES = {
    "oil-level-low": 2, "oil-aerated": 20, "oil-thin": 45, "fuel-in-oil": 10,
    "pickup-restricted": 10, "pickup-sucks-air": 10, "filter-restricted": 20,
    "relief-valve-open": 15, "relief-valve-shut": 5, "worn-pump": 180, "pump-control-stuck": 10,
    "worn-bearings": 20, "indication-fault": 10, "ventilation-regulator-torn": 8,
    "breather-blocked": 10, "crankcase-open": 2, "intake-leak": 20, "worn-rings": 40,
    "test-fault": 10,
}  # fmt: skip
"""Minutes of the decisive test, as judged before this table was made (judgement)."""
LOOKS = [one for one in doing.every_test() if one.kind == "look"]


def says(test: doing.Test, *keys: str) -> bool:
    return all(doing.cautions()[key] in test.cautions for key in keys)


def test_every_cause_has_its_decisive_test_with_its_minutes() -> None:
    assert set(doing.decisive()) == set(FAULTS)
    for cause, minutes in DECISIVE_MINUTES.items():
        assert BY_NAME[doing.decisive()[cause]].minutes == minutes
    assert 60 <= BY_NAME[doing.decisive()["internal-leak"]].minutes <= 240


def test_every_action_that_can_be_a_test_is_one() -> None:
    done = {one.did for one in doing.every_test()} | {
        action for one in doing.every_test() for held in one.conditions for action in held.did
    }
    assert set(ACTIONS) - done == {"repaired"}


def test_a_condition_can_be_held_by_the_virtual_engine() -> None:
    for test in doing.every_test():
        assert (test.kind == "condition") == bool(test.conditions) == (test.rows is None)
        for held in test.conditions:
            assert set(held.did) <= set(ENGINE_ACTIONS)
            assert set(held.quantities) <= set(QUANTITIES)
            assert held.quantities
            assert held.oil in ("hot", "cold")
            assert ("speed-raised" in held.did) == (held.speed_rpm is not None)


def test_a_blocked_vent_is_held_for_ten_seconds_at_most() -> None:
    blocked = [(t, c) for t in BY_NAME.values() for c in t.conditions if {*c.did} & {*BLOCKING}]
    assert len(blocked) >= 3
    for test, held in blocked:
        assert held.for_s is not None
        assert held.for_s <= 10.0
        assert says(test, "blocked")
        assert any("+3 kPa" in when for when in test.not_when)


@pytest.mark.parametrize("test", LOOKS, ids=lambda one: one.name)
def test_outcomes_add_up_and_none_is_certain(test: doing.Test) -> None:
    hypotheses = [*((name,) for name in NAMES), *catalogue.pairs()]
    table = doing.chances(test, hypotheses)
    assert table.shape == (len(test.outcomes), len(hypotheses))
    assert table.sum(axis=0) == pytest.approx(1.0)
    assert table.min() > 0.0
    assert np.ptp(table, axis=1).max() > 0.3


def test_a_condition_has_no_table_of_outcomes() -> None:
    with pytest.raises(ValueError, match="virtual engine"):
        doing.chances(BY_NAME["hot-idle"], [("oil-thin",)])


def test_the_decisive_look_speaks_for_its_cause() -> None:
    for cause, name in doing.decisive().items():
        test = BY_NAME[name]
        if test.kind == "look":
            table = doing.chances(test, [(one,) for one in FAULTS])
            best = table / table.mean(axis=1, keepdims=True)
            assert best[:, FAULTS.index(cause)].max() > 2.5, name


def test_cautions_stand_where_the_trade_asks_for_them() -> None:
    for test in BY_NAME.values():
        if test.runs:
            assert says(test, "running") or says(test, "drive"), test.name
            assert any("without oil pressure" in when for when in test.not_when), test.name
        if any(held.oil == "cold" for held in test.conditions):
            assert says(test, "start"), test.name
            assert any("has run" in when for when in test.not_when), test.name
    asked = {
        "dipstick": ("hot-oil",),
        "second-gauge": ("fitting", "hose", "start", "running"),
        "filler-cap-off": ("cap-off", "running"),
        "crankcase-two-speeds": ("sump-pressure", "hose"),
        "vent-port-blocked": ("blocked", "vacuum"),
        "regulator-port-blocked": ("vacuum",),
        "smoke-into-intake": ("smoke", "sump-pressure"),
        "cranking": ("cranking", "ignition", "self-start"),
        "leak-down": ("compressed-air", "self-start"),
        "sustained-3000": ("high-speed", "misfire"),
        "ventilation-hose-off": ("fuel-vapour",),
        "bends": ("drive",),
        "lamp-and-switch": ("electrics", "maker"),
        "hot-idle": ("start", "lamp"),
    }
    for name, keys in asked.items():
        assert says(BY_NAME[name], *keys), name


def test_every_caution_and_exclusion_is_used() -> None:
    stated = doing._file()
    for part in ("cautions", "not_when"):
        used = {key for row in stated["test"] for key in row.get(part, ())}
        assert set(stated[part]) - used == set()


def test_a_knock_or_no_pressure_stops_every_running_test() -> None:
    knock = JobView(seen=(Observed("first", "noise", "knock under load"),))
    for left, reason in (
        (doing.tests_for(knock), doing.stop_rule(knock)),
        (doing.tests_for(JobView(), stopped=True), doing.stop_rule(JobView(), no_pressure=True)),
    ):
        assert reason is not None
        assert reason.startswith("Engine off")
        assert left
        assert not any(test.runs or test.conditions for test in left)
    assert doing.stop_rule(JobView()) is None
    assert any(test.runs for test in doing.tests_for(JobView()))


def names(view: JobView) -> set[str]:
    return {test.name for test in doing.tests_for(view)}


def test_a_test_fits_the_engine() -> None:
    plain = names(JobView(ventilation="valve", oil_pump="fixed", fuel="petrol"))
    assert not plain & {"regulator-port-blocked", "valve-commanded", "pump-step"}
    assert "fresh-air-blocked" in plain
    assert "regulator-port-blocked" in names(JobView(ventilation="regulator"))
    assert "valve-commanded" in names(JobView(oil_pump="controlled"))
    assert "vent-port-blocked" not in names(JobView(ventilation="open"))
    diesel = JobView(fuel="diesel", metering="none")
    assert not names(diesel) & {"trims-two-speeds", "smoke-into-intake", "trims-with-vent-blocked"}
    for test in doing.tests_for(diesel):
        assert all(c.quantities for c in test.conditions), test.name
        assert not any("fuel-trim-short" in c.quantities for c in test.conditions)


@pytest.mark.parametrize(
    ("level", "crankcase_pa", "key"),
    [
        ("above maximum", (), "overfull"),
        ("below minimum", (), "low-level"),
        ("not on the dipstick", (), "low-level"),
        ("", (11e3,), "high-crankcase"),
        ("", (-2e3, 3.2e3), "high-crankcase"),
        ("", (-16e3,), "deep-vacuum"),
    ],
)
def test_what_must_not_be_done_on_this_engine_is_not_proposed(
    level: str, crankcase_pa: tuple[float, ...], key: str
) -> None:
    seen = (Observed("first", "oil-level", level),) if level else ()
    sentence = doing._file()["not_when"][key]
    barred = {name for name, test in BY_NAME.items() if sentence in test.not_when}
    found = {test.name for test in doing.tests_for(JobView(seen=seen), crankcase_pa=crankcase_pa)}
    assert barred
    assert not barred & found
    usual = Observed("first", "oil-level", "between the marks")
    assert barred <= {
        test.name for test in doing.tests_for(JobView(seen=(usual,)), crankcase_pa=(-2e3, 2.8e3))
    }


def test_what_was_looked_at_is_not_proposed_again() -> None:
    assert "dipstick" in names(JobView())
    seen = JobView(seen=(Observed("first", "oil-level", "at minimum"),))
    assert "dipstick" not in names(seen)
    assert {a for t in BY_NAME.values() for a in t.answers} <= set(SEEN)


def test_a_lasting_test_says_so() -> None:
    lasting = {test.lasting for test in BY_NAME.values()} - {None}
    assert lasting == set(LASTING) - {"repaired"}


def test_how_is_one_plain_sentence() -> None:
    for test in BY_NAME.values():
        assert test.how.endswith("."), test.name
        assert not re.search(r"\. [A-Z]", test.how), test.name
        assert len(test.how) < 240, test.name
        assert test.minutes > 0
        assert test.effort in ("none", "small", "some", "great")


def test_every_test_stands_in_the_reference_page() -> None:
    text = (DOCS / "tests.md").read_text(encoding="utf-8")
    rows = {
        m[1]: float(m[2])
        for m in re.finditer(r"^\| `([a-z0-9-]+)` \| [A-Z][^|]*\| (\d+) \|", text, re.M)
    }
    assert rows == {test.name: test.minutes for test in BY_NAME.values()}
    assert [c for c in doing.cautions().values() if c not in text] == []
