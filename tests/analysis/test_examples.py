"""Both examples the whole way, without pages: every reading against the van's known truth."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from small import findings_of, reading

from gaugewright.analysis.findings_json import as_data
from gaugewright.analysis.findings_schema import SHIPPED
from gaugewright.evidence.results import Findings, Reading
from gaugewright.examples import piston, van
from gaugewright.examples.van_truth import VisitTruth

IDLE, CAP_OFF, FAST = "hot idle", "filler cap off", "held at 2000 rpm"


@pytest.fixture(scope="module")
def findings(van_folder: Path) -> Findings:
    return findings_of(van_folder)


def crankcase_kpa(visit: VisitTruth, told: Reading) -> float:
    if told.condition == CAP_OFF:
        return visit.cap_off_kpa
    return float(visit.crankcase_kpa(np.array(told.speed.value)))


def true_kpa(visit: VisitTruth, told: Reading) -> float:
    """What a perfect instrument would have shown at the reading's speed and warmth."""
    crankcase = crankcase_kpa(visit, told)
    if told.quantity == "crankcase-pressure":
        return crankcase
    warmth = np.array(told.oil_temperature.value)
    bearings = float(visit.bearings_kpa(np.array(told.speed.value), warmth))
    return bearings + (crankcase if told.reference == "atmosphere" else 0.0)


def measured(findings: Findings) -> list[tuple[float, float, Reading]]:
    """(value less truth, half the interval's width, reading) of every running pressure."""
    visits = {visit.name: visit for visit in van.truth()}
    return [
        (r.value - true_kpa(visits[r.visit], r), 0.5 * (r.high - r.low), r)
        for r in findings.readings
        if r.quantity in ("oil-pressure", "crankcase-pressure")
        and r.reference in ("atmosphere", "crankcase")
        and r.condition in (IDLE, CAP_OFF, FAST)
        and "by-hand" not in r.flags
    ]


def test_the_van_keeps_to_the_schema(findings: Findings) -> None:
    data = json.loads(json.dumps(as_data(findings), allow_nan=False))
    jsonschema.validate(data, json.loads(SHIPPED.read_text(encoding="utf-8")))


def test_the_readings_hold_the_truth(findings: Findings) -> None:
    """27 readings that share sensors: most within their 95 % interval, none far outside it."""
    offs = measured(findings)
    assert len(offs) == 27
    for off, half, told in offs:
        assert abs(off) <= 1.9 * half, (told.visit, told.condition, told.reference, off, half)
    assert np.mean([abs(off) <= half for off, half, _ in offs]) >= 0.8


def test_a_truth_moved_by_two_percent_would_be_noticed(findings: Findings) -> None:
    idle = [(o, h, r) for o, h, r in measured(findings) if r.quantity == "oil-pressure"]
    assert any(abs(off + 0.02 * told.value) > 1.9 * half for off, half, told in idle)


def test_every_limit_as_the_story_tells(findings: Findings) -> None:
    told = {(c.limit, c.visit, c.seen_by): c.verdict for c in findings.limit_checks}
    assert told == {
        ("hot idle", "as found", "gauge"): "meets",
        ("hot idle", "as found", "bearings"): "falls short",
        ("hot idle", "breather cleared", "gauge"): "falls short",
        ("hot idle", "breather cleared", "bearings"): "falls short",
        ("hot idle", "oil changed", "gauge"): "meets",
        ("hot idle", "oil changed", "bearings"): "meets",
        **{
            ("at 2000 rpm", visit.name, side): "meets"
            for visit in van.truth()
            for side in ("gauge", "bearings")
        },
        ("at idle", "as found", "gauge"): "exceeds",
        ("at idle", "breather cleared", "gauge"): "meets",
        ("at idle", "oil changed", "gauge"): "meets",
    }  # fmt: skip


def test_the_gauge_follows_the_crankcase_and_that_explains_nothing(findings: Findings) -> None:
    first = findings.reference_checks[0]
    assert (first.visit, first.verdict, first.explains) == (
        "as found",
        "follows the crankcase",
        "nothing",
    )
    assert first.effect.low < van.truth()[0].crankcase_kpa(np.array(838.0)) < first.effect.high
    for check in findings.reference_checks:
        assert check.low < 1.0 < check.high


def test_the_repairs_show_in_the_matches(findings: Findings) -> None:
    """Bearings 84, 84, 105 kPa at 820 rpm and 80 degC: no change, then 21 more at 820 rpm."""
    across = {
        (m.from_visit, m.visit): m
        for m in findings.matches
        if (m.from_, m.to, m.quantity, m.reference) == (IDLE, IDLE, "oil-pressure", "crankcase")
    }
    unchanged = across["as found", "breather cleared"]
    assert unchanged.low < 0.0 < unchanged.high
    better = across["breather cleared", "oil changed"]
    gain = 21.0 * better.at["engine-speed"].value / 820.0
    assert abs(better.difference - gain) < 3.3 * better.standard_uncertainty


def test_the_lamps_switch_is_not_asked_while_the_engine_stands(findings: Findings) -> None:
    assert {c.condition for c in findings.switch_checks} == {IDLE, CAP_OFF, FAST}


def plain_means(file: Path, begin_s: float, end_s: float) -> tuple[float, float]:
    """Oil pressure and engine speed averaged over the file's own rows, by nothing but csv."""
    names, _, *rows = csv.reader(file.read_text("utf-8").splitlines())
    clocks = [[int(part) for part in row[0].split(":")] for row in rows]
    time = np.array([3600 * h + 60 * m + s for h, m, s in clocks], float)
    inside = (time - time[0] >= begin_s) & (time - time[0] <= end_s)
    columns = ("oil pressure", "engine speed left")
    psi, rpm = (np.array([float(row[names.index(name)]) for row in rows]) for name in columns)
    return float(psi[inside].mean()), float(rpm[inside].mean())


def test_the_open_recording(tmp_path: Path) -> None:
    piston.make(tmp_path)
    found = findings_of(tmp_path)
    jsonschema.validate(
        json.loads(json.dumps(as_data(found))), json.loads(SHIPPED.read_text(encoding="utf-8"))
    )
    idle = reading(found, "oil-pressure", "atmosphere", condition="cold idle")
    psi, rpm = plain_means(tmp_path / "recordings/piston-start.csv", 100.0, 165.0)
    assert idle.value / 6.894757 == pytest.approx(psi, abs=0.2)
    assert idle.speed.value == pytest.approx(rpm, abs=5.0)
    manifold = reading(found, "manifold-pressure", "vacuum", condition="engine off")
    assert manifold.value / 3.386389 == pytest.approx(29.9, abs=0.1)
    assert found.limit_checks == ()
