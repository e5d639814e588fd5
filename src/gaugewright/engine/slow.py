"""The engine's slow states, stepped once for each firing with the steady engine's own formulas.

Crankshaft: half the inertia times the square of the speed gains, in each firing, the torque left
over times the angle.  Manifold and crankcase: see `filling`.  The gallery has no memory worth a
firing; it is solved afterwards for all firings at once (`gallery`), and here now and then, for
the torque its pump takes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugewright.engine import air_path, trims, warming
from gaugewright.engine.air_path import AirFlows
from gaugewright.engine.cranking import Cranked, cranked
from gaugewright.engine.filling import Filled, filled
from gaugewright.engine.firing import charges, delay, drawn, fired, left_nm
from gaugewright.engine.gallery import pump_nm
from gaugewright.engine.known import Going, Known
from gaugewright.engine.oil_circuit import thickness
from gaugewright.engine.state import State
from gaugewright.engine.steering import ignites, starter_on, steer, take_over
from gaugewright.engine.system import SETTLING_S, WIDE_OPEN_M2
from gaugewright.physics.numbers import Floats

STANDING_STEP_S = 0.04
"""How long a step is while nothing turns."""
STALLS_RPM = 60.0
OIL_EVERY = 8
"""Firings from one look at the oil to the next."""
STANDING_S = 600.0
"""How slowly foam leaves oil that stands."""
COOLANT_UNDER_OIL_K = 12.0
"""How far the coolant is below held oil.  Source: common practice, 10 to 15 K."""
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
class History:
    """Every step's beginning, (k,) each by its name in `RECORDED`, and how each crank turned."""

    columns: dict[str, Floats]
    cranked: dict[int, Cranked]
    end: State

    def __getitem__(self, name: str) -> Floats:
        return self.columns[name]


def lived(fixed: Known, start: State) -> History:
    """The engine through its plan, step by step."""
    now = start
    rows: list[tuple[float, ...]] = []
    by_starter: dict[int, Cranked] = {}
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
    if fixed.build.throttled and now.speed_rpm > STALLS_RPM and not now.coming:
        _look_at_oil(fixed, now, going)
        work = -left_nm(fixed, now, going, 0.0) * fixed.firing_rad
        now.coming.extend([work] * delay(fixed.build))


def _going(fixed: Known, now: State, index: int) -> Going:
    step = fixed.plan.steps[index]
    if step.move in ("start", "cranking"):
        now.catching, now.turns_cranked, now.since_start_s = True, 0.0, 0.0
    elif index and step.move == "held":
        take_over(fixed, now, index)
    return Going(index, step, thickness(fixed.engine, now.oil_degc))


def _look_at_oil(fixed: Known, now: State, going: Going) -> None:
    """The oil's thickness and its pump's torque, every few steps."""
    if going.age % OIL_EVERY == 0:
        course = fixed.plan.oil_course()
        if not fixed.plan.warms:
            now.oil_degc = float(np.interp(now.time_s, *course))
            given = fixed.plan.coolant_degc
            now.coolant_degc = now.oil_degc - COOLANT_UNDER_OIL_K if given is None else given
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
    starting = starter_on(now, going.step)
    if not (starting or now.speed_rpm > STALLS_RPM):
        return (*before, *_stood(fixed, now, going)), None
    steer(fixed, now, going, fixed.firing_rad / max(now.speed_rads, LEAST_RADS))
    work = fired(fixed, now, going.step)
    left, charge = left_nm(fixed, now, going, work), now.manifold_pa
    flags = (float(now.actuator.cut), float(ignites(now, going.step)), float(starting))
    before_rpm = now.speed_rpm
    if starting:
        crank = _by_starter(fixed, now, left, work)
        seconds = crank.seconds
    else:
        crank, seconds = None, _turned(fixed, now, left)
    air = _filled(fixed, now, going, before_rpm, seconds)
    drawn(fixed, now, going, air.flows, seconds)
    row = (*before, *_flow_row(air.flows), work, charge, left, now.over, *flags)
    _after(fixed, now, air, seconds)
    _warm(fixed, now, work, seconds)
    return (*row, float(going.index)), crank


def _by_starter(fixed: Known, now: State, left: float, work: float) -> Cranked:
    """Turn by one firing under the starter."""
    crank = cranked(
        fixed.works,
        now.speed_rads,
        left,
        work,
        fixed.firing_rad,
        fixed.inertia,
        charges(fixed, now),
        fixed.starter,
    )
    now.speed_rads = crank.speed_rads
    now.turns_cranked += fixed.firing_rad / (2.0 * math.pi)
    return crank


def _stood(fixed: Known, now: State, going: Going) -> tuple[float, ...]:
    """A short while of standing still; the rest of its row."""
    air = _filled(fixed, now, going, 0.0, STANDING_STEP_S)
    row = (*_flow_row(air.flows), 0.0, now.manifold_pa, 0.0, 1.0, 0.0, 0.0, 0.0)
    now.speed_rads, now.actuator.cut = 0.0, False
    now.coming.clear()
    trims.opened(now.trims)
    now.beaten_krpm *= math.exp(-STANDING_STEP_S / STANDING_S)
    now.manifold_pa, now.crankcase_pa = air.manifold_pa, air.crankcase_pa
    _cooled(fixed, now, STANDING_STEP_S)
    now.time_s += STANDING_STEP_S
    return (*row, float(going.index))


LEAST_RADS = 12.0
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


def _filled(fixed: Known, now: State, going: Going, speed_rpm: float, seconds: float) -> Filled:
    area = now.actuator.place if fixed.build.throttled else WIDE_OPEN_M2

    def flows_at(manifold_pa: Floats, crankcase_pa: Floats) -> AirFlows:
        return air_path.flows(
            fixed.build,
            fixed.engine,
            going.step.held,
            speed_rpm,
            area,
            manifold_pa,
            crankcase_pa,
            now.outside_share,
        )

    return filled(flows_at, fixed.rooms, now.manifold_pa, now.crankcase_pa, seconds)


def _turned(fixed: Known, now: State, left: float) -> float:
    """Turn by one firing; how long it took, s.  An engine that runs out of speed stands."""
    squared = now.speed_rads**2 + 2.0 * left * fixed.firing_rad / fixed.inertia
    after = math.sqrt(max(squared, 0.0))
    seconds = 2.0 * fixed.firing_rad / (now.speed_rads + after)
    now.speed_rads = after if after * (30.0 / math.pi) > STALLS_RPM else 0.0
    return seconds


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
    """Coolant and oil after a firing, where the plan lets them warm."""
    if fixed.plan.warms:
        _warmed(fixed, now, work / seconds / float(fixed.engine.air.burning), seconds)


def _cooled(fixed: Known, now: State, seconds: float) -> None:
    if fixed.plan.warms:
        _warmed(fixed, now, 0.0, seconds)


def _warmed(fixed: Known, now: State, fuel_w: float, seconds: float) -> None:
    warmth = warming.warmed(
        warming.Warmth(now.coolant_degc, now.oil_degc),
        seconds,
        fuel_w,
        now.speed_rpm,
        float(fixed.engine.air.displacement_m3),
        float(fixed.engine.air.intake_k) - 273.15,
    )
    now.coolant_degc, now.oil_degc = warmth.coolant_degc, warmth.oil_degc
