"""Where the engine rests in each step of a plan: what a foot knows, and where a run begins."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugewright.engine import governor, torque, trims
from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.oil_circuit import thickness
from gaugewright.engine.parameters import Engine
from gaugewright.engine.plan import RUNS, Plan, Step
from gaugewright.engine.settling import ACCEPTED, settled_point
from gaugewright.engine.state import State
from gaugewright.engine.steady import LEAST_RPM
from gaugewright.engine.system import System, settled_share

OFF_IDLE_RPM = 2500.0
"""Where the long trim off idle has been learnt."""


@dataclass(frozen=True)
class Rest:
    """The steady engine in one step: pressures absolute but `gallery_pa` (over the crankcase);
    `place` of throttle (m2) or fuel; `runs` is False where it wouldn't."""

    place: float
    speed_rpm: float
    manifold_pa: float
    crankcase_pa: float
    gallery_pa: float
    outside_share: float
    trim: float
    runs: bool


def rest(build: Build, engine: Engine, held: Held) -> Rest:
    """Where does one engine rest, held like this?

    Source: the same four equations and method as `steady.solve`.
    """
    thick = thickness(engine, held.oil_degc)
    system = System(build, engine, held, thick, settled_share(held.for_s))
    point = settled_point(system, 1)
    speed, manifold, crankcase = point.speed_rpm, point.manifold_pa, point.crankcase_pa
    throttled = build.throttled
    air = (
        system.air(speed, manifold, crankcase).flows
        if throttled
        else system.diesel_air(speed, manifold, crankcase)
    )
    vapour = torque.fuel_vapour(engine, held, air.vent)
    trim = torque.trim_within(build, engine, torque.needed_trim(build, engine, air, vapour))
    settled = float(point.left[0]) < ACCEPTED and float(point.place[0]) >= 0.0
    return Rest(
        place=_one(point.place),
        speed_rpm=_one(speed),
        manifold_pa=_one(manifold),
        crankcase_pa=_one(crankcase),
        gallery_pa=_one(point.gallery_pa),
        outside_share=_one(air.outside_share),
        trim=_one(trim),
        runs=settled and _one(speed) > LEAST_RPM,
    )


def _one(value: object) -> float:
    return float(np.asarray(value).flat[0])


def rests(build: Build, engine: Engine, plan: Plan) -> tuple[Rest, ...]:
    """Where it rests in each step; in a move without a rest, where it would idle."""
    found: dict[int, Rest] = {}
    for place, step in enumerate(plan.steps):
        held = step.held if step.move in RUNS else Held(oil_degc=step.held.oil_degc)
        found[place] = rest(build, engine, held)
    return tuple(found.values())


def places(known: tuple[Rest, ...], stops: governor.Stops) -> tuple[float, ...]:
    """Where throttle or fuel stand in each step; the governor's own measure where it won't run."""
    return tuple(each.place if each.runs else stops.least + stops.unit for each in known)


def begin(
    build: Build, engine: Engine, plan: Plan, known: tuple[Rest, ...], stops: governor.Stops
) -> State:
    """The engine at the beginning of a plan.

    Raises ValueError where the first step needs a running engine and this one doesn't run.
    """
    step, first = plan.steps[0], known[0]
    oil = float(step.held.oil_degc) if plan.oil_degc is None else plan.oil_degc
    standing = _standing(build, engine, plan, oil, places(known, stops)[0])
    standing.trims = _learnt(build, engine, step)
    if step.held.speed_rpm is not None:
        standing.actuator.integral = 0.0
    if step.move not in RUNS:
        return standing
    if not first.runs:
        raise ValueError(
            "this engine doesn't run as the plan's first step holds it; begin with a start, or "
            "with another step"
        )
    share = float(settled_share(step.held.for_s))
    return replace(
        standing,
        speed_rads=first.speed_rpm * np.pi / 30.0,
        manifold_pa=first.manifold_pa,
        crankcase_pa=first.crankcase_pa,
        outside_share=first.outside_share,
        gallery_pa=first.gallery_pa,
        beaten_krpm=share * first.speed_rpm * 1e-3,
        catching=False,
        dry=0.0,
    )


def _standing(build: Build, engine: Engine, plan: Plan, oil_degc: float, place: float) -> State:
    """The engine standing still, its rooms full of outside air and some gas."""
    outside = float(engine.air.barometer_pa)
    coolant = oil_degc - 12.0 if plan.coolant_degc is None else plan.coolant_degc
    return State(
        time_s=plan.steps[0].from_s,
        speed_rads=0.0,
        manifold_pa=outside,
        crankcase_pa=outside,
        outside_share=0.5 if build.ventilation != "open" else 0.0,
        actuator=governor.Actuator(place, place),
        trims=trims.Trims(),
        oil_degc=oil_degc,
        coolant_degc=coolant,
        beaten_krpm=0.0,
        dry=plan.drained,
    )


def _learnt(build: Build, engine: Engine, step: Step) -> trims.Trims:
    """The long trims an engine has learnt that has been driven like this for weeks."""
    if build.metering == "none":
        return trims.Trims()
    hot = Held(oil_degc=max(float(step.held.oil_degc), 80.0))
    idle = rest(build, engine, hot)
    off = rest(build, engine, replace(hot, speed_rpm=OFF_IDLE_RPM))
    return trims.Trims(
        long={
            "idle": idle.trim if idle.runs else 0.0,
            "held": off.trim if off.runs else 0.0,
        }
    )
