"""What a job tells, as numbers without noise: for a learner to see how far one could get.

Only what the job holds is told; everything else is missing (nan).  No sensor error, no scatter.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from validation.elsewhere.byhand import read_in
from validation.elsewhere.car import HOT_DEGC, viscosity
from validation.elsewhere.case import Case
from validation.elsewhere.levels import POWER, Held, Level, bare_share, sag_share
from validation.elsewhere.tables import table
from validation.elsewhere.told import stated_oil_degc

Features = dict[str, float]
NAN = float("nan")
SPEED_POWER = 0.8
COOLANT_MORE_K = 11.0
SEEN = {  # what is smaller than this does not show in a recording
    "foam": 0.015,
    "dips": 0.01,
    "sag": 0.02,
    "hunting": 10.0,
    "rough": 0.6,
    "build": 2.0,
    "pulses": 0.5,
}


def features(case: Case) -> Features:
    """Everything the job tells, by name."""
    stretches = {held.kind: _measured(case, held) for held in case.stretches}
    return {
        **_vehicle(case),
        **_limits(case, stretches),
        **{
            f"{kind} {name}": value
            for kind, row in stretches.items()
            for name, value in row.items()
        },
        **_differences(stretches),
        **_words(case),
    }


def names(rows: list[Features]) -> list[str]:
    """All features that any of these jobs has."""
    return sorted({name for row in rows for name in row})


def matrix(rows: list[Features], known: list[str]) -> np.ndarray:
    """One line for each job, one column for each name; nan where a job does not tell."""
    return np.array([[row.get(name, NAN) for name in known] for row in rows], float)


def _vehicle(case: Case) -> Features:
    car, told = case.car, case.plan.vehicle
    ventilation = {f"vent {kind}": float(car.ventilation == kind) for kind in ("regulator", "open")}
    known = {
        "two stage": ("oil_pump", float(car.two_stage)),
        "diesel": ("fuel", float(car.fuel == "diesel")),
        "air mass": ("metering", float(car.metering == "air-mass")),
        "grade": ("oil_grade", float(car.grade.split("-")[1])),
        "litres": ("displacement", car.litres),
    }
    made = {name: value for name, (key, value) in known.items() if key in told}
    return made | (ventilation if "ventilation" in told else {})


def oil_degc(case: Case, held: Held) -> float:
    """The oil temperature that the job tells or lets one guess, degC."""
    way = case.plan.oil_degc
    if way in ("column", "hand") or held.kind == "cold":
        return stated_oil_degc(case, held)
    return case.car.thermostat + COOLANT_MORE_K if way == "coolant" else NAN


def _measured(case: Case, held: Held) -> Features:
    """The readings of one stretch."""
    level, plan = case.level(held), case.plan
    made = {"p": level.gauge, "rpm": level.rpm, "degc": oil_degc(case, held)}
    if plan.second_gauge and read_in(case, "second", held):
        made["second"] = level.true_gauge
    ways = {"crank": plan.crank, "trim": plan.trims, "manifold": plan.manifold, "air": plan.air}
    for name, way in ways.items():
        if way and (way != "hand" or read_in(case, "trims" if name == "trim" else name, held)):
            made[name] = float(getattr(level, name))
    return made | ({} if plan.by_hand else _looks(case, held, level))


def _looks(case: Case, held: Held, level: Level) -> Features:
    """What the course of a recording shows."""
    fault = case.fault(held)
    if held.kind == "off":
        return {}
    bare = bare_share(case.car, fault, level.rpm, held.oil_degc) * fault.bare_depth
    made = {
        "foam": fault.foam,
        "dips": bare,
        "sag": sag_share(case.car, fault, level.rpm, held.oil_degc),
        "hunting": fault.hunt_rpm,
        "rough": fault.rough,
    }
    if held.kind == "cold":
        made["build"] = fault.build_s
    if case.plan.crank in ("volts", "column"):
        made["pulses"] = fault.pulses
    return {name: value if value >= SEEN[name] else 0.0 for name, value in made.items()}


def _limits(case: Case, stretches: dict[str, Features]) -> Features:
    """The limits, and how readings stand to them at the limit's speed and temperature."""
    made: Features = {}
    for limit, kind in (("hot idle", "hot"), ("at speed", "fast")):
        for one in case.limits:
            if one.name == limit and kind in stretches:
                row = stretches[kind]
                made[f"{kind} over limit"] = _over(case, row, one.least, one.rpm, one.oil_degc)
                made[f"{kind} over most"] = row["p"] / one.most if one.most > 0.0 else NAN
            elif one.name == limit:
                made[f"{kind} limit"] = one.least
    made["lamp by switch"] = NAN
    if case.lamp_by_switch and "switch" in case.plan.told:
        made["lamp by switch"] = stretches["hot"]["p"] / case.lamp_kpa
    return made


def _over(case: Case, row: Features, least: float, rpm: float, degc: float) -> float:
    """Logarithm of pressure over a limit, brought to the limit's state by the usual powers."""
    speed = SPEED_POWER * np.log(rpm / row["rpm"]) if rpm > 0.0 else 0.0
    heat = _thickness(case, degc or HOT_DEGC) - _thickness(case, row["degc"])
    heat = 0.0 if np.isnan(heat) else heat
    return float(np.log(max(row["p"], 1.0) / least) + speed + POWER * heat)


def _thickness(case: Case, degc: float) -> float:
    """Logarithm of the viscosity of a common oil; the job's own is not known that well."""
    common = replace(case.car, kv_40=65.0, kv_100=11.0)
    return float(np.log(viscosity(common, degc)))


def _differences(stretches: dict[str, Features]) -> Features:
    """Every stretch against hot idle."""
    hot, made = stretches["hot"], {}
    for kind, row in stretches.items():
        if kind in ("hot", "off"):
            continue
        made[f"{kind} ratio"] = float(np.log(max(row["p"], 1.0) / max(hot["p"], 1.0)))
        for name in ("crank", "trim", "manifold", "rpm"):
            made[f"{kind} more {name}"] = row.get(name, NAN) - hot.get(name, NAN)
        speed = (row["rpm"] / hot["rpm"]) ** SPEED_POWER
        moved = row["p"] - hot["p"] * speed - made[f"{kind} more crank"]
        made[f"{kind} beyond crank"] = moved / hot["p"]
    if "second" in hot:
        made["second over first"] = float(np.log(max(hot["second"], 1.0) / max(hot["p"], 1.0)))
    return made


def _words(case: Case) -> Features:
    """What was seen, one feature for each word, and the codes."""
    made: Features = {}
    for what, saw in case.seen:
        words = {word for words in _all_words(what) for word in words} | {saw}
        made |= {f"{what}: {word}": float(word == saw) for word in words}
    if "codes" in case.plan.told:
        stored = {code for group in table("seen")["codes"].values() for code in group}
        made |= {f"code {code}": float(code in case.codes) for code in stored}
    return made


def _all_words(what: str) -> list[list[str]]:
    causes = table("seen")["cause"].values()
    return [list(table("seen")["sound"][what]), *(list(row.get(what, {})) for row in causes)]
