"""The causes in the findings, the whole way from a job: named, warned of, and never a crash."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from small import (
    AS_FOUND,
    CAP_OFF,
    CRANKCASE,
    HEAD,
    LIMIT,
    OIL,
    SPARK,
    conditions,
    csv,
    findings_of,
    lived,
    recording,
    write,
)

from gaugewright.analysis.analyse import analyse
from gaugewright.analysis.findings_json import as_data
from gaugewright.analysis.findings_schema import SHIPPED
from gaugewright.evidence.results import Findings
from gaugewright.job.folder import opened

SCHEMA = json.loads(SHIPPED.read_text(encoding="utf-8"))
BOTH = (AS_FOUND, CAP_OFF)


def whole(folder: Path, text: str, **files: str) -> Findings:
    """The findings, kept to the schema; the hypotheses shown add up to nearly all.

    What is left out lies below `SHOWN` each: a job of two readings leaves many of those open.
    """
    found = findings_of(write(folder, text, **files))
    jsonschema.validate(json.loads(json.dumps(as_data(found), allow_nan=False)), SCHEMA)
    for one in found.causes:
        assert 0.0 <= one.probability <= 1.0
    if found.hypotheses:
        assert 0.8 < sum(h.probability for h in found.hypotheses) < 1.0 + 1e-9
    return found


def codes(found: Findings) -> set[str]:
    return {warning.code for warning in found.warnings}


def named(found: Findings, count: int = 1) -> list[str]:
    return [one.cause for one in found.causes[:count]]


def hand(quantity: str, value: str, condition: str, uncertainty: str = "1 kPa", **more: str) -> str:
    """One reading by hand."""
    keys = "".join(f'{key} = "{text}"\n' for key, text in more.items())
    return (
        f'\n[[reading]]\nquantity = "{quantity}"\nvalue = "{value}"\n'
        f'condition = "{condition}"\nuncertainty = "{uncertainty}"\n{keys}'
    )


def saw(what: str, word: str) -> str:
    return f'\n[[observation]]\nwhat = "{what}"\nsaw = "{word}"\n'


COMPLAINT = '\n[complaint]\ntext = "oil lamp at hot idle"\n'


@pytest.mark.slow
def test_the_example_van_has_its_two_faults(van_folder: Path) -> None:
    found = findings_of(van_folder)
    jsonschema.validate(json.loads(json.dumps(as_data(found), allow_nan=False)), SCHEMA)
    assert set(named(found, 2)) == {"breather-blocked", "fuel-in-oil"}
    leading = found.hypotheses[0]
    assert set(leading.causes) == {"breather-blocked", "fuel-in-oil"}
    assert all(leading.severity[cause].text for cause in leading.causes)
    assert found.causes[0].predicted
    assert sum(h.probability for h in found.hypotheses) > 0.9


def test_a_job_that_asks_nothing_gets_no_cause(tmp_path: Path) -> None:
    found = whole(tmp_path, HEAD + hand("oil-pressure", "80 kPa", "idle"))
    assert "causes-not-asked" in codes(found)
    assert found.causes == found.hypotheses == found.next_tests == ()


def test_a_two_stroke_gets_no_cause(tmp_path: Path) -> None:
    text = HEAD.replace("four-stroke", "two-stroke") + COMPLAINT
    found = whole(tmp_path, text + hand("oil-pressure", "80 kPa", "idle"))
    assert "causes-other-engine" in codes(found)
    assert found.causes == ()


def test_hand_readings_alone(tmp_path: Path) -> None:
    """A crankcase 6 kPa above outside at idle and 7 at speed: its way out is shut."""
    speed = {"speed": "800 rpm", "oil_temperature": "90 degC"}
    text = HEAD + COMPLAINT + hand("crankcase-pressure", "6 kPa", "idle", "0.1 kPa", **speed)
    text += hand("oil-pressure", "95 kPa", "idle", **speed)
    text += hand("crankcase-pressure", "7 kPa", "fast", "0.1 kPa", speed="2500 rpm")
    found = whole(tmp_path, text)
    assert named(found) == ["breather-blocked"]
    lead = found.causes[0]
    rows = {(row.condition, row.quantity): row for row in lead.predicted}
    assert rows["idle", "crankcase-pressure"].read == pytest.approx(6.0)
    assert rows["idle", "crankcase-pressure"].speaks > 0.0
    assert found.next_tests or found.stop_rule


def test_observations_alone(tmp_path: Path) -> None:
    """A dipstick that shows nothing, told before topping up, says what it says without a number."""
    text = HEAD + COMPLAINT + saw("oil-level", "not on the dipstick")
    text += saw("lamp", "on in bends or when braking")
    text += hand("battery-voltage", "14 V", "idle", "0.1 V")
    found = whole(tmp_path, text)
    assert named(found) == ["oil-level-low"]
    assert found.causes[0].symptoms
    assert all(s.speaks > 0.0 for s in found.causes[0].symptoms if s.what == "oil-level")
    assert found.causes[0].predicted == ()
    assert found.next_tests or (found.stop_rule is not None and "95 %" in found.stop_rule)


@pytest.mark.slow
def test_a_limit_alone_asks_for_the_causes(tmp_path: Path) -> None:
    text = HEAD + LIMIT + recording("run", OIL, conditions(BOTH))
    found = whole(tmp_path, text, run=csv(lived(BOTH), "t", "oil"))
    assert len(found.causes) == 22
    assert sum(h.probability for h in found.hypotheses) > 0.9


@pytest.mark.slow
def test_a_knock_stops_the_engine(tmp_path: Path) -> None:
    text = HEAD + COMPLAINT + saw("noise", "knock under load")
    found = whole(tmp_path, text + hand("oil-pressure", "40 kPa", "idle"))
    assert found.stop_rule is not None
    assert "Engine off" in found.stop_rule


def vehicle(**more: str) -> str:
    return HEAD + "".join(f'{key} = "{text}"\n' for key, text in more.items()) + COMPLAINT


READINGS = hand("oil-pressure", "60 kPa", "idle") + hand("crankcase-pressure", "1 kPa", "idle")
ODD = {
    "diesel": vehicle(fuel="diesel").replace("coil-on-plug", "compression"),
    "manifold pressure": vehicle(metering="manifold-pressure", ventilation="valve"),
    "no metering": vehicle(metering="none", ventilation="orifice"),
    "into the open": vehicle(ventilation="open", oil_pump="controlled", displacement="1.2 L"),
    "two stages": vehicle(oil_pump="two-stage", ventilation="regulator", fuel="gas"),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", ODD)
def test_every_kind_of_engine_gets_its_causes(name: str, tmp_path: Path) -> None:
    found = whole(tmp_path, ODD[name] + READINGS)
    assert len(found.causes) == 22
    trim = {one.test for one in found.next_tests if one.test.startswith("trim")}
    assert not (trim and name in ("diesel", "no metering"))


@pytest.mark.slow
def test_an_engine_of_odd_numbers(tmp_path: Path) -> None:
    """Three cylinders, its kind unknown, no speed, no temperature."""
    text = HEAD.replace("cylinders = 4", "cylinders = 3").replace('oil_grade = "5W-30"\n', "")
    found = whole(tmp_path, text + COMPLAINT + hand("oil-pressure", "25 kPa", "idle"))
    assert len(found.causes) == 22


@pytest.mark.slow
def test_every_reading_absurd_still_gives_an_answer(tmp_path: Path) -> None:
    """Readings no engine gives: none of these, not a crash."""
    text = HEAD + COMPLAINT + hand("oil-pressure", "2500 kPa", "idle", speed="800 rpm")
    text += hand("crankcase-pressure", "-70 kPa", "idle", speed="800 rpm")
    text += hand("fuel-trim-short", "90 %", "idle", "1 %", speed="800 rpm")
    found = whole(tmp_path, text)
    assert named(found) == ["none-of-these"]


@pytest.mark.slow
def test_readings_after_the_repair_are_not_of_the_fault(tmp_path: Path) -> None:
    """What was read after the work does not weigh in the cause of what was found before it."""
    visits = '\n[[visit]]\nname = "first"\n[[visit]]\nname = "after"\nwork = "hose cleared"\n'
    first = {"speed": "800 rpm", "visit": "first", "oil_temperature": "90 degC"}
    text = HEAD + COMPLAINT + visits
    text += hand("crankcase-pressure", "6 kPa", "idle", "0.1 kPa", **first)
    before = whole(tmp_path / "a", text)
    later = {**first, "visit": "after"}
    after = whole(tmp_path / "b", text + hand("crankcase-pressure", "-2 kPa", "idle", **later))
    assert [(c.cause, round(c.probability, 6)) for c in before.causes] == [
        (c.cause, round(c.probability, 6)) for c in after.causes
    ]


@pytest.mark.slow
def test_recorded_conditions_with_a_blocked_port(tmp_path: Path) -> None:
    text = HEAD + LIMIT + COMPLAINT + recording("run", OIL, CRANKCASE, SPARK, conditions(BOTH))
    found = whole(tmp_path, text, run=csv(lived(BOTH), "t", "oil", "crankcase", "spark"))
    assert named(found) == ["breather-blocked"]
    crankcase = [r for r in found.causes[0].predicted if r.quantity == "crankcase-pressure"]
    assert {row.condition for row in crankcase} == {"as found", "cap off"}


def test_without_causes_all_else_is_the_same(tmp_path: Path) -> None:
    text = HEAD + LIMIT + recording("run", OIL, CRANKCASE, SPARK, conditions(BOTH))
    table = csv(lived(BOTH), "t", "oil", "crankcase", "spark")
    with opened(write(tmp_path, text, run=table)) as (job, folder):
        with_them = analyse(job, folder).findings
        without = analyse(job, folder, causes=False).findings
    assert with_them.causes
    assert (without.causes, without.next_tests, without.leaks) == ((), (), ())
    for key in ("readings", "matches", "reference_checks", "limit_checks", "switch_checks"):
        assert getattr(without, key) == getattr(with_them, key)
    assert set(without.warnings) <= set(with_them.warnings)
