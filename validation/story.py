"""From a seed to a whole job: visits, hand readings, limits, switch, job.toml."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import tomlkit

from validation.engine import Engine, drawn
from validation.instruments import Table
from validation.jobs import LimitTruth, Made, box_file, main_file
from validation.noise import Rng
from validation.recipe import draw_engine, draw_recipe, with_quirks
from validation.timeline import run

HAND_ACCURACY_KPA = {"box": 0.10, "oil": 1.5}
HAND_READ_OFF_KPA = {"box": 0.05, "oil": 0.8}


def make(seed: int, number: int, folder: Path) -> Made:
    """Job `number` of a seed, written to `folder`, with its sealed truth."""
    rng = np.random.default_rng([seed, number])
    made = Made(number, folder, with_quirks(rng, draw_recipe(rng)))
    visits = 1 if rng.random() < 0.75 else 2
    recordings: list[Table] = []
    for index in range(visits):
        before = made.engines[-1] if made.engines else None
        engine = draw_engine(rng, made.recipe, ("first", "second")[index], before)
        recordings += _visit(made, rng, engine)
    readings = _hand_readings(made, rng)
    made.job = _job_table(made, visits) | {"recording": recordings, "reading": readings}
    _limits(made, rng)
    _switch(made, rng)
    text = tomlkit.dumps({key: value for key, value in made.job.items() if value != []})
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return made


def _visit(made: Made, rng: Rng, engine: Engine) -> list[Table]:
    """Run one visit and write its files."""
    made.engines.append(engine)
    off_s = engine.conditions[0].start_s - 6.0 if "off" in made.recipe.quirks else 0.0
    course = run(rng, engine, made.recipe.manner, off_s, made.recipe.rate_hz)
    made.courses[engine.visit] = course
    tables = main_file(made, rng, engine.visit, off_s)
    if made.recipe.two_loggers:
        tables += box_file(made, rng, engine.visit, off_s)
    return tables


def _hand_readings(made: Made, rng: Rng) -> list[Table]:
    """Hand readings of each condition; one instrument's error is drawn once."""
    recipe, tables = made.recipe, []
    shared = {
        role: HAND_ACCURACY_KPA[role] * float(rng.standard_normal()) for role in ("box", "oil")
    }
    for role, used in (("box", recipe.box_by_hand), ("oil", recipe.oil_by_hand)):
        quantity = "crankcase-pressure" if role == "box" else "oil-pressure"
        for engine in made.engines if used else []:
            for held in engine.conditions:
                if role == "oil" and held.name != "as found":
                    continue
                speed, _ = made.state(engine, held)
                truth = made.level(engine.visit, held.name, quantity, "atmosphere")
                error = shared[role] + HAND_READ_OFF_KPA[role] * float(rng.standard_normal())
                value = round(float(truth or 0.0) - error, 3)
                table: Table = {"quantity": quantity, "value": f"{value:.3f} kPa"}
                table |= {"reference": "atmosphere", "instrument": f"{role} gauge"}
                table |= {"uncertainty": f"{HAND_READ_OFF_KPA[role]} kPa"}
                table |= {"condition": held.name, "visit": engine.visit}
                if recipe.speed_source == "none" or rng.random() < 0.5:
                    table["speed"] = f"{speed:.0f} rpm"
                tables.append(table)
                made.hand.append({"role": role, "value": value, "at": (engine.visit, held.name)})
    if recipe.temperature == "hand":
        tables += _hand_temperatures(made, rng)
    return tables


def _hand_temperatures(made: Made, rng: Rng) -> list[Table]:
    """A dipstick thermometer's reading in each condition, good to 1 K."""
    tables: list[Table] = []
    for engine in made.engines:
        for held in engine.conditions:
            value = made.state(engine, held)[1] + float(rng.standard_normal())
            table: Table = {"quantity": "oil-temperature", "value": f"{value:.1f} degC"}
            table |= {"uncertainty": "1 K", "condition": held.name, "visit": engine.visit}
            tables.append(table)
    return tables


def _job_table(made: Made, visits: int) -> Table:
    recipe = made.recipe
    vehicle: Table = {"cylinders": recipe.cylinders, "cycle": "four-stroke"}
    vehicle |= {"ignition": recipe.ignition, "oil_grade": recipe.grade}
    vehicle |= {"oil_pump": "two-stage" if recipe.two_stage else "fixed"}
    if recipe.two_stage:
        vehicle["pump_switches"] = ["2150 rpm", "2250 rpm"]
    job: Table = {"format": 1, "title": f"Random job {made.seed}", "vehicle": vehicle}
    if recipe.place == "barometer":
        job["place"] = {"barometer": f"{recipe.barometer_kpa:.2f} kPa"}
    if recipe.place == "altitude":
        job["place"] = {"altitude": f"{recipe.altitude_m:.0f} m"}
    job["visit"] = [
        {"name": name, "date": dt.datetime(2031, 3, day, 9, 30), "work": work}
        for name, day, work in (("first", 4, ""), ("second", 6, "breather repaired"))[:visits]
    ]
    job["sensor"] = [s.stated for s in recipe.sensors().values() if s is not None]
    used = [role for role, on in (("box", recipe.box_by_hand), ("oil", recipe.oil_by_hand)) if on]
    job["instrument"] = [
        {"name": f"{role} gauge", "accuracy": f"{HAND_ACCURACY_KPA[role]} kPa"} for role in used
    ]
    return job


def _limits(made: Made, rng: Rng) -> None:
    """Limits above, below and on the truth, stating much or little of their state."""
    tables: list[Table] = []
    engine = made.engines[0]
    for held in engine.conditions:
        named = {"as found": "hot idle", "fast": "fast"}.get(held.name)
        if named is None or (held.name == "fast" and rng.random() < 0.4):
            continue
        speed, degc = made.state(engine, held)
        at_rpm = round(speed + drawn(rng, -8.0, 8.0)) if rng.random() < 0.6 else None
        warm = degc + drawn(rng, -6.0, 8.0)
        at_degc = round(warm) if rng.random() < 0.4 else None
        truth = engine.level(held, "oil-pressure", "atmosphere", at_rpm or speed, at_degc or degc)
        away = 0.0 if rng.random() < 0.1 else drawn(rng, -0.5, 0.5)
        low = round(truth * (1.0 + away), 3)
        high = round(low * drawn(rng, 3.0, 5.0)) if rng.random() < 0.5 else None
        box = round(drawn(rng, -3.0, 0.0), 1) if rng.random() < 0.4 else None
        tables.append(_limit_table(rng, named, low, high, at_rpm, at_degc, box))
        made.limits.append(
            LimitTruth(named, "oil-pressure", held.name, low, high, at_rpm, at_degc, box or 0.0)
        )
    measured = made.recipe.box_sensor is not None or made.recipe.box_by_hand
    if measured and rng.random() < 0.4:
        tables.append(_crankcase_limit(made, rng, engine))
    made.job["limit"] = tables


def _limit_table(
    rng: Rng,
    name: str,
    low: float,
    high: float | None,
    at_rpm: int | None,
    at_degc: int | None,
    box: float | None,
) -> Table:
    table: Table = {"name": name, "quantity": "oil-pressure", "min": f"{low:.3f} kPa"}
    if high is not None:
        table["max"] = f"{high} kPa"
    if at_rpm is not None:
        table |= {"speed": f"{at_rpm} rpm", "speed_tolerance": "50 rpm"}
    if at_degc is not None:
        table["oil_temperature"] = f"{at_degc} degC"
    if box is not None:
        table["crankcase"] = f"{box} kPa"
    if rng.random() < 0.5:
        table["source"] = "workshop manual, lubrication"
    if at_rpm is None and name == "fast":
        table["did"] = ["speed-raised"]
    return table


def _crankcase_limit(made: Made, rng: Rng, engine: Engine) -> Table:
    """A window for the crankcase, as found at idle."""
    truth = made.level(engine.visit, "as found", "crankcase-pressure", "atmosphere") or 0.0
    low = round(truth - drawn(rng, -3.0, 6.0), 2)
    high = round(low + drawn(rng, 3.0, 6.0), 2)
    made.limits.append(
        LimitTruth("crankcase", "crankcase-pressure", "as found", low, high, None, None, 0.0)
    )
    table: Table = {"name": "crankcase", "quantity": "crankcase-pressure"}
    return table | {"min": f"{low} kPa", "max": f"{high} kPa"}


def _switch(made: Made, rng: Rng) -> None:
    """A lamp switch with a rectangular tolerance, at times close to the idle pressure."""
    if rng.random() > 0.3:
        return
    engine = made.engines[0]
    gauge = made.level(engine.visit, "as found", "oil-pressure", "atmosphere") or 0.0
    middle = round(gauge * float(rng.choice([0.4, 0.6, 0.95, 1.0, 1.05, 1.2])), 1)
    width = round(drawn(rng, 2.0, 12.0), 1)
    made.switch_kpa = middle + width * drawn(rng, -1.0, 1.0)
    table: Table = {"name": "lamp", "quantity": "oil-pressure", "closes_below": f"{middle} kPa"}
    made.job["switch"] = [table | {"tolerance": f"{width} kPa"}]
