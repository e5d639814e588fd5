"""A sound engine: its numbers and how they are drawn.  Every figure is invented."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from validation.elsewhere.tables import Rng, between, happens, log_between, pick, table

Values = NDArray[np.float64]
HOT_DEGC = 90.0
FAST_RPM = 2500.0
COLD_DEGC = 25.0
SHARP = 8.0  # how sharply the relief valve takes over


@dataclass(frozen=True)
class Car:
    """One sound engine.  Pressures kPa, the gallery's over the crankcase, at idle and 90 degC."""

    cylinders: int
    litres: float
    fuel: str
    boosted: bool
    metering: str
    ventilation: str
    grade: str
    kv_40: float
    kv_100: float
    idle_rpm: float
    cold_more_rpm: float
    gallery_kpa: float
    speed_power: float
    relief_kpa: float
    relief_slope: float
    two_stage: bool
    low_kpa: float
    switches_rpm: tuple[float, float]
    cold_high: bool
    barometer_kpa: float
    crank_idle: float
    crank_fast: float
    plugged_rise: float
    plugged_tau: float
    vacuum_idle: float
    vacuum_fast: float
    air_idle: float
    air_fast: float
    trim_idle: float
    trim_fast: float
    drawn_gps: float
    thermostat: float
    oil_more: float
    cold_degc: float

    @property
    def trims(self) -> bool:
        """Does this engine trim its fuel?"""
        return self.fuel == "petrol"


def viscosity(car: Car, degc: Values | float) -> Values:
    """Kinematic viscosity in mm2/s at a temperature (ASTM D341, from 40 and 100 degC)."""
    kelvin = np.log10(np.array([313.15, 373.15]))
    double = np.log10(np.log10(np.array([car.kv_40, car.kv_100]) + 0.7))
    slope = (double[1] - double[0]) / (kelvin[1] - kelvin[0])
    at = double[0] + slope * (np.log10(np.asarray(degc, float) + 273.15) - kelvin[0])
    return np.asarray(10.0 ** (10.0**at) - 0.7)


def lesser(one: Values | float, other: Values | float) -> Values:
    """The lesser of two pressures, with a rounded knee between them."""
    a, b = np.asarray(one, float), np.asarray(other, float)
    small, large = np.minimum(a, b), np.maximum(a, b)
    return np.asarray(small * (1.0 + (small / large) ** SHARP) ** (-1.0 / SHARP))


def draw_car(rng: Rng, causes: tuple[str, ...]) -> Car:
    """A sound engine that can have these faults."""
    made: dict[str, Any] = {}
    made |= _build(rng, causes)
    made |= _oil(rng)
    made |= _gallery(rng, made)
    made |= _crankcase(rng, made)
    made |= _air(rng, made)
    heat = table("sound")["heat"]
    made["thermostat"] = between(rng, heat["thermostat_degc"])
    made["oil_more"] = between(rng, heat["oil_more_k"])
    made["cold_degc"] = between(rng, heat["cold_degc"])
    return Car(**made)


def _build(rng: Rng, causes: tuple[str, ...]) -> dict[str, Any]:
    cylinders = int(rng.choice([3, 4, 4, 4, 4, 5, 6, 8]))
    airy = {"ventilation-regulator-torn", "crankcase-open", "intake-leak"} & set(causes)
    diesel = happens(rng, 0.15) and not airy
    ventilation = pick(rng, {"regulator": 5, "orifice": 2, "valve": 3, "open": 0 if airy else 1})
    regulated = "ventilation-regulator-torn" in causes
    metering = pick(rng, {"air-mass": 7, "manifold-pressure": 3})
    return {
        "cylinders": cylinders,
        "litres": round(cylinders * float(rng.uniform(0.38, 0.6)), 1),
        "fuel": "diesel" if diesel else "petrol",
        "boosted": diesel or happens(rng, 0.35),
        "metering": "none" if diesel else metering,
        "ventilation": "regulator" if regulated else ventilation,
        "two_stage": happens(rng, 0.2) or "pump-control-stuck" in causes,
        "cold_high": happens(rng, 0.5),
        "barometer_kpa": between(rng, table("sound")["air"]["barometer_kpa"]),
    }


def _oil(rng: Rng) -> dict[str, Any]:
    grades = table("sound")["oil"]["grades"]
    grade = pick(rng, {name: row["weight"] for name, row in grades.items()})
    row = grades[grade]
    viscosities = {"kv_40": between(rng, row["at_40"]), "kv_100": between(rng, row["at_100"])}
    return {"grade": grade, **viscosities}


def _gallery(rng: Rng, made: dict[str, Any]) -> dict[str, Any]:
    span, speed = table("sound")["gallery"], table("sound")["speed"]
    idle = log_between(rng, span["two_stage_idle_kpa" if made["two_stage"] else "idle_kpa"])
    low = idle * between(rng, span["low_over_idle"])
    least = max(idle * between(rng, span["relief_over_idle"]), span["relief_kpa"][0])
    relief = min(max(least, between(rng, span["relief_kpa"])), 680.0)
    if made["two_stage"]:
        relief = min(max(low * between(rng, span["high_over_low"]), 300.0), 500.0)
    up = between(rng, span["switch_rpm"])
    return {
        "idle_rpm": between(rng, speed["idle_rpm"]),
        "cold_more_rpm": between(rng, speed["cold_more_rpm"]),
        "gallery_kpa": idle,
        "speed_power": between(rng, span["speed_power"]),
        "relief_kpa": relief,
        "relief_slope": between(rng, span["relief_slope_kpa"]),
        "low_kpa": low,
        "switches_rpm": (round(up - between(rng, span["switch_gap_rpm"]), -1), round(up, -1)),
    }


def _crankcase(rng: Rng, made: dict[str, Any]) -> dict[str, Any]:
    span = table("sound")["crankcase"]
    kind = "open" if made["fuel"] == "diesel" else made["ventilation"]
    idle = between(rng, span[kind])
    return {
        "crank_idle": idle,
        "crank_fast": idle * between(rng, span["fast_share"]),
        "plugged_rise": between(rng, span["plugged_rise_kpa"]),
        "plugged_tau": between(rng, span["plugged_tau_s"]),
    }


def _air(rng: Rng, made: dict[str, Any]) -> dict[str, Any]:
    span = table("sound")["air"]
    vacuum = between(rng, span["vacuum_idle_kpa"])
    idle = made["litres"] * between(rng, span["idle_gps_for_litre"]) * made["idle_rpm"] / 800.0
    most = span["trim_most"]
    trims = rng.normal(0.0, [span["trim_idle_sd"], span["trim_fast_sd"]])
    return {
        "vacuum_idle": vacuum,
        "vacuum_fast": min(vacuum + between(rng, span["vacuum_more_fast_kpa"]), 75.0),
        "air_idle": idle,
        "air_fast": idle * between(rng, span["fast_over_idle"]),
        "trim_idle": float(np.clip(trims[0], -most, most)),
        "trim_fast": float(np.clip(0.6 * trims[0] + 0.8 * trims[1], -most, most)),
        "drawn_gps": between(rng, span["drawn_gps"]),
    }
