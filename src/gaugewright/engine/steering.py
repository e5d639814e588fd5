"""Who has the engine in each step of a plan: ignition, starter, governor, foot."""

from __future__ import annotations

from gaugewright.engine import governor
from gaugewright.engine.known import Going, Known
from gaugewright.engine.plan import Step
from gaugewright.engine.state import State

RUNS_BY_ITSELF_RPM = 430.0
"""From here on a starting engine is let go by its starter."""
FUEL_FROM_TURNS = 1.5
"""A starting engine gets fuel once it has turned so many times and knows its angle."""
GOVERNED_FROM = 0.4
"""Below this share of its idle speed no governor moves anything."""
LIFTED_OVER = 0.3
"""After a snap the throttle stays shut until the speed is back to within this share."""


def take_over(fixed: Known, now: State, index: int) -> None:
    """Who takes over the throttle: what governor or foot begin with."""
    before, after = fixed.plan.steps[index - 1].held, fixed.plan.steps[index].held
    if after.speed_rpm is not None:
        now.actuator.integral = 0.0
    elif before.speed_rpm is not None:
        now.actuator.integral = min(max(fixed.foot[index], fixed.stops.least), fixed.stops.most)
    now.actuator.cut = False


def starter_on(now: State, step: Step) -> bool:
    """Whether the starter turns it; a starting engine that runs by itself is let go."""
    if step.move == "cranking":
        return True
    if step.move != "start" or not now.catching:
        return False
    now.catching = now.speed_rpm < RUNS_BY_ITSELF_RPM
    return now.catching


def ignites(now: State, step: Step) -> bool:
    """Whether it has ignition and fuel."""
    if step.move in ("engine-off", "cranking"):
        return False
    return step.move != "start" or not now.catching or now.turns_cranked > FUEL_FROM_TURNS


def steer(fixed: Known, now: State, going: Going, seconds: float) -> None:
    """Governor, foot or snap move the throttle, or the fuel."""
    step, actuator = going.step, now.actuator
    aim = float(fixed.engine.air.idle_rpm)
    over = now.speed_rpm - aim
    if now.catching and step.move == "start" and not fixed.build.throttled:
        actuator.place = fixed.stops.most
    if step.move in ("cranking", "engine-off") or now.speed_rpm < GOVERNED_FROM * aim:
        actuator.cut = False
        return
    if step.move == "snap":
        down = governor.thrown(
            actuator, fixed.stops, now.time_s - step.from_s, now.speed_rpm, seconds
        )
        actuator.cut = False if down else actuator.cut
        if down or over > LIFTED_OVER * aim:
            _cut_or_not(actuator, down, over)
            return
    if step.held.speed_rpm is not None:
        off = 1.0 - now.speed_rpm / float(step.held.speed_rpm)
        push = float(fixed.random.standard_normal())
        governor.by_foot(
            actuator,
            fixed.foot[going.index],
            off,
            seconds,
            push,
            fixed.plan.unrest,
            fixed.stops.eager,
        )
        actuator.cut = False
        return
    governor.idle(
        actuator, fixed.stops, -over / aim, float(fixed.engine.air.governor_gain), seconds
    )
    governor.fuel_cut(actuator, over)


def _cut_or_not(actuator: governor.Actuator, down: bool, over: float) -> None:
    if not down:
        governor.fuel_cut(actuator, over)
