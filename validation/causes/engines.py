"""A random sound engine of a random kind, as `healthy.toml` has them."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.sound import sound
from gaugewright.engine.steady import Solved, solve
from gaugewright.physics import atmosphere

Rng = np.random.Generator
HERE = Path(__file__).parent
with (HERE / "healthy.toml").open("rb") as _file:
    HEALTHY: dict[str, Any] = tomllib.load(_file)

MOST_TRIES = 400
MOST_PUMPS = ("two-stage", "variable", "controlled")


@dataclass(frozen=True)
class Car:
    """One engine as the maker and the years left it."""

    build: Build
    engine: Engine
    litres: float
    altitude_m: float


def pick(rng: Rng, shares: Mapping[str, float]) -> str:
    """One word of a table of shares, which need not add up to 1."""
    words, weights = list(shares), np.array(list(shares.values()), dtype=np.float64)
    return words[int(rng.choice(len(words), p=weights / weights.sum()))]


def draw_car(rng: Rng, wanted: Mapping[str, str] | None = None) -> Car:
    """A sound engine; `wanted` fixes words of its build, such as {"ventilation": "regulator"}.

    Engines outside of what is accepted as sound are drawn again, the kind is kept.
    """
    build, litres = draw_build(rng, wanted or {})
    for _ in range(MOST_TRIES):
        car = Car(build, *_numbers(rng, build, litres))
        if is_sound(car):
            return car
    raise RuntimeError(f"no sound engine among {MOST_TRIES} of the kind {build}")


def draw_build(rng: Rng, wanted: Mapping[str, str]) -> tuple[Build, float]:
    """(kind, displacement in litres)."""
    shares = HEALTHY["builds"]
    words = {name: wanted.get(name) or pick(rng, table) for name, table in shares.items()}
    if words["fuel"] == "diesel":
        words |= {"metering": "none", "ignition": "compression"}
        if words["ventilation"] in ("orifice", "valve"):
            words["ventilation"] = wanted.get("ventilation") or "regulator"
    sizes = HEALTHY["displacement"]
    count = pick(rng, {name: table["share"] for name, table in sizes.items()})
    litres = round(float(rng.uniform(sizes[count]["low"], sizes[count]["high"])), 1)
    order = tuple(HEALTHY["firing_order"][count])
    return Build(cylinders=int(count), firing_order=order, **words), litres  # type: ignore[arg-type]


def _numbers(rng: Rng, build: Build, litres: float) -> tuple[Engine, float, float]:
    """(engine, litres, altitude) of this kind."""
    engine = sound(build, {"air.displacement_m3": litres * 1e-3})
    common = {name: float(rng.standard_normal()) for name in HEALTHY["common"]}
    new: dict[str, float] = {}
    for name, spread in HEALTHY["log"].items():
        new[name] = float(value(engine, name)) * float(np.exp(_deviate(rng, spread, common)))
    for name, spread in HEALTHY["plain"].items():
        new[name] = _cut(float(value(engine, name)) + _deviate(rng, spread, common), spread)
    for name, spread in HEALTHY["tail"].items():
        added = float(np.sign(spread["mean"]) * rng.exponential(abs(spread["mean"])))
        new[name] = _cut(float(value(engine, name)) + added, spread)
    follows = HEALTHY["grade"]["bearing_follows_kv100"]
    thickness = float(value(engine, "oil.kv100_cst")) / float(Engine().oil.kv100_cst)
    new["oil.bearing_m3"] *= thickness**follows
    altitude, new["air.barometer_pa"] = _place(rng)
    return changed(engine, new), litres, altitude


def _deviate(rng: Rng, spread: Mapping[str, float], common: Mapping[str, float]) -> float:
    own = spread["own"] * float(rng.standard_normal())
    return own + sum(spread.get(name, 0.0) * deviate for name, deviate in common.items())


def _cut(number: float, spread: Mapping[str, float]) -> float:
    return min(max(number, spread.get("least", -np.inf)), spread.get("most", np.inf))


def _place(rng: Rng) -> tuple[float, float]:
    """(altitude in m, outside pressure in Pa)."""
    table = HEALTHY["place"]
    high = min(float(rng.exponential(table["altitude_m"]["tail"])), table["altitude_m"]["most"])
    weather = table["weather_pa"]["plain"] * float(rng.standard_normal())
    return high, float(atmosphere.pressure(high)) + weather


def is_sound(car: Car) -> bool:
    """Whether this engine may be called sound: at hot idle and held at speed."""
    solved = solve(car.build, car.engine, [Held(), Held(speed_rpm=2500.0)])
    if not solved.running.all():
        return False
    return all(_within(solved, car))


def _within(solved: Solved, car: Car) -> list[bool]:
    limits = HEALTHY["accepted"]
    idle, fast = (float(pa) for pa in solved.gauge_pa[:, 0])
    aim = float(car.engine.air.idle_rpm)
    checks = [
        limits["idle_gauge_pa"][0] <= idle <= limits["idle_gauge_pa"][1],
        limits["fast_gauge_pa"][0] <= fast <= limits["fast_gauge_pa"][1],
        fast >= limits["fast_over_idle"] * idle or car.build.oil_pump in MOST_PUMPS,
        abs(float(solved.speed_rpm[0, 0]) / aim - 1.0) <= limits["idle_off_aim"],
        _between(solved.crankcase_over_pa[:, 0], limits["crankcase_over_pa"]),
        bool((np.abs(np.nan_to_num(solved.trim)) <= limits["trim"]).all()),
    ]
    if car.build.throttled:
        checks.append(_between(solved.manifold_pa[:, 0], limits["manifold_pa"]))
    return checks


def _between(values: Any, ends: list[float]) -> bool:
    return bool(((values >= ends[0]) & (values <= ends[1])).all())
