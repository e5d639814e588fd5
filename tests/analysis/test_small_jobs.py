"""The whole way on small jobs of every shape that the job format allows."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import numpy as np
import polars as pl
import pytest
from pydantic import TypeAdapter
from small import (
    AS_FOUND,
    CAP_OFF,
    CRANKCASE,
    ENGINE_OFF,
    HEAD,
    LIMIT,
    OIL,
    RATE_HZ,
    RPM,
    SPARK,
    Held,
    conditions,
    csv,
    findings_of,
    lived,
    outcome_of,
    reading,
    recording,
    signal_text,
    usual,
    write,
)

from gaugewright.analysis.analyse import analyse
from gaugewright.analysis.findings_json import as_data
from gaugewright.analysis.findings_json import write as write_findings
from gaugewright.analysis.findings_schema import SHIPPED
from gaugewright.analysis.lanes import Memory
from gaugewright.evidence.results import Findings
from gaugewright.job.folder import opened
from gaugewright.recording.reading import read

BOTH = (AS_FOUND, CAP_OFF)


def codes(findings: Findings) -> set[str]:
    return {warning.code for warning in findings.warnings}


def keeps_to_the_schema(findings: Findings) -> None:
    text = json.dumps(as_data(findings), allow_nan=False)
    jsonschema.validate(json.loads(text), json.loads(SHIPPED.read_text(encoding="utf-8")))


@pytest.fixture(scope="module")
def findings(tmp_path_factory: pytest.TempPathFactory) -> Findings:
    return findings_of(usual(tmp_path_factory.mktemp("usual")))


def test_the_usual_job(findings: Findings) -> None:
    keeps_to_the_schema(findings)
    gauge = reading(findings, "oil-pressure", "atmosphere", condition="as found")
    assert gauge.value == pytest.approx(95, abs=0.4)
    assert gauge.speed.value == pytest.approx(830, abs=6)
    assert gauge.cycles == pytest.approx(9.6 * 830 / 120, abs=8)
    [match] = [m for m in findings.matches if m.quantity == "oil-pressure"][:1]
    assert match.low < -10 < match.high
    [check] = findings.reference_checks
    assert check.verdict == "follows the crankcase"
    assert [(c.seen_by, c.verdict) for c in findings.limit_checks] == [
        ("gauge", "meets"),
        ("bearings", "falls short"),
    ]


def test_findings_read_back_as_they_were(findings: Findings, tmp_path: Path) -> None:
    write_findings(findings, tmp_path / "findings.json")
    data = json.loads((tmp_path / "findings.json").read_text(encoding="utf-8"))
    assert TypeAdapter(Findings).validate_python(data) == findings
    assert data["matches"][0]["from"] == "as found"


def test_what_was_not_asked_for_is_an_empty_list(tmp_path: Path) -> None:
    data = as_data(findings_of(write(tmp_path, HEAD + hand("oil-pressure", "80 kPa", "idle"))))
    assert [data[k] for k in ("leaks", "hypotheses", "causes", "next_tests")] == [[], [], [], []]


def test_no_speed_at_all(tmp_path: Path) -> None:
    text = HEAD + LIMIT + recording("run", OIL, CRANKCASE, conditions(BOTH))
    found = findings_of(write(tmp_path, text, run=csv(lived(BOTH), "t", "oil", "crankcase")))
    keeps_to_the_schema(found)
    gauge = reading(found, "oil-pressure", "atmosphere", condition="as found")
    assert gauge.low < 95 < gauge.high
    assert found.matches == ()
    assert "no-speed" in codes(found) or "speed-from-ripple" in codes(found)


def test_oil_pressure_alone(tmp_path: Path) -> None:
    text = HEAD + LIMIT + recording("run", OIL, conditions(BOTH))
    found = findings_of(write(tmp_path, text, run=csv(lived(BOTH), "t", "oil")))
    keeps_to_the_schema(found)
    assert {(r.quantity, r.reference) for r in found.readings} == {("oil-pressure", "atmosphere")}
    assert found.reference_checks == ()
    assert "no-reference-check" in codes(found)


def hand(quantity: str, value: str, condition: str, **more: str) -> str:
    keys = "".join(f'{key} = "{text}"\n' for key, text in more.items())
    return (
        f'\n[[reading]]\nquantity = "{quantity}"\nvalue = "{value}"\n'
        f'condition = "{condition}"\nuncertainty = "0.3 kPa"\n{keys}'
    )


def test_hand_readings_alone(tmp_path: Path) -> None:
    speed = {"speed": "830 rpm"}
    text = HEAD + LIMIT
    text += hand("oil-pressure", "80 kPa", "as found", **speed)
    text += hand("oil-pressure", "70 kPa", "cap off", **speed)
    text += hand("crankcase-pressure", "11 kPa", "as found", **speed)
    text += hand("crankcase-pressure", "1 kPa", "cap off", **speed)
    found = findings_of(write(tmp_path, text))
    keeps_to_the_schema(found)
    assert reading(found, "oil-pressure", "crankcase", condition="as found").value == 69.0
    [match] = [m for m in found.matches if m.reference == "atmosphere"][:1]
    assert match.difference == pytest.approx(-10.0)
    gauges = [c for c in found.limit_checks if c.condition == "as found"]
    assert [c.verdict for c in gauges] == ["falls short", "falls short"]
    assert all(r.cycles is None for r in found.readings)


def test_a_hand_readings_speed_is_the_recorded_ones(tmp_path: Path) -> None:
    text = HEAD + LIMIT + recording("run", OIL, SPARK, conditions(BOTH))
    text += hand("crankcase-pressure", "11 kPa", "as found")
    text += hand("crankcase-pressure", "1 kPa", "cap off")
    found = findings_of(write(tmp_path, text, run=csv(lived(BOTH), "t", "oil", "spark")))
    by_hand = reading(found, "crankcase-pressure", "atmosphere", condition="as found")
    assert by_hand.speed.value == pytest.approx(830, abs=6)
    assert found.reference_checks[0].low < 1 < found.reference_checks[0].high


def second_logger(shift_s: float, **keys: str) -> tuple[str, dict[str, str]]:
    """Oil and spark on the first logger; crankcase (and oil) on a second with its own clock."""
    columns = lived(BOTH)
    other = {**columns, "t": columns["t"] + shift_s}
    text = HEAD + LIMIT + recording("run", OIL, SPARK, conditions(BOTH))
    text += recording(
        "second", CRANKCASE, signal_text("oil", "oil-pressure", unit="kPa"),
        conditions(BOTH, shift_s), **keys,
    )  # fmt: skip
    files = {
        "run": csv(columns, "t", "oil", "spark"),
        "second": csv(other, "t", "crankcase", "oil"),
    }
    return text, files


def test_two_loggers_with_a_stated_offset(tmp_path: Path) -> None:
    text, files = second_logger(7.0, clock_offset="-7 s")
    found = findings_of(write(tmp_path, text, **files))
    bearings = reading(found, "oil-pressure", "crankcase", condition="as found")
    assert bearings.value == pytest.approx(84, abs=0.5)
    crankcase = reading(found, "crankcase-pressure", "atmosphere", condition="as found")
    assert crankcase.speed.value == pytest.approx(830, abs=6)


def test_two_loggers_put_on_one_clock_by_a_signal_that_both_hold(tmp_path: Path) -> None:
    text, files = second_logger(7.0, aligned_with="run", aligned_by="oil-pressure")
    outcome = outcome_of(write(tmp_path, text, **files))
    [told] = [line for file in outcome.files for line in file.counts + file.guesses
              if "put on the clock" in line]  # fmt: skip
    assert float(told.split(": ")[1].split(" s")[0]) == pytest.approx(-7.0, abs=0.02)
    assert reading(
        outcome.findings, "oil-pressure", "crankcase", condition="as found"
    ).value == pytest.approx(84, abs=0.5)


def test_the_same_condition_twice(tmp_path: Path) -> None:
    found = findings_of(usual(tmp_path, AS_FOUND, CAP_OFF, AS_FOUND))
    twice = reading(found, "oil-pressure", "atmosphere", condition="as found")
    assert "several-stretches" in twice.flags
    once = reading(found, "oil-pressure", "atmosphere", condition="cap off")
    assert twice.cycles > 1.8 * once.cycles


def test_the_same_condition_in_two_recordings_is_seen_by_two_instruments(tmp_path: Path) -> None:
    text, files = second_logger(7.0, clock_offset="-7 s")
    found = findings_of(write(tmp_path, text, **files))
    gauges = [
        r
        for r in found.readings
        if (r.quantity, r.reference, r.condition) == ("oil-pressure", "atmosphere", "as found")
    ]
    assert [r.signals for r in gauges[:2]] == [("run/oil",), ("second/oil",)]
    assert len(gauges) == 3


SENSOR = """
[[sensor]]
name = "transducer"
reference = "vacuum"
points = [["0.5 V", "0 kPa"], ["4.5 V", "400 kPa"]]
accuracy = "1 kPa"
range = ["0 kPa", "400 kPa"]
"""


def absolute(folder: Path, head: str) -> Findings:
    held = (ENGINE_OFF, AS_FOUND, CAP_OFF)
    columns = lived(held)
    columns["oil"] = 0.5 + (columns["oil"] + 98.0) / 100.0
    volts = signal_text("oil", "oil-pressure", sensor="transducer")
    text = HEAD + head + LIMIT + SENSOR + recording("run", volts, SPARK, conditions(held))
    return findings_of(write(folder, text, run=csv(columns, "t", "oil", "spark")))


def test_absolute_sensor_without_barometer(tmp_path: Path) -> None:
    found = absolute(tmp_path, "")
    keeps_to_the_schema(found)
    assert {r.reference for r in found.readings if r.quantity == "oil-pressure"} == {"vacuum"}
    assert "barometer-unknown" in codes(found)
    assert [c.verdict for c in found.limit_checks] == ["not measured"]


def test_absolute_sensor_with_barometer_and_zero(tmp_path: Path) -> None:
    found = absolute(tmp_path, '\n[place]\nbarometer = "98 kPa"\n')
    gauge = reading(found, "oil-pressure", "atmosphere", condition="as found")
    assert gauge.low < 95 < gauge.high
    assert gauge.standard_uncertainty < 0.9  # the zero took a part of the 1 kPa
    assert found.limit_checks[0].verdict == "meets"


def test_the_altitude_costs_the_weathers_doubt_in_absolute_readings_only(tmp_path: Path) -> None:
    # 278 m: 98.03 kPa in the standard atmosphere (ISO 2533; 0 and 500 m are 101.325, 95.461).
    # An engine-off zero makes the sensor its own barometer, so the gauge loses nothing.
    places = ('altitude = "278 m"', 'barometer = "98.03 kPa"')
    stated, measured = (absolute(tmp_path / place[:3], f"\n[place]\n{place}\n") for place in places)
    u = {
        (found is stated, side): reading(
            found, "oil-pressure", side, condition="as found"
        ).standard_uncertainty
        for found in (stated, measured)
        for side in ("atmosphere", "vacuum")
    }
    assert u[True, "vacuum"] > u[False, "vacuum"] + 0.05
    assert u[True, "atmosphere"] < u[False, "atmosphere"] + 0.02


def test_speed_column(tmp_path: Path) -> None:
    text = HEAD + LIMIT + recording("run", OIL, CRANKCASE, RPM, conditions(BOTH))
    columns = lived(BOTH)
    found = findings_of(write(tmp_path, text, run=csv(columns, "t", "oil", "crankcase", "rpm")))
    gauge = reading(found, "oil-pressure", "atmosphere", condition="as found")
    assert gauge.speed.value == pytest.approx(830, abs=6)
    assert found.matches


def test_parquet(tmp_path: Path) -> None:
    folder = usual(tmp_path)
    before = findings_of(folder)
    table = pl.read_csv(folder / "recordings/run.csv")
    table.write_parquet(folder / "recordings/run.parquet")
    job = folder / "job.toml"
    job.write_text(job.read_text("utf-8").replace("run.csv", "run.parquet"), encoding="utf-8")
    after = findings_of(folder)
    assert after.limit_checks == before.limit_checks
    assert after.readings == before.readings


def test_rate_instead_of_time(tmp_path: Path) -> None:
    folder = usual(tmp_path)
    before = reading(findings_of(folder), "oil-pressure", "atmosphere", condition="as found")
    job = folder / "job.toml"
    text = job.read_text("utf-8").replace('time = "t"', f'rate = "{RATE_HZ} Hz"')
    job.write_text(text, encoding="utf-8")
    after = reading(findings_of(folder), "oil-pressure", "atmosphere", condition="as found")
    assert after.value == pytest.approx(before.value, abs=0.02)


def test_two_visits_are_matched_by_equal_names(tmp_path: Path) -> None:
    visits = '\n[[visit]]\nname = "one"\n\n[[visit]]\nname = "two"\n'
    after = Held("as found", 103.0, -2.0)
    text = HEAD + visits + LIMIT
    text += recording("a", OIL, CRANKCASE, SPARK, conditions((AS_FOUND,)), visit="one")
    text += recording("b", OIL, CRANKCASE, SPARK, conditions((after,)), visit="two")
    names = ("t", "oil", "crankcase", "spark")
    found = findings_of(
        write(tmp_path, text, a=csv(lived((AS_FOUND,)), *names), b=csv(lived((after,), 2), *names))
    )
    keeps_to_the_schema(found)
    across = {m.reference: m for m in found.matches if m.quantity == "oil-pressure"}
    assert across["atmosphere"].from_visit == "one"
    assert across["atmosphere"].low < 8 < across["atmosphere"].high
    assert across["crankcase"].low < 21 < across["crankcase"].high


def test_a_memory_gives_the_same_and_reads_no_file_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, memory = usual(tmp_path), Memory()
    first = outcome_of(folder, memory).findings

    def refused(*_: object, **__: object) -> None:
        raise AssertionError("a file was read again")

    monkeypatch.setattr("gaugewright.analysis.lanes.read", refused)
    assert outcome_of(folder, memory).findings == first
    job = folder / "job.toml"
    job.write_text(job.read_text("utf-8").replace('to = "9.800 s"', 'to = "9.000 s"'), "utf-8")
    moved = outcome_of(folder, memory).findings
    assert moved.readings != first.readings
    with pytest.raises(AssertionError, match="read again"):
        outcome_of(folder, Memory())


def test_a_memory_notices_a_changed_file(tmp_path: Path) -> None:
    folder, memory = usual(tmp_path), Memory()
    first = outcome_of(folder, memory).findings
    usual(tmp_path, Held("as found", 105.0, 11.0), CAP_OFF)
    second = outcome_of(folder, memory).findings
    one, two = (
        reading(f, "oil-pressure", "atmosphere", condition="as found") for f in (first, second)
    )
    assert two.value - one.value == pytest.approx(10.0, abs=0.6)


def test_the_same_job_gives_the_same_findings(tmp_path: Path, findings: Findings) -> None:
    assert findings_of(usual(tmp_path)) == findings


def test_a_blocked_port_is_a_course_and_not_a_mean(tmp_path: Path) -> None:
    """The crankcase fills by 8 (1 - exp(-t/4 s)) kPa and the gauge follows it."""
    blocked = Held("blocked", 95.0, 1.0, length_s=8.0, did="vent-port-blocked")
    held = (Held("as found", 95.0, 1.0, length_s=15.0), blocked)
    columns = lived(held)
    filled = 8.0 * (1.0 - np.exp(-np.maximum(columns["t"] - 15.0, 0.0) / 4.0))
    columns["oil"] += filled
    columns["crankcase"] += filled
    text = HEAD + LIMIT + recording("run", OIL, CRANKCASE, SPARK, conditions(held))
    found = findings_of(write(tmp_path, text, run=csv(columns, "t", "oil", "crankcase", "spark")))
    course = reading(found, "crankcase-pressure", "atmosphere", condition="blocked")
    assert course.behaviour == "drifting"
    assert course.value == pytest.approx(1 + 8 * (1 - np.exp(-1)), abs=0.3)
    [check] = found.reference_checks
    assert check.low < 1.0 < check.high
    assert check.verdict == "follows the crankcase"


def test_a_zero_that_rests_on_a_stop_is_not_used(tmp_path: Path) -> None:
    """The sensor cannot show below 2 kPa: with the engine off it rests there."""
    sensor = (
        '\n[[sensor]]\nname = "s"\npoints = [["0 V", "0 kPa"], ["4 V", "400 kPa"]]\n'
        'accuracy = "1 kPa"\n'
    )
    held = (ENGINE_OFF, AS_FOUND)
    columns = lived(held)
    columns["oil"] = np.maximum(columns["oil"], 2.0) / 100.0
    columns["oil"][: int(ENGINE_OFF.length_s * RATE_HZ)] = 0.02
    volts = signal_text("oil", "oil-pressure", sensor="s")
    text = HEAD + sensor + recording("run", volts, SPARK, conditions(held))
    found = findings_of(write(tmp_path, text, run=csv(columns, "t", "oil", "spark")))
    assert "zero-at-stop" in codes(found)
    gauge = reading(found, "oil-pressure", "atmosphere", condition="as found")
    assert gauge.standard_uncertainty > 0.9
    assert gauge.low < 95 < gauge.high


def test_recordings_come_from_whoever_makes_them(tmp_path: Path) -> None:
    """A maker that hands out what was read before: the files are not there any more."""
    with opened(usual(tmp_path)) as (job, folder):
        first = analyse(job, folder).findings
        known = {entry.name: read(entry, folder) for entry in job.recordings}
        nowhere = tmp_path / "nowhere"
        made = analyse(job, nowhere, maker=lambda entry: known[entry.name]).findings
    assert made == first
