"""The job.toml of a case: what the technician tells, in the words of the job format."""

from __future__ import annotations

from typing import Any

from validation.elsewhere.bench import Sensor
from validation.elsewhere.case import Case, Limit
from validation.elsewhere.levels import Held
from validation.elsewhere.session import KPA, Mark, Recording

Table = dict[str, Any]
COMPLAINTS = {
    "never on": "The owner doubts the oil pressure.",
    "": "Came in because of the oil pressure.",
}


def job(
    case: Case,
    made: tuple[Recording, ...],
    sensors: dict[str, Sensor],
    readings: list[Table],
    instruments: list[Table],
) -> Table:
    """The whole job as one table."""
    whole: Table = {
        "format": 1,
        "title": f"Oil pressure, job {case.number}",
        "vehicle": _vehicle(case),
        "complaint": _complaint(case),
    }
    if "barometer" in case.plan.vehicle:
        whole["place"] = {"barometer": f"{case.car.barometer_kpa:.1f} kPa"}
    lists = {
        "observation": [{"what": what, "saw": saw} for what, saw in case.seen],
        "limit": [_limit(case, limit) for limit in case.limits],
        "switch": _switch(case),
        "sensor": [_sensor(sensor) for sensor in sensors.values()],
        "instrument": instruments,
        "recording": [_recording(case, one, sensors) for one in made],
        "reading": readings,
    }
    return whole | {name: rows for name, rows in lists.items() if rows}


def _vehicle(case: Case) -> Table:
    car = case.car
    told = {
        "ignition": "compression" if car.fuel == "diesel" else "coil-on-plug",
        "oil_grade": car.grade,
        "displacement": f"{car.litres:.1f} L",
        "fuel": car.fuel,
        "induction": "boosted" if car.boosted else "natural",
        "metering": car.metering,
        "oil_pump": "two-stage" if car.two_stage else "fixed",
        "ventilation": car.ventilation,
    }
    if car.two_stage:
        told["pump_switches"] = [f"{rpm:.0f} rpm" for rpm in car.switches_rpm]  # type: ignore[assignment]
    known = {key: value for key, value in told.items() if key in case.plan.vehicle}
    return {"cylinders": car.cylinders, "cycle": "four-stroke", **known}


def _complaint(case: Case) -> Table:
    lamp = dict(case.seen).get("lamp", "")
    text = COMPLAINTS.get(lamp, f"Oil lamp: {lamp}.")
    return {"text": text, **({"codes": list(case.codes)} if case.codes else {})}


def _limit(case: Case, limit: Limit) -> Table:
    unit = case.plan.unit if case.plan.unit != "psi" else "kPa"
    ends = {"min": limit.least, "max": limit.most}
    made: Table = {"name": limit.name, "quantity": "oil-pressure"}
    made |= {end: f"{kpa / KPA[unit]:g} {unit}" for end, kpa in ends.items() if kpa > 0.0}
    if limit.rpm > 0.0:
        made["speed"] = f"{limit.rpm:.0f} rpm"
    if limit.oil_degc > 0.0:
        made["oil_temperature"] = f"{limit.oil_degc:.0f} degC"
    if limit.crank is not None:
        made["crankcase"] = f"{limit.crank:.1f} kPa"
    return made | {"source": "workshop manual, lubrication"}


def _switch(case: Case) -> list[Table]:
    if not case.lamp_by_switch or "switch" not in case.plan.told:
        return []
    closes = f"{case.lamp_kpa:g} kPa"
    return [{"name": "oil lamp", "closes_below": closes, "tolerance": "8 kPa"}]


def _sensor(sensor: Sensor) -> Table:
    made: Table = {
        "name": sensor.name,
        "points": [[f"{volts:g} V", f"{kpa:g} kPa"] for volts, kpa in sensor.points],
        "accuracy": f"{sensor.accuracy:g} kPa",
        "range": [f"{sensor.low:g} kPa", f"{sensor.high:g} kPa"],
    }
    if sensor.point_uncertainty > 0.0:
        made["point_uncertainty"] = f"{sensor.point_uncertainty:g} kPa"
    return made


def _recording(case: Case, one: Recording, sensors: dict[str, Sensor]) -> Table:
    made: Table = {
        "name": one.name,
        "file": file_name(case, one),
        "time": "t",
        "time_unit": "s",
        "clock_offset": f"{one.offset_s:g} s",
    }
    if case.plan.comma and not case.plan.parquet:
        made["text"] = {"delimiter": ";", "decimal": ","}
    made["signal"] = _signals(case, sensors)
    made["condition"] = [_condition(mark) for mark in one.marks]
    return made


def file_name(case: Case, one: Recording) -> str:
    """Where a recording lies in the job folder."""
    return f"recordings/{one.name.replace(' ', '-')}.{'parquet' if case.plan.parquet else 'csv'}"


def _condition(mark: Mark) -> Table:
    span = {"from": f"{mark.start:g} s", "to": f"{mark.end:g} s"}
    return {"name": mark.held.name, **span, "did": list(mark.held.did)}


def _signals(case: Case, sensors: dict[str, Sensor]) -> list[Table]:
    plan = case.plan
    made: list[Table] = [{"column": "rpm", "quantity": "engine-speed", "unit": "rpm"}]
    made.append(_pressure("oil_p", "oil-pressure", sensors.get("oil"), plan.unit))
    if plan.oil_degc == "column":
        made.append({"column": "oil_t", "quantity": "oil-temperature", "unit": "degC"})
    if plan.oil_degc in ("column", "coolant"):
        made.append({"column": "coolant_t", "quantity": "coolant-temperature", "unit": "degC"})
    if plan.crank in ("volts", "column"):
        made.append(_pressure("crank_p", "crankcase-pressure", sensors.get("crank"), "kPa"))
    if plan.trims == "column":
        made += [
            {"column": f"{length[0]}tft", "quantity": f"fuel-trim-{length}", "unit": "%"}
            for length in ("short", "long")
        ]
    if plan.manifold == "column":
        row = {"column": "map", "quantity": "manifold-pressure", "unit": "kPa"}
        made.append(row | {"reference": "vacuum"})
    if plan.air == "column":
        made.append({"column": "air", "quantity": "air-flow", "unit": "g/s"})
    return made


def _pressure(column: str, quantity: str, sensor: Sensor | None, unit: str) -> Table:
    row = {"column": column, "quantity": quantity}
    if sensor is not None:
        return row | {"sensor": sensor.name}
    return row | {"unit": unit, "reference": "atmosphere"}


def stated_oil_degc(case: Case, held: Held) -> float:
    """The oil temperature a technician notes; with a test at fault it may be hotter than that."""
    return held.oil_degc - sum(found.hotter_k for found in case.effects.values())
