"""Which kinds of engine the job leaves open, for the virtual engine."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from gaugewright.engine.build import Build, Fuel, Ignition, Metering, OilPump, Ventilation
from gaugewright.job.model import Job, Vehicle

VENTILATIONS: tuple[tuple[Ventilation, float], ...] = (("regulator", 0.55), ("valve", 0.45))
"""Where the kind of ventilation is not told: what most engines have (judgement)."""
METERINGS: tuple[tuple[Metering, float], ...] = (("air-mass", 0.65), ("manifold-pressure", 0.35))
"""Where nobody told how the fuel is metered (judgement)."""
USUAL_GRADE = "5W-30"


@dataclass(frozen=True)
class Kind:
    """A build the engine may be, and how probable that is before anything is read."""

    build: Build
    share: float


def kinds_of(job: Job, trims_read: bool = False) -> tuple[Kind, ...]:
    """The builds this job leaves open.

    `trims_read`: fuel trims are among the readings, so that it matters how the fuel is metered.
    """
    vehicle = job.vehicle
    fuel = _fuel(vehicle)
    vents = VENTILATIONS if vehicle.ventilation is None else ((vehicle.ventilation, 1.0),)
    open_ = vehicle.metering is None and fuel != "diesel" and trims_read
    meters = METERINGS if open_ else ((_metering(vehicle, fuel), 1.0),)
    grade = job.visits[0].oil_grade or vehicle.oil_grade or USUAL_GRADE
    return tuple(
        Kind(_build(vehicle, fuel, vent, meter, grade), share * part)
        for vent, share in vents
        for meter, part in meters
    )


def _build(
    vehicle: Vehicle, fuel: Fuel, ventilation: Ventilation, metering: Metering, grade: str
) -> Build:
    order = vehicle.firing_order or tuple(range(1, vehicle.cylinders + 1))
    return Build(
        cylinders=vehicle.cylinders,
        firing_order=order,
        ignition=_ignition(vehicle, fuel),
        fuel=fuel,
        metering=metering,
        ventilation=ventilation,
        oil_pump=_pump(vehicle),
        oil_grade=grade,
    )


def _fuel(vehicle: Vehicle) -> Fuel:
    if vehicle.fuel is not None:
        return vehicle.fuel
    return "diesel" if vehicle.ignition == "compression" else "petrol"


def _ignition(vehicle: Vehicle, fuel: Fuel) -> Ignition:
    if vehicle.ignition in get_args(Ignition):
        return vehicle.ignition  # type: ignore[return-value]
    return "compression" if fuel == "diesel" else "coil-on-plug"


def _metering(vehicle: Vehicle, fuel: Fuel) -> Metering:
    if vehicle.metering is not None:
        return vehicle.metering
    return "none" if fuel == "diesel" else "air-mass"


def _pump(vehicle: Vehicle) -> OilPump:
    if vehicle.oil_pump is not None:
        return vehicle.oil_pump
    return "fixed" if vehicle.pump_switches is None else "two-stage"
