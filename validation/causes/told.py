"""What job.toml tells of the car itself, and the limits its maker prints."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.engine.held import Held
from gaugewright.engine.steady import solve
from validation.causes.bench import KPA, Table
from validation.causes.engines import Rng
from validation.causes.stretches import Manner
from validation.causes.truths import Patient

SILENT = 0.08
"""How often a word of the vehicle is not given."""


@dataclass(frozen=True)
class Told:
    """Tables of job.toml that don't depend on what is measured."""

    vehicle: Table
    place: Table
    idle_limit: Table
    fast_limit: Table
    case_limit: Table
    switch: Table
    switch_told: bool


def draw_told(rng: Rng, patient: Patient, manner: Manner) -> Told:
    """Vehicle, place, limits and switch of one job."""
    return Told(
        vehicle=_vehicle(rng, patient),
        place=_place(rng, patient),
        idle_limit=_idle_limit(rng, patient),
        fast_limit=_fast_limit(rng, patient, manner),
        case_limit={
            "name": "crankcase",
            "quantity": "crankcase-pressure",
            "min": f"{rng.choice([-5.0, -4.0, -3.5]):g} kPa",
            "max": f"{rng.choice([0.0, 0.5, 1.0]):g} kPa",
        },
        switch=_switch(rng, patient),
        switch_told=bool(rng.random() < 0.6),
    )


def _vehicle(rng: Rng, patient: Patient) -> Table:
    build = patient.car.build
    sure: Table = {"name": "the car", "cylinders": build.cylinders, "cycle": "four-stroke"}
    sure |= {"ignition": build.ignition, "fuel": build.fuel}
    rest: Table = {
        "oil_grade": build.oil_grade,
        "firing_order": list(build.firing_order),
        "displacement": f"{patient.car.litres} L",
        "induction": "natural",
        "metering": build.metering,
        "oil_pump": build.oil_pump,
        "ventilation": build.ventilation,
    }
    if build.oil_pump == "two-stage":
        step = float(np.asarray(patient.car.engine.oil.step_rpm))
        rest["pump_switches"] = [
            f"{round(step - 60, -1):.0f} rpm",
            f"{round(step + 60, -1):.0f} rpm",
        ]
    return sure | {name: said for name, said in rest.items() if rng.random() >= SILENT}


def _place(rng: Rng, patient: Patient) -> Table:
    if rng.random() < 0.6:
        pa = float(np.asarray(patient.car.engine.air.barometer_pa))
        return {"barometer": f"{pa / KPA:.2f} kPa"}
    return {"altitude": f"{patient.car.altitude_m:.0f} m"}


def _gauge_pa(patient: Patient, held: Held) -> float:
    """What a gauge shows on the sound twin."""
    return float(solve(patient.car.build, patient.car.engine, [held]).gauge_pa[0, 0])


def _printed(pa: float) -> str:
    """A round figure, as makers print."""
    step = 5.0 if pa < 100e3 else 10.0
    return f"{max(step * np.floor(pa / KPA / step), 20.0):.0f} kPa"


def _idle_limit(rng: Rng, patient: Patient) -> Table:
    """A sound engine idles at 1.3 to 2.5 times what is printed."""
    degc = float(rng.choice([80.0, 90.0, 100.0]))
    healthy = _gauge_pa(patient, Held(oil_degc=degc))
    table: Table = {"name": "hot idle", "quantity": "oil-pressure"}
    table["min"] = _printed(healthy / float(rng.uniform(1.3, 2.5)))
    if rng.random() < 0.7:
        aim = float(np.asarray(patient.car.engine.air.idle_rpm))
        table |= {"speed": f"{round(aim, -1):.0f} rpm", "speed_tolerance": "50 rpm"}
    if rng.random() < 0.7:
        table["oil_temperature"] = f"{degc:.0f} degC"
    return table | {"source": "workshop manual, lubrication"}


def _fast_limit(rng: Rng, patient: Patient, manner: Manner) -> Table:
    degc = float(rng.choice([80.0, 90.0, 100.0]))
    healthy = _gauge_pa(patient, Held(speed_rpm=manner.fast_rpm, oil_degc=degc))
    table: Table = {"name": "at speed", "quantity": "oil-pressure", "did": ["speed-raised"]}
    table["min"] = _printed(healthy / float(rng.uniform(1.2, 2.0)))
    if rng.random() < 0.6:
        table["max"] = _printed(healthy * float(rng.uniform(1.15, 1.5)))
    table |= {"speed": f"{manner.fast_rpm:.0f} rpm", "speed_tolerance": "150 rpm"}
    if rng.random() < 0.7:
        table["oil_temperature"] = f"{degc:.0f} degC"
    return table | {"source": "workshop manual, lubrication"}


def _switch(rng: Rng, patient: Patient) -> Table:
    """The lamp's switch as its maker states it: the sound one within its tolerance."""
    closes = float(np.asarray(patient.car.engine.indication.switch_pa)) / KPA
    width = float(rng.choice([5.0, 10.0]))
    middle = closes + 0.8 * width * float(rng.uniform(-1.0, 1.0))
    return {
        "name": "lamp",
        "quantity": "oil-pressure",
        "closes_below": f"{middle:.0f} kPa",
        "tolerance": f"{width:.0f} kPa",
    }
