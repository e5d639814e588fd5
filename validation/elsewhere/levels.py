"""What a car with its faults settles to, held one way: a lumped engine of our own.

Pressure below the relief valve goes with speed and with viscosity to the power 0.9; a rounded knee
leads to the valve's ceiling.  A gauge shows the gallery over the crankcase plus the crankcase.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from validation.elsewhere.car import (
    COLD_DEGC,
    FAST_RPM,
    HOT_DEGC,
    Car,
    Values,
    lesser,
    viscosity,
)
from validation.elsewhere.faults import Effect

POWER = 0.9  # of viscosity (a judgement of the trade)
SAG_S = 7.0  # how fast a sag comes
UNMETERED = 0.08  # share of an air error that shows where the engine meters by pressure


@dataclass(frozen=True)
class Held:
    """A stretch in which the engine is held one way.  `rpm` and `oil_degc` are means."""

    name: str
    kind: str  # hot, fast, cold, cap, vent, valve, off, after
    did: tuple[str, ...]
    rpm: float
    oil_degc: float
    seconds: float
    cured: tuple[str, ...] = ()
    off: tuple[float, float, float] = (0.0, 0.0, 0.0)  # how it failed to repeat: P, CC, trim


@dataclass(frozen=True)
class Level:
    """True means of one stretch: kPa, rpm, degC, percent, g/s.  `gauge` is the first gauge's."""

    rpm: float
    oil_degc: float
    gauge: float
    true_gauge: float
    crank: float
    trim: float
    manifold: float
    air: float


def speed_share(car: Car, rpm: Values | float) -> Values:
    """0 at idle, 1 at 2500 rpm, in between by the logarithm."""
    share = np.log(np.asarray(rpm, float) / car.idle_rpm) / np.log(FAST_RPM / car.idle_rpm)
    return np.asarray(np.clip(share, 0.0, 1.2))


def cold_share(car: Car, degc: Values | float) -> Values:
    """0 with hot oil, 1 at 25 degC, in between by the logarithm of the viscosity."""
    hot = viscosity(car, HOT_DEGC)
    share = np.log(viscosity(car, degc) / hot) / np.log(viscosity(car, COLD_DEGC) / hot)
    return np.asarray(np.clip(share, 0.0, 1.1))


def blend(at: tuple[float, float, float], fast: Values, cold: Values) -> Values:
    """A number known at hot idle, at speed and cold, at any state between."""
    hot = at[0] + (at[1] - at[0]) * fast
    return np.asarray(hot + (at[2] - hot) * cold)


def gallery(
    car: Car, fault: Effect, rpm: Values, degc: Values, crank: Values, commanded: bool = False
) -> Values:
    """Oil pressure over the crankcase, kPa, before dips and sags."""
    fast, cold = speed_share(car, rpm), cold_share(car, degc)
    thick = viscosity(car, degc) / viscosity(car, HOT_DEGC)
    thin = np.exp(blend((fault.thin_hot, fault.thin_hot, fault.thin_cold), fast, cold))
    below = blend((fault.below_idle, fault.below_fast, fault.below_cold), fast, cold)
    leaking = car.gallery_kpa * (rpm / car.idle_rpm) ** car.speed_power * np.exp(below)
    ceiling = _ceiling(car, fault, rpm, degc, cold, commanded)
    held = lesser(leaking * (thick * thin) ** POWER, ceiling)
    after = blend((fault.after_idle, fault.after_fast, fault.after_cold), fast, cold)
    starved = fault.suction * np.maximum(-crank, 0.0) * (rpm / car.idle_rpm) ** 0.7
    return np.asarray(np.maximum(held * np.exp(after) - starved, 0.05 * held))


def _ceiling(
    car: Car, fault: Effect, rpm: Values, degc: Values, cold: Values, commanded: bool
) -> Values:
    slope = car.relief_slope * (rpm - car.idle_rpm) / 1000.0
    ceiling = np.full(np.shape(rpm), car.relief_kpa)
    if car.two_stage:
        high = (rpm > car.switches_rpm[1]) | commanded | (car.cold_high & (degc < 60.0))
        step = (car.relief_kpa / car.low_kpa) ** (1.0 - fault.stuck)
        ceiling = np.where(high, car.low_kpa * step, car.low_kpa)
    ceiling = (ceiling + slope) * (1.0 + fault.unrelieved)
    if fault.ceiling <= 0.0:
        return np.asarray(ceiling)
    idle = lesser(car.gallery_kpa, car.low_kpa if car.two_stage else car.relief_kpa)
    return np.minimum(ceiling, fault.ceiling * idle * (1.0 + 0.1 * cold) + 0.4 * slope)


def bare_share(car: Car, fault: Effect, rpm: float, degc: float) -> float:
    """Share of the time with the pick-up in air."""
    fast, cold = speed_share(car, rpm), cold_share(car, degc)
    return float(blend((fault.bare_idle, fault.bare_fast, 0.0), fast, cold))


def sag_share(car: Car, fault: Effect, rpm: float, degc: float) -> float:
    """Share of the pressure lost in the course of some 15 s."""
    fast, cold = speed_share(car, rpm), cold_share(car, degc)
    return float(fault.sag_fast * np.clip(fast, 0.0, 1.0) ** 2 * (1.0 - cold))


def mean_sag(seconds: float) -> float:
    """The mean of a sag over a stretch, as a share of where it leads."""
    return float(1.0 - SAG_S / seconds * (1.0 - np.exp(-seconds / SAG_S)))


def crankcase(car: Car, fault: Effect, held: Held) -> tuple[float, float]:
    """Crankcase pressure at the start and at the end of the stretch, kPa."""
    if held.kind == "off":
        return 0.0, 0.0
    found = _crank_found(car, fault, held) + held.off[1]
    if held.kind == "cap":
        open_kpa = 0.04 * found + (0.1 if fault.pulses > 0.0 else 0.0)
        return open_kpa, open_kpa
    return found, _plugged(car, fault, found) if held.kind == "vent" else found


def _crank_found(car: Car, fault: Effect, held: Held) -> float:
    fast = float(speed_share(car, held.rpm))
    idle = car.crank_idle if fault.set_idle is None else fault.set_idle
    quick = car.crank_fast if fault.set_fast is None else fault.set_fast
    idle, quick = idle + fault.crank_idle, quick + fault.crank_fast
    return idle + (quick - idle) * fast


def _plugged(car: Car, fault: Effect, found: float) -> float:
    """Where the crankcase stands at the end of a few seconds with its suction side closed."""
    if fault.set_idle is not None and fault.pulses == 0.0:  # blocked or open already
        return found + 0.1
    if fault.crank_idle < -2.0:  # torn: the outside air flows in
        return 0.25 * car.plugged_rise
    return min(car.plugged_rise * (1.5 if fault.pulses > 0.0 else 1.0), 3.5)


def trims(car: Car, fault: Effect, held: Held) -> tuple[float, float]:
    """Fuel added at the start and at the end of the stretch, percent; 0 where nothing trims."""
    if not car.trims or held.kind == "off":
        return 0.0, 0.0
    fast = float(np.clip(speed_share(car, held.rpm), 0.0, 1.0))
    idle, quick = car.trim_idle + fault.trim_idle, car.trim_fast + fault.trim_fast
    found = float(np.clip(idle + (quick - idle) * fast + held.off[2], -30.0, 45.0))
    if held.kind == "cap":
        return found, float(np.clip(found + _drawn(car, fault), -30.0, 45.0))
    return found, found - fault.plug_back if held.kind == "vent" else found


def _drawn(car: Car, fault: Effect) -> float:
    """Percent of fuel that the air drawn in through an open filler adds."""
    if fault.set_idle is not None and fault.pulses == 0.0:
        return 0.0
    share = 1.0 if car.metering == "air-mass" else UNMETERED
    torn = 0.3 if fault.crank_idle < -2.0 else 1.0
    return 100.0 * share * torn * car.drawn_gps / car.air_idle


def manifold(car: Car, fault: Effect, held: Held) -> float:
    """Absolute manifold pressure, kPa."""
    if held.kind == "off":
        return car.barometer_kpa
    if car.fuel == "diesel":
        return car.barometer_kpa + 0.5
    fast = float(np.clip(speed_share(car, held.rpm), 0.0, 1.0))
    vacuum = car.vacuum_idle + (car.vacuum_fast - car.vacuum_idle) * fast
    return car.barometer_kpa - vacuum - fault.vacuum * (1.0 - 0.7 * fast)


def air_flow(car: Car, held: Held) -> float:
    """Metered air, g/s."""
    if held.kind == "off":
        return 0.0
    fast = float(speed_share(car, held.rpm))
    return float(car.air_idle * (car.air_fast / car.air_idle) ** fast)


def level(car: Car, fault: Effect, held: Held) -> Level:
    """The true means of one stretch, and what the first gauge shows of them."""
    start, end = crankcase(car, fault, held)
    crank = 0.35 * start + 0.65 * end
    true = 0.0 if held.kind == "off" else _mean_gauge(car, fault, held, crank)
    from_trim, to_trim = trims(car, fault, held)
    return Level(
        rpm=0.0 if held.kind == "off" else held.rpm,
        oil_degc=held.oil_degc,
        gauge=true * (1.0 + fault.gain) + fault.offset_kpa,
        true_gauge=true,
        crank=crank,
        trim=0.3 * from_trim + 0.7 * to_trim,
        manifold=manifold(car, fault, held),
        air=air_flow(car, held),
    )


def _mean_gauge(car: Car, fault: Effect, held: Held, crank: float) -> float:
    rpm, degc = np.array([held.rpm]), np.array([held.oil_degc])
    commanded = "valve-commanded" in held.did
    over = float(gallery(car, fault, rpm, degc, np.array([crank]), commanded)[0])
    bare = bare_share(car, fault, held.rpm, held.oil_degc) * fault.bare_depth
    sag = sag_share(car, fault, held.rpm, held.oil_degc) * mean_sag(held.seconds)
    return over * (1.0 - bare) * (1.0 - sag) * (1.0 + held.off[0]) + crank
