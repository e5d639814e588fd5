"""The engine's slow states, stepped once for each firing with the steady engine's own formulas.

Crankshaft: half the inertia times the square of the speed gains, in each firing, the torque left
over times the angle.  Manifold and crankcase: see `filling`.  The gallery has no memory worth a
firing; it is solved afterwards for all firings at once (`gallery`), and here now and then, for
the torque its pump takes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from gaugewright.engine import air_path, crankshaft, governor, torque, trims, warming
from gaugewright.engine.air_path import AirFlows
from gaugewright.engine.build import Build
from gaugewright.engine.cranking import Cranked, cranked
from gaugewright.engine.cylinder_trace import FiringWork
from gaugewright.engine.filling import Filled, Rooms, filled, rooms
from gaugewright.engine.gallery import pump_nm
from gaugewright.engine.oil_circuit import Thickness, thickness
from gaugewright.engine.parameters import Engine
from gaugewright.engine.plan import Plan, Step
from gaugewright.engine.state import State
from gaugewright.engine.system import SETTLING_S, WIDE_OPEN_M2
from gaugewright.engine.uneven import Uneven
from gaugewright.physics.numbers import Floats

STANDING_STEP_S = 0.04
"""How long a step is while nothing turns."""
STALLS_RPM = 60.0
RUNS_BY_ITSELF_RPM = 430.0
"""From here on a starting engine is let go by its starter."""
FUEL_FROM_TURNS = 1.5
"""A starting engine gets fuel once it has turned so many times and knows its angle."""
OPEN_LOOP_S, CLOSED_FROM_DEGC = 6.0, 35.0
"""The mixture's loop stays open so long after a start, and below this coolant temperature."""
OIL_EVERY = 8
"""Firings from one look at the oil to the next."""
STANDING_S = 600.0
"""How slowly foam leaves oil that stands."""
MISFIRED_OF_LEAN = 0.5
"""How much of the work lost to a lean mixture is lost as whole misfires (judgement)."""
RECORDED = (
    "time_s",
    "turned",
    "speed_rads",
    "manifold_pa",
    "crankcase_pa",
    "outside_share",
    "place",
    "trim_short",
    "trim_long",
    "settled",
    "oil_degc",
    "coolant_degc",
    "cylinders_kg_s",
    "metered_kg_s",
    "unmetered_kg_s",
    "blow_by_kg_s",
    "work_j",
    "charge_pa",
    "left_nm",
    "over",
    "cut",
    "ignition",
    "starter",
    "step",
)
"""What is kept of every step, as it is at the step's beginning; torque, work and flows are those
of the step itself.  `turned` counts firings, `over` is lambda."""


@dataclass(frozen=True)
class Known:
    """What doesn't change during a run."""

    build: Build
    engine: Engine
    plan: Plan
    uneven: Uneven
    rooms: Rooms
    stops: governor.Stops
    inertia: float
    starter: crankshaft.Starter
    works: FiringWork
    foot: tuple[float, ...]
    """The place of throttle or fuel at which each step's speed stays."""
    random: np.random.Generator

    @property
    def firing_rad(self) -> float:
        """Crank angle from one firing to the next."""
        return 4.0 * math.pi / self.build.cylinders


@dataclass
class Going:
    """What is worked out anew only now and then: the oil, and the step it is for."""

    index: int
    step: Step
    thick: Thickness
    pump_nm: float = 0.0
    age: int = 0


def known(
    build: Build,
    engine: Engine,
    plan: Plan,
    uneven: Uneven,
    works: FiringWork,
    foot: tuple[float, ...],
    seed: int,
) -> Known:
    """Everything about this run that stays."""
    size = float(engine.air.displacement_m3)
    return Known(
        build=build,
        engine=engine,
        plan=plan,
        uneven=uneven,
        rooms=rooms(engine),
        stops=stops(build, engine),
        inertia=crankshaft.INERTIA_PER_M3 * size,
        starter=crankshaft.starter(size, float(engine.air.compression_ratio)),
        works=works,
        foot=foot,
        random=np.random.default_rng([seed, 1]),
    )


def stops(build: Build, engine: Engine) -> governor.Stops:
    """Between what the idle governor of this engine moves."""
    if not build.throttled:
        return governor.Stops(0.0, 1.0, governor.FUEL_PLACE, 4.0)
    air = engine.air
    size = float(air.displacement_m3)
    return governor.Stops(
        float(air.throttle_least_m2),
        float(air.throttle_most_m2),
        governor.AREA_PER_DISPLACEMENT * size,
        governor.WIDE_OPEN_PER_DISPLACEMENT * size,
    )


@dataclass(frozen=True)
class History:
    """Every step's beginning, (k,) each by its name in `RECORDED`, and how each crank turned."""

    columns: dict[str, Floats]
    cranked: dict[int, Cranked]
    end: State

    def __getitem__(self, name: str) -> Floats:
        return self.columns[name]


def lived(fixed: Known, start: State) -> History:
    """The engine through its plan, step by step."""
    now, rows, by_starter = start, [], {}
    going = _going(fixed, now, 0)
    _charged(fixed, now, going)
    while now.time_s < fixed.plan.to_s - 1e-9:
        while now.time_s >= going.step.to_s - 1e-9:
            going = _going(fixed, now, going.index + 1)
        _look_at_oil(fixed, now, going)
        row, crank = _stepped(fixed, now, going)
        if crank is not None:
            by_starter[len(rows)] = crank
        rows.append(row)
    rows.append((*_state_row(now), *rows[-1][_STATES:]))
    table = np.array(rows)
    columns = {name: table[:, place] for place, name in enumerate(RECORDED)}
    return History(columns, by_starter, now)


def _charged(fixed: Known, now: State, going: Going) -> None:
    """An engine that runs already has charges in its cylinders that keep it so."""
    if now.speed_rpm > STALLS_RPM and not now.coming:
        _look_at_oil(fixed, now, going)
        work = -_left_nm(fixed, now, going, 0.0) * fixed.firing_rad
        now.coming.extend([work] * _delay(fixed.build))


def _going(fixed: Known, now: State, index: int) -> Going:
    step = fixed.plan.steps[index]
    if step.move in ("start", "cranking"):
        now.catching, now.turns_cranked, now.since_start_s = True, 0.0, 0.0
    elif index and step.move == "held":
        _learnt(fixed, now, index)
    return Going(index, step, thickness(fixed.engine, now.oil_degc))


def _learnt(fixed: Known, now: State, index: int) -> None:
    """Who takes over the throttle: what governor or foot begin with."""
    before, after = fixed.plan.steps[index - 1].held, fixed.plan.steps[index].held
    if after.speed_rpm is not None:
        now.actuator.integral = 0.0
    elif before.speed_rpm is not None:
        now.actuator.integral = min(max(fixed.foot[index], fixed.stops.least), fixed.stops.most)
    now.actuator.cut = False


def _look_at_oil(fixed: Known, now: State, going: Going) -> None:
    """The oil's thickness and its pump's torque, every few steps."""
    if going.age % OIL_EVERY == 0:
        course = fixed.plan.oil_course()
        if not fixed.plan.warms:
            now.oil_degc = float(np.interp(now.time_s, *course))
            now.coolant_degc = now.oil_degc - 12.0
        going.thick = thickness(fixed.engine, now.oil_degc)
        going.pump_nm, now.gallery_pa = pump_nm(
            fixed.build,
            fixed.engine,
            going.step.held,
            going.thick,
            (now.speed_rpm, now.crankcase_pa, now.gallery_pa, settled(now)),
        )
    going.age += 1


def settled(now: State) -> float:
    """How far foam and debris have come towards where this speed takes them."""
    krpm = now.speed_rpm * 1e-3
    return min(now.beaten_krpm / krpm, 3.0) if krpm > 0.05 else 0.0


def _stepped(fixed: Known, now: State, going: Going) -> tuple[tuple[float, ...], Cranked | None]:
    """One firing, or one short while of standing; the row of it, `now` moved on."""
    before = _state_row(now)
    turning = now.speed_rpm > STALLS_RPM
    starting = _starter_on(now, going.step)
    seconds = _seconds(fixed, now, turning or starting)
    _control(fixed, now, going, seconds)
    air = _filled(fixed, now, going, seconds)
    if not (turning or starting):
        flown = (*_flow_row(air.flows), 0.0, now.manifold_pa, 0.0, 1.0, 0.0)
        _standing(now, air, seconds)
        return (*before, *flown, 0.0, 0.0, float(going.index)), None
    over, work = _work(fixed, now, going, air.flows, seconds)
    charge = now.manifold_pa
    left = _left_nm(fixed, now, going, work)
    crank = None
    if starting:
        crank = cranked(
            fixed.works,
            now.speed_rads,
            left,
            work,
            fixed.firing_rad,
            fixed.inertia,
            _charges(fixed, now),
            fixed.starter,
        )
        seconds, now.speed_rads = crank.seconds, crank.speed_rads
        now.turns_cranked += fixed.firing_rad / (2.0 * math.pi)
    else:
        seconds = _turned(fixed, now, left)
    row = (*before, *_flow_row(air.flows), work, charge, left, over, float(now.actuator.cut))
    _after(fixed, now, air, seconds)
    _warm(fixed, now, work, seconds)
    return (*row, float(_ignites(now, going.step)), float(starting), float(going.index)), crank


_STATES = 12


def _state_row(now: State) -> tuple[float, ...]:
    return (
        now.time_s,
        float(now.turned),
        now.speed_rads,
        now.manifold_pa,
        now.crankcase_pa,
        now.outside_share,
        now.actuator.place,
        now.trims.short,
        now.trims.long[now.trims.cell],
        settled(now),
        now.oil_degc,
        now.coolant_degc,
    )


def _flow_row(air: AirFlows) -> tuple[float, ...]:
    return (
        float(air.cylinders[0]),
        float(air.metered[0]),
        float(air.unmetered[0]),
        float(air.blow_by[0]),
    )


def _starter_on(now: State, step: Step) -> bool:
    if step.move == "cranking":
        return True
    if step.move != "start" or not now.catching:
        return False
    now.catching = now.speed_rpm < RUNS_BY_ITSELF_RPM
    return now.catching


def _ignites(now: State, step: Step) -> bool:
    """Whether it has ignition and fuel."""
    if step.move in ("engine-off", "cranking"):
        return False
    return step.move != "start" or not now.catching or now.turns_cranked > FUEL_FROM_TURNS


def _seconds(fixed: Known, now: State, turning: bool) -> float:
    if not turning:
        return STANDING_STEP_S
    return fixed.firing_rad / max(now.speed_rads, 12.0)


def _control(fixed: Known, now: State, going: Going, seconds: float) -> None:
    """Governor, foot or snap move the throttle, or the fuel."""
    step, actuator = going.step, now.actuator
    aim = float(fixed.engine.air.idle_rpm)
    over = now.speed_rpm - aim
    if step.move in ("cranking", "engine-off") or now.speed_rpm < 0.4 * aim:
        actuator.cut = False
        return
    if step.move == "snap":
        down = governor.thrown(
            actuator, fixed.stops, now.time_s - step.from_s, now.speed_rpm, seconds
        )
        actuator.cut = False if down else actuator.cut
        if down or over > 0.3 * aim:
            _cut_or_not(actuator, down, over)
            return
    if step.held.speed_rpm is not None:
        off = 1.0 - now.speed_rpm / float(step.held.speed_rpm)
        push = float(fixed.random.standard_normal())
        governor.by_foot(actuator, fixed.foot[going.index], off, seconds, push, fixed.plan.unrest)
        actuator.cut = False
        return
    governor.idle(
        actuator, fixed.stops, -over / aim, float(fixed.engine.air.governor_gain), seconds
    )
    governor.fuel_cut(actuator, over)


def _cut_or_not(actuator: governor.Actuator, down: bool, over: float) -> None:
    if not down:
        governor.fuel_cut(actuator, over)


def _filled(fixed: Known, now: State, going: Going, seconds: float) -> Filled:
    area = now.actuator.place if fixed.build.throttled else WIDE_OPEN_M2

    def flows_at(manifold_pa: Floats, crankcase_pa: Floats) -> AirFlows:
        return air_path.flows(
            fixed.build,
            fixed.engine,
            going.step.held,
            now.speed_rpm,
            area,
            manifold_pa,
            crankcase_pa,
            now.outside_share,
        )

    return filled(flows_at, fixed.rooms, now.manifold_pa, now.crankcase_pa, seconds)


def _single(air: AirFlows) -> AirFlows:
    """The flows at the state itself, as plain numbers."""
    first = {
        name: value.flat[0] for name, value in vars(air).items() if isinstance(value, np.ndarray)
    }
    return replace(air, **first)


def _work(
    fixed: Known, now: State, going: Going, flows: AirFlows, seconds: float
) -> tuple[float, float]:
    """(lambda of the charge drawn in, work in J of the one that fires now)."""
    air, engine, build = _single(flows), fixed.engine, fixed.build
    held = replace(going.step.held, oil_degc=now.oil_degc)
    ignites = _ignites(now, going.step)
    if build.throttled:
        vapour = torque.fuel_vapour(engine, held, air.vent)
        needed = float(torque.needed_trim(build, engine, air, vapour))
        _trim(fixed, now, going, needed, seconds, ignites)
        given = 0.0 if build.metering == "none" else now.trims.given
        over = float(torque.mixture(needed, given))
        fuel = float(torque.burning_air(air)) / (torque.AIR_OVER_FUEL * max(over, 1.0))
    else:
        over = 1.0
        most = torque.DIESEL_MOST * float(engine.air.displacement_m3) * now.speed_rpm
        fuel = now.actuator.place * most
    heat = fuel * torque.HEATING_J_KG * float(torque.burning(engine, over))
    now.coming.append(heat * seconds if ignites and not now.actuator.cut else 0.0)
    drawn = now.coming.popleft() if len(now.coming) > _delay(build) else 0.0
    share = air.unmetered / max(air.cylinders, 1e-6)
    return over, drawn * _luck(fixed, now, over, float(share)) if ignites else 0.0


def _delay(build: Build) -> int:
    """Firings from the middle of a cylinder's intake to its work; a diesel has no such wait."""
    return max(1, round(0.375 * build.cylinders)) if build.throttled else 0


def _luck(fixed: Known, now: State, over: float, unmetered: float) -> float:
    """Which part of its mean work this firing does: misfires, and scatter from cycle to cycle."""
    air = fixed.engine.air
    misfires = float(air.misfire_share)
    lean = torque.LEAN_LOSS * max(over - torque.LEAN_FROM, 0.0)
    spared = MISFIRED_OF_LEAN * min(lean, 1.0)
    chance = 1.0 - (1.0 - misfires) * (1.0 - lean) / max(1.0 - lean + spared, 1e-9)
    chance = min(max(chance, 0.0), 1.0)
    scatter = float(torque.restlessness(fixed.engine, over, unmetered))
    drawn, spread = fixed.random.random(), fixed.random.standard_normal()
    own = fixed.uneven.work_of(now.turned)
    if drawn < chance or chance >= 1.0:
        return 0.0
    return own * max(1.0 + scatter * spread, 0.0) / (1.0 - chance)


def _charges(fixed: Known, now: State) -> Floats:
    """What is squeezed in the cylinders around this firing, as `FiringWork` has them."""
    order = (now.turned + fixed.works.ahead).tolist()
    return now.manifold_pa * np.array([fixed.uneven.compression_of(each) for each in order])


def _trim(
    fixed: Known, now: State, going: Going, needed: float, seconds: float, ignites: bool
) -> None:
    now.trims.cell = "idle" if going.step.held.speed_rpm is None else "held"
    closed = (
        ignites
        and not now.actuator.cut
        and now.since_start_s > OPEN_LOOP_S
        and now.coolant_degc > CLOSED_FROM_DEGC
        and going.step.move == "held"
    )
    if closed:
        trims.moved(now.trims, needed, float(fixed.engine.air.trim_reach), seconds)
    else:
        trims.opened(now.trims)


def _left_nm(fixed: Known, now: State, going: Going, work: float) -> float:
    """Mean torque left over in this firing, N m, without the starter's."""
    per_second = work * now.speed_rads / fixed.firing_rad
    return float(
        torque.net_nm(
            fixed.engine,
            going.step.held,
            now.speed_rpm,
            now.manifold_pa,
            per_second,
            going.thick,
            going.pump_nm,
        )
    )


def _turned(fixed: Known, now: State, left: float) -> float:
    """Turn by one firing; how long it took, s.  An engine that runs out of speed stands."""
    squared = now.speed_rads**2 + 2.0 * left * fixed.firing_rad / fixed.inertia
    after = math.sqrt(max(squared, 0.0))
    seconds = 2.0 * fixed.firing_rad / (now.speed_rads + after)
    now.speed_rads = after if after * (30.0 / math.pi) > STALLS_RPM else 0.0
    return seconds


def _standing(now: State, air: Filled, seconds: float) -> None:
    now.speed_rads = 0.0
    now.coming.clear()
    trims.opened(now.trims)
    now.beaten_krpm *= math.exp(-seconds / STANDING_S)
    now.manifold_pa, now.crankcase_pa = air.manifold_pa, air.crankcase_pa
    now.time_s += seconds


def _after(fixed: Known, now: State, air: Filled, seconds: float) -> None:
    """Rooms, crankcase gas, foam and clock after a firing."""
    flows = air.flows
    outside, vent = float(flows.outside_in[0]), float(flows.vent[0])
    entering = max(outside, 0.0) + max(float(flows.fresh[0]), 0.0) + max(-vent, 0.0)
    entering += float(flows.blow_by[0])
    held = now.crankcase_pa * fixed.rooms.crankcase_kg_pa
    now.outside_share = (now.outside_share * held + max(outside, 0.0) * seconds) / (
        held + entering * seconds
    )
    now.manifold_pa, now.crankcase_pa = air.manifold_pa, air.crankcase_pa
    krpm = now.speed_rpm * 1e-3
    now.beaten_krpm += (krpm - now.beaten_krpm) * (1.0 - math.exp(-seconds / SETTLING_S))
    now.turned += 1
    now.since_start_s += seconds
    now.time_s += seconds


def _warm(fixed: Known, now: State, work: float, seconds: float) -> None:
    if not fixed.plan.warms:
        return
    fuel_w = work / seconds / float(fixed.engine.air.burning)
    outside = float(fixed.engine.air.intake_k) - 273.15
    warmth = warming.warmed(
        warming.Warmth(now.coolant_degc, now.oil_degc),
        seconds,
        fuel_w,
        now.speed_rpm,
        float(fixed.engine.air.displacement_m3),
        outside,
    )
    now.coolant_degc, now.oil_degc = warmth.coolant_degc, warmth.oil_degc
