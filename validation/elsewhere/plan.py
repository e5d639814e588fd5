"""What one job holds: its stretches, its instruments, what is told."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from validation.elsewhere.car import Car
from validation.elsewhere.faults import Effect
from validation.elsewhere.levels import Held
from validation.elsewhere.tables import Rng, happens, pick, table

CURED = {
    "oil-changed": (
        "oil-thin",
        "fuel-in-oil",
        "oil-aerated",
        "oil-level-low",
        "filter-restricted",
    ),
    "level-corrected": ("oil-level-low", "oil-aerated"),
}
BY_HAND = ("hot", "fast", "cold")  # what readings alone can tell apart


@dataclass(frozen=True)
class Plan:
    """How a job is measured and told.  A quantity's way: "" (not at all), column, volts, hand."""

    richness: float
    by_hand: bool
    oil_degc: str  # column, hand, coolant, none
    oil: str
    crank: str
    trims: str
    manifold: str
    air: str
    second_gauge: bool
    one_file: bool
    parquet: bool
    comma: bool
    rate_hz: int
    unit: str
    learned: float  # share of the trim that the long one holds
    told: frozenset[str]
    vehicle: frozenset[str]


def draw_plan(rng: Rng, car: Car) -> Plan:
    """How this job is measured."""
    rich, holds = float(rng.uniform()), table("holds")
    by_hand = happens(rng, holds["by_hand"])
    return Plan(
        richness=rich,
        by_hand=by_hand,
        oil_degc=_oil_degc(rng, by_hand),
        oil="hand" if by_hand else pick(rng, {"volts": 1, "column": 1}),
        crank=_way(rng, rich, by_hand, "crank", {"volts": 3, "column": 4, "hand": 3}),
        **_engine_ways(rng, rich, by_hand, car),
        second_gauge=often(rng, rich, holds["measured"]["second_gauge"]),
        one_file=happens(rng, 0.5),
        parquet=happens(rng, 0.3),
        comma=happens(rng, 0.25),
        rate_hz=int(rng.choice([100, 125, 200, 250, 400, 500])),
        unit=pick(rng, {"kPa": 6, "bar": 3, "psi": 1}),
        learned=float(rng.uniform(0.5, 0.95)),
        told=_chosen(rng, rich, holds["told"]),
        vehicle=_chosen(rng, 0.5, holds["vehicle"]),
    )


def often(rng: Rng, richness: float, chance: float) -> bool:
    """True with the chance of a middling job, less in a bare one, more in a rich one."""
    odds = chance / (1.0 - chance) * np.exp(3.4 * (richness - 0.5))
    return happens(rng, float(odds / (1.0 + odds)))


def _chosen(rng: Rng, richness: float, chances: dict[str, float]) -> frozenset[str]:
    return frozenset(word for word, chance in chances.items() if often(rng, richness, chance))


def _oil_degc(rng: Rng, by_hand: bool) -> str:
    if by_hand:
        return pick(rng, {"hand": 7, "none": 3})
    return pick(rng, {"column": 45, "hand": 20, "coolant": 25, "none": 10})


def _way(rng: Rng, rich: float, by_hand: bool, what: str, ways: dict[str, float]) -> str:
    held, way = often(rng, rich, table("holds")["measured"][what]), pick(rng, ways)
    return ("hand" if by_hand else way) if held else ""


def _engine_ways(rng: Rng, rich: float, by_hand: bool, car: Car) -> dict[str, str]:
    """How trims, manifold pressure and air flow are measured, where there are any."""
    ways = {"column": 6.0, "hand": 4.0}
    trims = _way(rng, rich, by_hand, "trims", ways) if car.trims else ""
    manifold = _way(rng, rich, by_hand, "manifold", ways) if car.trims else ""
    air = _way(rng, rich, by_hand, "air", ways) if trims and car.metering == "air-mass" else ""
    return {"trims": trims, "manifold": manifold, "air": air and trims}


def draw_stretches(
    rng: Rng, car: Car, known: Effect, plan: Plan, cures: dict[str, Effect]
) -> tuple[Held, ...]:
    """The stretches of the job in the order they were run."""
    chance = table("holds")["stretch"]
    rich = plan.richness
    hot = car.thermostat + car.oil_more + known.hotter_k
    found = _repeat(rng, Held("as found", "hot", ("nothing",), 0.0, hot, _seconds(rng)))
    found = replace(found, rpm=car.idle_rpm + known.idle_rise_rpm + float(rng.normal(0, 6)))
    made = [_cold(rng, car, known)] if often(rng, rich, chance["cold"]) else []
    made += [_off(found)] if often(rng, rich, chance["off"]) else []
    made.append(found)
    made += [_fast(rng, car, found)] if often(rng, rich, chance["fast"]) else []
    made += _manoeuvres(rng, car, known, plan, found)
    made += _after(rng, car, plan, found, cures)
    return tuple(held for held in made if not plan.by_hand or held.kind in BY_HAND)


def _seconds(rng: Rng) -> float:
    return round(float(rng.uniform(12.0, 20.0)), 1)


def _repeat(rng: Rng, held: Held) -> Held:
    """No engine repeats itself to the last: shares of pressure, kPa of crankcase, percent."""
    off = rng.normal(0.0, [0.008, 0.06, 0.5])
    warm = held.oil_degc + float(rng.normal(0.0, 1.5))
    return replace(held, off=(float(off[0]), float(off[1]), float(off[2])), oil_degc=warm)


def _cold(rng: Rng, car: Car, known: Effect) -> Held:
    rpm = car.idle_rpm + car.cold_more_rpm + 0.3 * known.idle_rise_rpm
    return _repeat(rng, Held("cold idle", "cold", ("nothing",), rpm, car.cold_degc, _seconds(rng)))


def _off(found: Held) -> Held:
    return replace(found, name="engine off", kind="off", did=("engine-off",), rpm=0.0, seconds=12.0)


def _fast(rng: Rng, car: Car, found: Held) -> Held:
    rpm = float(rng.choice([2000.0, 2500.0, 3000.0]))
    if car.two_stage and (happens(rng, 0.85) or rpm > car.switches_rpm[0] - 100.0):
        rpm = max(rpm, 100.0 * float(np.ceil((car.switches_rpm[1] + 250.0) / 100.0)))
    held = replace(found, name=f"{rpm:.0f} held", kind="fast", did=("speed-raised",))
    held = replace(held, rpm=rpm * (1.0 + float(rng.normal(0.0, 0.01))), seconds=_seconds(rng))
    return _repeat(rng, replace(held, oil_degc=found.oil_degc + float(rng.uniform(0.0, 4.0))))


def _manoeuvres(rng: Rng, car: Car, known: Effect, plan: Plan, found: Held) -> list[Held]:
    chance, rich, made = table("holds")["stretch"], plan.richness, []
    cap, vent = often(rng, rich, chance["cap"]), often(rng, rich, chance["vent"])
    if cap:
        shift = _cap_shift(rng, known)
        held = replace(found, name="cap off", kind="cap", did=("filler-cap-off",))
        made.append(_repeat(rng, replace(held, rpm=found.rpm + shift, seconds=_seconds(rng))))
    if vent and car.trims and car.ventilation != "open":
        back = -0.7 * known.idle_rise_rpm if known.crank_idle < -2.0 else 0.0
        held = replace(found, name="vent plugged", kind="vent", did=("vent-port-blocked",))
        seconds = round(float(rng.uniform(7.0, 10.0)), 1)
        made.append(_repeat(rng, replace(held, rpm=found.rpm + back, seconds=seconds)))
    if car.two_stage and often(rng, rich, chance["valve"]):
        made.append(_valve(rng, car, found))
    return made


def _cap_shift(rng: Rng, known: Effect) -> float:
    """How idle changes with the filler open: plainly where a regulator is torn."""
    way = 1.0 if happens(rng, 0.5) else -1.0
    return way * float(rng.uniform(40.0, 120.0) if known.crank_idle < -2.0 else rng.uniform(0, 15))


def _valve(rng: Rng, car: Car, found: Held) -> Held:
    rpm = float(rng.uniform(1400.0, min(1800.0, car.switches_rpm[0] - 150.0)))
    did = ("speed-raised", "valve-commanded")
    held = replace(found, name="valve commanded", kind="valve", did=did, rpm=rpm)
    return _repeat(rng, replace(held, seconds=_seconds(rng)))


def _after(rng: Rng, car: Car, plan: Plan, found: Held, cures: dict[str, Effect]) -> list[Held]:
    """Hot idle again after fresh oil or a level put right."""
    chance, rich = table("holds")["stretch"], plan.richness
    oil, level = often(rng, rich, chance["after_oil"]), often(rng, rich, chance["after_level"])
    if not (oil or level):
        return []
    did = "oil-changed" if oil else "level-corrected"
    rpm = car.idle_rpm + cures[did].idle_rise_rpm + float(rng.normal(0, 6))
    held = replace(found, name="hot idle after", kind="after", did=(did,), rpm=rpm)
    return [_repeat(rng, replace(held, seconds=_seconds(rng), cured=CURED[did]))]
