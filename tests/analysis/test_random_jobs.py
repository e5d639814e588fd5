"""Random small jobs, each in a hundred ways unlucky: none may crash or leave the schema."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from small import (
    CRANKCASE,
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
    write,
)

from gaugewright.analysis.findings_json import as_data
from gaugewright.analysis.findings_schema import SHIPPED
from gaugewright.errors import InputError

ACTIONS = {
    "nothing": None, "vent-port-blocked": None, "fresh-air-blocked": None, "filler-cap-off": None,
    "speed-raised": 2000.0, "snap": 2500.0, "engine-off": 0.0, "cranking": 220.0,
    "oil-changed": None, "repaired": None,
}  # fmt: skip
"""What may be done, and the speed that goes with it; None for an idle."""

SPOILERS: tuple[Callable[[np.ndarray, np.random.Generator], np.ndarray], ...] = (
    lambda lane, rng: np.full_like(lane, lane.mean()),
    lambda lane, rng: 10.0 * np.round(lane / 10.0),
    lambda lane, rng: np.clip(lane, np.quantile(lane, 0.3), None),
    lambda lane, rng: np.where(rng.random(len(lane)) < 0.5, np.nan, lane),
    lambda lane, rng: np.where(rng.random(len(lane)) < 2e-3, 9e5, lane),
    lambda lane, rng: lane + np.linspace(0.0, 50.0, len(lane)),
)
HOT = """
[[limit]]
name = "hot"
quantity = "oil-pressure"
min = "60 kPa"
max = "300 kPa"
oil_temperature = "90 degC"
"""
SWITCH = '\n[[switch]]\nname = "lamp"\nquantity = "oil-pressure"\ncloses_below = "40 kPa"\n'
PUMPS = (
    'oil_pump = "two-stage"\npump_switches = ["1500 rpm", "1700 rpm"]\n',
    'oil_pump = "controlled"\n',
)


def stretch(rng: np.random.Generator) -> Held:
    did = str(rng.choice(list(ACTIONS)))
    rpm = ACTIONS[did]
    rpm = float(rng.uniform(600, 1100)) if rpm is None else rpm
    gauge, below = (0.0, 0.0) if rpm == 0 else (rng.uniform(-5, 400), rng.uniform(-15, 15))
    length = float(rng.choice([0.6, 1.0, 2.0, 4.0, 8.0]))
    return Held(str(rng.choice(list("abcd"))), float(gauge), float(below), rpm, length, did)


def hand_text(rng: np.random.Generator) -> str:
    text = '\n[[reading]]\nquantity = "crankcase-pressure"\ncondition = "a"\n'
    text += f'value = "{rng.uniform(-5, 10):.2f} kPa"\n'
    text += 'speed = "800 rpm"\n' if rng.random() < 0.5 else ""
    return text + ('oil_temperature = "88 degC"\n' if rng.random() < 0.5 else "")


def head_text(rng: np.random.Generator) -> str:
    text = HEAD + (PUMPS[rng.integers(0, 2)] if rng.random() < 0.4 else "")
    text += '\n[place]\naltitude = "300 m"\n' if rng.random() < 0.5 else ""
    for part, share in ((LIMIT, 0.7), (HOT, 0.5), (SWITCH, 0.4)):
        text += part if rng.random() < share else ""
    return text + (hand_text(rng) if rng.random() < 0.4 else "")


def make(folder: Path, seed: int) -> Path:
    """A job folder of one to four stretches, spoilt in some of the ways above."""
    rng = np.random.default_rng([seed, 15])
    held = tuple(stretch(rng) for _ in range(rng.integers(1, 5)))
    columns = lived(held, seed)
    for name in ("oil", "crankcase"):
        way = int(rng.integers(0, 2 * len(SPOILERS)))
        if way < len(SPOILERS):
            columns[name] = SPOILERS[way](columns[name], rng)
    chosen = [text for text, share in ((OIL, 0.9), (CRANKCASE, 0.7), (SPARK, 0.6), (RPM, 0.3))
              if rng.random() < share]  # fmt: skip
    text = head_text(rng) + recording("run", *(chosen or [OIL]), conditions(held))
    files = {"run": csv(columns, "t", "oil", "crankcase", "spark", "rpm")}
    if rng.random() < 0.3:
        shift = float(rng.choice([0.0, 3.0, 500.0]))
        text += recording("second", CRANKCASE, conditions(held, shift), clock_offset=f"{-shift} s")
        files["second"] = csv({**columns, "t": columns["t"] + shift}, "t", "crankcase")
    return write(folder, text, **files)


def refused_in_sentences(folder: Path) -> bool:
    """Is the job refused, each problem with what would do?"""
    try:
        findings_of(folder)
    except InputError as refused:
        return all("; " in problem.sentence for problem in refused.problems)
    return False


def holds(folder: Path) -> bool:
    """Analysed and kept to the schema; False where the job is refused in a sentence."""
    if refused_in_sentences(folder):
        return False
    found = findings_of(folder)
    data = json.loads(json.dumps(as_data(found), allow_nan=False))
    jsonschema.validate(data, json.loads(SHIPPED.read_text(encoding="utf-8")))
    for item in (*found.readings, *found.matches, *found.reference_checks):
        assert item.low is None or item.high is None or item.low <= item.high
    return True


@pytest.mark.slow
def test_a_dozen_random_jobs(tmp_path: Path) -> None:
    assert sum(holds(make(tmp_path / str(seed), seed)) for seed in range(12)) >= 9


@pytest.mark.slow
def test_many_random_jobs(tmp_path: Path) -> None:
    analysed = [holds(make(tmp_path / str(seed), seed)) for seed in range(12, 212)]
    assert sum(analysed) >= 150
