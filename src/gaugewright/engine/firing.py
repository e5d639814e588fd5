"""One firing: the charge that is drawn in, the work it does later, the torque left over."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugewright.engine import torque, trims
from gaugewright.engine.air_path import AirFlows
from gaugewright.engine.build import Build
from gaugewright.engine.known import Going, Known
from gaugewright.engine.plan import Step
from gaugewright.engine.state import State
from gaugewright.engine.steering import ignites
from gaugewright.physics.numbers import Floats

OPEN_LOOP_S, CLOSED_FROM_DEGC = 6.0, 35.0
"""The mixture's loop stays open so long after a start, and below this coolant temperature."""
MISFIRED_OF_LEAN = 0.5
"""How much of the work lost to a lean mixture is lost as whole misfires (judgement)."""


def single(air: AirFlows) -> AirFlows:
    """The flows at the state itself, as plain numbers."""
    return replace(air, **{name: value.flat[0] for name, value in vars(air).items()})


def fired(fixed: Known, now: State, step: Step) -> float:
    """The work in J of the cylinder that fires now: what its charge brings, and its luck."""
    if not fixed.build.throttled:
        coming = _diesel_heat(fixed, now)
    else:
        coming = now.coming.popleft() if len(now.coming) >= delay(fixed.build) else 0.0
    ignited = ignites(now, step) and not now.actuator.cut
    return coming * _luck(fixed, now) if ignited else 0.0


def _diesel_heat(fixed: Known, now: State) -> float:
    """Work of the fuel that a diesel's governor gives to one firing."""
    most = torque.DIESEL_MOST * float(fixed.engine.air.displacement_m3) * now.speed_rpm * 1e-3
    second = now.actuator.place * most * torque.HEATING_J_KG
    burning = float(torque.burning(fixed.engine, 1.0))
    return second * burning * fixed.firing_rad / max(now.speed_rads, 1.0)


def drawn(fixed: Known, now: State, going: Going, flows: AirFlows, seconds: float) -> None:
    """The mixture's loop and the charge of the cylinder that draws now."""
    air, engine, build = single(flows), fixed.engine, fixed.build
    now.unmetered = float(air.unmetered) / max(float(air.cylinders), 1e-6)
    if not build.throttled:
        return
    held = replace(going.step.held, oil_degc=now.oil_degc)
    vapour = torque.fuel_vapour(engine, held, air.vent)
    needed = float(torque.needed_trim(build, engine, air, vapour))
    ignited = ignites(now, going.step)
    _trim(fixed, now, going, needed, seconds, ignited)
    given = 0.0 if build.metering == "none" else now.trims.given
    # With no trim to read the steady engine takes its mixture as it comes.
    now.over = float(torque.mixture(needed, given))
    fuel = float(torque.burning_air(air)) / (torque.AIR_OVER_FUEL * max(now.over, 1.0))
    work = fuel * torque.HEATING_J_KG * float(torque.burning(engine, now.over)) * seconds
    now.coming.append(work if ignited and not now.actuator.cut else 0.0)


def delay(build: Build) -> int:
    """Firings from the middle of a cylinder's intake to its work."""
    return max(1, round(0.375 * build.cylinders))


def _luck(fixed: Known, now: State) -> float:
    """Which part of its mean work this firing does: misfires, and scatter from cycle to cycle."""
    air = fixed.engine.air
    misfires = float(air.misfire_share)
    lean = torque.LEAN_LOSS * max(now.over - torque.LEAN_FROM, 0.0)
    spared = MISFIRED_OF_LEAN * min(lean, 1.0)
    chance = 1.0 - (1.0 - misfires) * (1.0 - lean) / max(1.0 - lean + spared, 1e-9)
    chance = min(max(chance, 0.0), 1.0)
    scatter = float(torque.restlessness(fixed.engine, now.over, now.unmetered))
    drawn, spread = fixed.random.random(), fixed.random.standard_normal()
    own = fixed.uneven.work_of(now.turned)
    if drawn < chance or chance >= 1.0:
        return 0.0
    return own * max(1.0 + scatter * spread, 0.0) / (1.0 - chance)


def charges(fixed: Known, now: State) -> Floats:
    """What is squeezed in the cylinders around this firing, as `FiringWork` has them."""
    order = (now.turned + fixed.works.ahead).tolist()
    return now.manifold_pa * np.array([fixed.uneven.compression_of(each) for each in order])


def _trim(
    fixed: Known, now: State, going: Going, needed: float, seconds: float, ignited: bool
) -> None:
    now.trims.cell = "idle" if going.step.held.speed_rpm is None else "held"
    closed = (
        ignited
        and not now.actuator.cut
        and now.since_start_s > OPEN_LOOP_S
        and now.coolant_degc > CLOSED_FROM_DEGC
        and going.step.move == "held"
    )
    if closed:
        trims.moved(now.trims, needed, float(fixed.engine.air.trim_reach), seconds)
    else:
        trims.opened(now.trims)


def left_nm(fixed: Known, now: State, going: Going, work: float) -> float:
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
