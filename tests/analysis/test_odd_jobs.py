"""Odd but legal jobs: none may crash, and each keeps to the schema."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from small import (
    AS_FOUND,
    CAP_OFF,
    CRANKCASE,
    ENGINE_OFF,
    HEAD,
    LIMIT,
    OIL,
    RPM,
    SPARK,
    Held,
    conditions,
    csv,
    findings_of,
    lived,
    recording,
    signal_text,
    write,
)

from gaugewright.analysis.findings_json import as_data
from gaugewright.analysis.findings_schema import SHIPPED
from gaugewright.evidence.results import Findings
from gaugewright.quantities.catalogue import QUANTITIES

BOTH = (AS_FOUND, CAP_OFF)
NAMES = ("t", "oil", "crankcase", "spark")
Columns = dict[str, np.ndarray]
SCHEMA = json.loads(SHIPPED.read_text(encoding="utf-8"))


def sound(folder: Path, text: str, **files: str) -> Findings:
    """Analysed, written as JSON without NaN, and kept to the schema; intervals in order."""
    found = findings_of(write(folder, text, **files))
    jsonschema.validate(json.loads(json.dumps(as_data(found), allow_nan=False)), SCHEMA)
    for item in (*found.readings, *found.matches, *found.reference_checks):
        if item.low is not None and item.high is not None:
            assert item.low <= item.high
    for check in found.limit_checks:
        if check.probability_of_meeting is not None:
            assert 0.0 <= check.probability_of_meeting <= 1.0
    return found


def job(folder: Path, held: tuple[Held, ...], spoil: Callable[[Columns], None]) -> Findings:
    columns = lived(held)
    spoil(columns)
    text = HEAD + LIMIT + recording("run", OIL, CRANKCASE, SPARK, conditions(held))
    return sound(folder, text, run=csv(columns, *NAMES))


def constant(*names: str) -> Callable[[Columns], None]:
    def spoil(columns: Columns) -> None:
        for name in names:
            columns[name][:] = 50.0

    return spoil


def coarse(step: float) -> Callable[[Columns], None]:
    def spoil(columns: Columns) -> None:
        for name in ("oil", "crankcase"):
            columns[name] = step * np.round(columns[name] / step)

    return spoil


def gone(name: str, begin: int, end: int) -> Callable[[Columns], None]:
    def spoil(columns: Columns) -> None:
        columns[name][begin:end] = np.nan

    return spoil


def times(name: str, factor: float) -> Callable[[Columns], None]:
    def spoil(columns: Columns) -> None:
        columns[name] = factor * columns[name]

    return spoil


SPOILT = {
    "oil constant": constant("oil"),
    "crankcase constant": constant("crankcase"),
    "both constant": constant("oil", "crankcase"),
    "spark constant": constant("spark"),
    "all constant": constant("oil", "crankcase", "spark"),
    "steps of 20 kPa": coarse(20.0),
    "steps of 500 kPa": coarse(500.0),
    "oil gone in the first condition": gone("oil", 0, 10_000),
    "crankcase gone in the second condition": gone("crankcase", 10_000, 20_000),
    "spark gone in the first condition": gone("spark", 0, 10_000),
    "one value of oil": gone("oil", 1, 20_000),
    "oil below zero": times("oil", -1.0),
    "oil a million times too high": times("oil", 1e6),
    "oil a million times too low": times("oil", 1e-6),
    "spark upside down": times("spark", -1.0),
}


@pytest.mark.parametrize("name", SPOILT)
def test_odd_signals(name: str, tmp_path: Path) -> None:
    found = job(tmp_path, BOTH, SPOILT[name])
    assert found.readings or found.warnings


SHAPES = {
    "nothing but engine off": (ENGINE_OFF,),
    "engine off last": (AS_FOUND, ENGINE_OFF),
    "half a second": (replace(AS_FOUND, length_s=0.9), CAP_OFF),
    "two seconds each": (replace(AS_FOUND, length_s=2.0), replace(CAP_OFF, length_s=2.0)),
    "a snap": (AS_FOUND, Held("snap", 200.0, 5.0, 2500.0, 3.0, "snap"), CAP_OFF),
    "cranking": (Held("cranking", 60.0, 0.0, 220.0, 3.0, "cranking"), AS_FOUND),
    "port blocked": (AS_FOUND, Held("blocked", 98.0, 14.0, 830.0, 8.0, "vent-port-blocked")),
    "fast only": (Held("fast", 220.0, 5.0, 2000.0, 10.0, "speed-raised"),),
    "very slow": (Held("crawling", 40.0, 5.0, 450.0, 10.0),),
    "very fast": (Held("racing", 400.0, 5.0, 7500.0, 6.0, "speed-raised"),),
    "oil changed": (AS_FOUND, replace(AS_FOUND, name="fresh", did="oil-changed"), CAP_OFF),
    "no pressure at all": (Held("dry", 0.0, 0.0),),
    "six alike": tuple(replace(AS_FOUND, name=f"again {k}", length_s=3.0) for k in range(6)),
}


@pytest.mark.parametrize("name", SHAPES)
def test_odd_conditions(name: str, tmp_path: Path) -> None:
    found = job(tmp_path, SHAPES[name], lambda columns: None)
    assert found.readings
    told = {(r.condition, r.quantity) for r in found.readings}
    for held in SHAPES[name]:
        if held.length_s >= 1.0:
            assert (held.name, "oil-pressure") in told


UNITS = {"pressure": "kPa", "speed": "rpm", "temperature": "degC", "voltage": "V"}


def test_every_quantity_at_once(tmp_path: Path) -> None:
    """A column, a hand reading and a limit of every quantity that a unit can be given for."""
    columns, parts, extra = lived(BOTH), "", ""
    names = list(NAMES)
    for quantity, kind in QUANTITIES.items():
        unit = {"fuel-trim-short": "%", "fuel-trim-long": "%", "air-flow": "g/s"}.get(
            quantity, UNITS.get(kind.dimension, "A" if quantity == "starter-current" else "")
        )
        if kind.pulses or not unit:
            continue
        columns[quantity] = 80.0 + np.random.default_rng(len(names)).standard_normal(20_000)
        if quantity == "engine-speed":
            columns[quantity] = columns["rpm"]
        names.append(quantity)
        parts += signal_text(quantity, quantity, unit=unit)
        extra += (
            f'\n[[reading]]\nquantity = "{quantity}"\nvalue = "80 {unit}"\n'
            'condition = "as found"\nspeed = "830 rpm"\n'
        )
        extra += f'\n[[limit]]\nname = "{quantity}"\nquantity = "{quantity}"\nmin = "70 {unit}"\n'
    assert len(names) > 14
    text = HEAD + recording("run", SPARK, parts, conditions(BOTH)) + extra
    found = sound(tmp_path, text, run=csv(columns, *names))
    measured = {check.limit for check in found.limit_checks if check.verdict != "not measured"}
    assert measured == set(names[len(NAMES) :])


@pytest.mark.parametrize("rate_hz", [1, 5, 20, 100])
def test_slow_loggers(rate_hz: int, tmp_path: Path) -> None:
    held = tuple(replace(h, length_s=30.0) for h in BOTH)
    columns = {name: lane[:: 1000 // rate_hz] for name, lane in lived(held).items()}
    text = HEAD + LIMIT + recording("run", OIL, CRANKCASE, RPM, conditions(held))
    found = sound(tmp_path, text, run=csv(columns, "t", "oil", "crankcase", "rpm"))
    [gauge] = [
        r for r in found.readings if (r.condition, r.quantity, r.reference) ==
        ("as found", "oil-pressure", "atmosphere")
    ]  # fmt: skip
    half = 0.5 * (gauge.high - gauge.low)
    assert abs(gauge.value - 95.0) < 1.7 * half
    assert half < 6.0


@pytest.mark.parametrize("cylinders", [1, 2, 3, 8])
@pytest.mark.parametrize("cycle", ["two-stroke", "four-stroke"])
def test_other_engines(cylinders: int, cycle: str, tmp_path: Path) -> None:
    head = HEAD.replace("cylinders = 4", f"cylinders = {cylinders}").replace("four-stroke", cycle)
    text = head + recording("run", OIL, CRANKCASE, SPARK, conditions(BOTH))
    found = sound(tmp_path, text, run=csv(lived(BOTH), *NAMES))
    # One pulse in two turns of a four-stroke's crank, in one turn of a two-stroke's.
    wanted = 830.0 if cycle == "four-stroke" else 415.0
    assert found.readings[0].speed.value == pytest.approx(wanted, abs=6)


def test_two_rows(tmp_path: Path) -> None:
    text = HEAD + recording("run", OIL, '\n  [[recording.condition]]\n  name = "x"\n'
                            '  from = "0 s"\n  to = "1 s"\n')  # fmt: skip
    found = sound(tmp_path, text, run="t,oil\n0,95\n1,96\n")
    assert all(np.isfinite(r.value) for r in found.readings)


def test_a_recording_without_conditions(tmp_path: Path) -> None:
    text = HEAD + LIMIT + recording("run", OIL, SPARK)
    found = sound(tmp_path, text, run=csv(lived(BOTH), "t", "oil", "spark"))
    assert found.limit_checks[0].verdict == "not measured"


def test_a_course_with_a_hole(tmp_path: Path) -> None:
    """A crankcase on a slow course, of which a fifth was not recorded."""
    held = (Held("as found", 95.0, 1.0, length_s=30.0), CAP_OFF)

    def course(columns: Columns) -> None:
        columns["crankcase"] += 0.3 * np.minimum(columns["t"], 30.0)
        columns["crankcase"][12_000:19_000] = np.nan

    found = job(tmp_path, held, course)
    assert {r.condition for r in found.readings} == {"as found", "cap off"}


def test_two_loggers_of_one_cycle_each(tmp_path: Path) -> None:
    """Too short for any interval: both readings stand, neither is weighed against the other."""
    short = (replace(AS_FOUND, length_s=0.6),)
    text = HEAD + LIMIT
    text += recording("run", OIL, CRANKCASE, conditions(short))
    text += recording("second", OIL, CRANKCASE, conditions(short))
    rows = csv(lived(short), "t", "oil", "crankcase")
    found = sound(tmp_path, text, run=rows, second=rows)
    assert all(np.isfinite(r.value) for r in found.readings)


def test_a_constant_signal_held_twice(tmp_path: Path) -> None:
    found = job(tmp_path, (AS_FOUND, CAP_OFF, AS_FOUND), constant("oil"))
    assert found.readings
