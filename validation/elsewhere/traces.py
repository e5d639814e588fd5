"""A stretch in time: what every quantity truly did, sample by sample."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from validation.elsewhere.car import Car, Values
from validation.elsewhere.case import Case
from validation.elsewhere.faults import Effect
from validation.elsewhere.levels import (
    SAG_S,
    Held,
    air_flow,
    bare_share,
    crankcase,
    gallery,
    manifold,
    sag_share,
    trims,
)
from validation.elsewhere.tables import Rng

QUANTITIES = ("rpm", "oil", "coolant", "gauge", "crank", "trim", "manifold", "air")
TRIM_S = 2.0
WARMING = {"cold": 0.06, "fast": 0.03, "off": -0.01}  # kelvin a second


@dataclass(frozen=True)
class Stretch:
    """One stretch: seconds from its start, and every quantity (kPa, rpm, degC, percent, g/s)."""

    held: Held
    time: Values
    values: dict[str, Values]


def wander(rng: Rng, count: int, step_s: float, lasts_s: float) -> Values:
    """Noise of unit size that forgets itself within `lasts_s`."""
    keep = float(np.exp(-step_s / lasts_s))
    white = rng.normal(0.0, 1.0, count)
    start = [keep * float(rng.normal())]
    noise, _ = lfilter([np.sqrt(1.0 - keep**2)], [1.0, -keep], white, zi=start)
    return np.asarray(noise, float)


def stretch(rng: Rng, case: Case, held: Held) -> Stretch:
    """The stretch as it ran."""
    rate = float(case.plan.rate_hz)
    time = np.arange(round(held.seconds * case.plan.rate_hz), dtype=np.float64) / rate
    car, fault = case.car, case.fault(held)
    made = {"rpm": _speed(rng, fault, held, time)}
    made |= _heat(rng, car, held, time)
    made["crank"] = _crank(rng, car, fault, held, time, made["rpm"])
    made["gauge"] = _gauge(rng, car, fault, held, time, made) + made["crank"]
    made |= _engine(rng, car, fault, held, time)
    return Stretch(held, time, made)


def _speed(rng: Rng, fault: Effect, held: Held, time: Values) -> Values:
    if held.kind == "off":
        return np.zeros_like(time)
    idling = held.kind not in ("fast", "valve")
    size = (4.0 if idling else 9.0) * (1.0 + (fault.rough if idling else 0.0))
    noise = size * wander(rng, len(time), time[1], 0.8)
    hertz, phase = rng.uniform(0.3, 0.8), rng.uniform(0.0, 2.0 * np.pi)
    hunting = (fault.hunt_rpm + 3.0) if idling and held.kind != "cold" else 0.0
    if held.kind == "vent" and fault.plug_back > 5.0:
        hunting = 5.0
    moved = noise + hunting * np.sin(2.0 * np.pi * hertz * time + phase)
    return np.asarray(held.rpm + moved - moved.mean())


def _heat(rng: Rng, car: Car, held: Held, time: Values) -> dict[str, Values]:
    rise = WARMING.get(held.kind, 0.008) * (time - time.mean())
    swing = 1.2 * wander(rng, len(time), time[1], 25.0)
    warm = car.thermostat if held.kind != "cold" else held.oil_degc + 2.0
    return {"oil": held.oil_degc + rise, "coolant": warm + rise + 0.5 * swing}


def _crank(rng: Rng, car: Car, fault: Effect, held: Held, time: Values, rpm: Values) -> Values:
    start, end = crankcase(car, fault, held)
    if held.kind == "off":
        return np.zeros_like(time)
    course = end + (start - end) * np.exp(-time / car.plugged_tau)
    size = (0.06 + 0.02 * abs(start)) * (1.0 + fault.pulses)
    turns = np.cumsum(rpm) * time[1] / 60.0
    pulse = size * np.sin(2.0 * np.pi * turns * car.cylinders / 2.0)
    drift = (0.03 + 0.015 * abs(start)) * wander(rng, len(time), time[1], 1.5)
    return np.asarray(course + pulse + drift)


def _gauge(
    rng: Rng, car: Car, fault: Effect, held: Held, time: Values, known: dict[str, Values]
) -> Values:
    """Gallery over the crankcase with its dips, sag, foam and ripple."""
    if held.kind == "off":
        return np.zeros_like(time)
    commanded = "valve-commanded" in held.did
    smooth = np.full_like(time, known["crank"].mean())
    over = gallery(car, fault, known["rpm"], known["oil"], smooth, commanded)
    over = over * (1.0 + held.off[0]) * _dips(rng, car, fault, held, time)
    over = over * _course(car, fault, held, time)
    foam = fault.foam * wander(rng, len(time), time[1], 0.15)
    drift = 0.004 * wander(rng, len(time), time[1], 2.0)
    turns = np.cumsum(known["rpm"]) * time[1] / 60.0
    ripple = 0.012 * np.sin(2.0 * np.pi * 7.0 * turns)
    white = 0.004 * rng.normal(0.0, 1.0, len(time))
    return np.asarray(over * (1.0 + foam + drift + ripple + white))


def _dips(rng: Rng, car: Car, fault: Effect, held: Held, time: Values) -> Values:
    """1 while the pick-up is covered, less while it draws air: at random moments."""
    share = bare_share(car, fault, held.rpm, held.oil_degc)
    if share <= 0.0:
        return np.ones_like(time)
    slosh = wander(rng, len(time), time[1], 0.5)
    bare = slosh > np.quantile(slosh, 1.0 - min(share, 0.95))
    keep = float(np.exp(-time[1] / 0.1))
    eased = lfilter([1.0 - keep], [1.0, -keep], bare.astype(float))
    return np.asarray(1.0 - fault.bare_depth * np.asarray(eased))


def _course(car: Car, fault: Effect, held: Held, time: Values) -> Values:
    """The slow course of a stretch: sagging at speed, building up when cold."""
    sag = sag_share(car, fault, held.rpm, held.oil_degc)
    course = 1.0 - sag * (1.0 - np.exp(-time / SAG_S))
    if held.kind == "cold" and fault.build_s > 0.0:
        course = course * (1.0 - 0.5 * np.exp(-(time + 2.0) / fault.build_s))
    return np.asarray(course)


def _engine(rng: Rng, car: Car, fault: Effect, held: Held, time: Values) -> dict[str, Values]:
    start, end = trims(car, fault, held)
    swing = 1.2 * np.sin(2.0 * np.pi * 0.9 * time + rng.uniform(0.0, 6.0))
    trim = end + (start - end) * np.exp(-time / TRIM_S)
    trim = trim + swing + 0.5 * wander(rng, len(time), time[1], 3.0)
    rough = 0.25 * (1.0 + 0.5 * fault.rough)
    vacuum = manifold(car, fault, held) + rough * wander(rng, len(time), time[1], 0.4)
    air = air_flow(car, held) * (1.0 + 0.015 * wander(rng, len(time), time[1], 0.6))
    idle = held.kind == "off"
    none = np.zeros_like(time)
    return {"trim": none if idle else trim, "manifold": vacuum, "air": none if idle else air}
