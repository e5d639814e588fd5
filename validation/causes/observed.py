"""What was seen, smelled and heard: drawn from `observations.toml` and from the lamp itself."""

from __future__ import annotations

import tomllib
from typing import Any

import numpy as np

from gaugewright.engine.held import Held
from gaugewright.engine.steady import solve
from validation.causes.engines import HERE, Rng, pick
from validation.causes.truths import NONE, Patient

with (HERE / "observations.toml").open("rb") as _file:
    SEEN: dict[str, Any] = tomllib.load(_file)

LOOKED = ("oil-level", "oil-smell", "oil-foam", "noise", "began", "done-before", "smoke")
LIT, FLICKERS = 0.5, 0.03
HOTTEST_DEGC = 104.0


def observe(rng: Rng, patient: Patient) -> tuple[dict[str, str], tuple[str, ...]]:
    """(what -> saw, codes) of everything that could be noted of this car."""
    saw = {what: _seen(rng, what, patient) for what in LOOKED}
    saw["lamp"] = _lamp(rng, patient)
    return saw, _codes(rng, patient)


MEASURED = {"oil-level": ("oil-level-low", "oil-aerated")}
"""What is looked at measures the very number that these causes change: however mild, they show."""


def _showing(rng: Rng, patient: Patient, what: str) -> list[str]:
    """The true causes that show in this at all, by their severity."""
    always = MEASURED.get(what, ())
    mild, gross = SEEN["shows"]["mild"], SEEN["shows"]["gross"]
    truth = patient.truth
    return [
        cause
        for cause, severity in zip(truth.causes, truth.severities, strict=True)
        if cause in SEEN[what]
        and (rng.random() < mild + (gross - mild) * severity or cause in always)
    ]


def _seen(rng: Rng, what: str, patient: Patient) -> str:
    rows = [SEEN[what][cause] for cause in _showing(rng, patient, what)]
    if patient.truth.causes == (NONE,):
        row = SEEN["outside"][patient.truth.outside].get(what)
        rows = [row] if row and rng.random() < 0.8 else []
    return pick(rng, rows[int(rng.integers(len(rows)))] if rows else SEEN[what]["else"])


def _codes(rng: Rng, patient: Patient) -> tuple[str, ...]:
    chances = dict(SEEN["codes"]["else"])
    rows = [SEEN["codes"][cause] for cause in _showing(rng, patient, "codes")]
    if patient.truth.outside:
        rows = [SEEN["outside"][patient.truth.outside].get("codes", {})]
    for row in rows:
        chances |= {code: max(chance, chances.get(code, 0.0)) for code, chance in row.items()}
    if patient.car.build.metering != "air-mass":
        chances["P0171"] = 0.3 * chances["P0171"]
    return tuple(sorted(code for code, chance in chances.items() if rng.random() < chance))


def _lamp(rng: Rng, patient: Patient) -> str:
    """The owner's words for the lamp: what it does, now and then told wrong."""
    table = SEEN["lamp"]
    if rng.random() < table["wrong"]:
        return str(rng.choice(table["words"]))
    hot, cold, fast = lamp_shares(patient)
    if fast > LIT:
        return "on at every speed" if hot > LIT else "on at speed"
    if hot > LIT:
        return "on at every idle" if cold > LIT else "on at hot idle"
    special = [cause for cause in patient.truth.causes if cause in table]
    row = table[special[0]] if special else table["else"]
    word = pick(rng, {**row, "": 1.0 - sum(row.values())})
    if word:
        return word
    return "flickers at idle" if hot > FLICKERS else "never on"


def lamp_shares(patient: Patient) -> tuple[float, float, float]:
    """Share of the time the lamp is lit: on the owner's hottest idle, at cold idle, at speed."""
    holds = [
        Held(oil_degc=HOTTEST_DEGC),
        Held(oil_degc=20.0),
        Held(speed_rpm=2500.0, oil_degc=HOTTEST_DEGC),
    ]
    lamp = np.nan_to_num(solve(patient.car.build, patient.engine, holds).lamp[:, 0], nan=1.0)
    return float(lamp[0]), float(lamp[1]), float(lamp[2])
