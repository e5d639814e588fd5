"""A run laid out for drawing its lanes: what several of them need is worked out once, if asked."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaugewright.engine import cylinder_trace, gallery, oil_circuit
from gaugewright.engine.build import Build
from gaugewright.engine.crank_wheel import CAM, CRANK, ToothedWheel
from gaugewright.engine.cylinder_trace import Charges, Shapes
from gaugewright.engine.ignition import PickUp
from gaugewright.engine.known import Known
from gaugewright.engine.oil_circuit import OilFlows
from gaugewright.engine.parameters import Engine
from gaugewright.engine.plan import Plan
from gaugewright.engine.slow import History
from gaugewright.engine.turning import Turning
from gaugewright.physics.numbers import Floats

RPM = 30.0 / np.pi
LEAKS_S = 0.3
"""How fast a standing cylinder loses its pressure (judgement)."""


@dataclass(frozen=True)
class Fitted:
    """What is fitted to the engine to hear it turn."""

    pick_up: PickUp = field(default_factory=PickUp)
    crank: ToothedWheel = CRANK
    cam: ToothedWheel = CAM


@dataclass(frozen=True)
class Oil:
    """The oil circuit at every step (k,): gallery over the crankcase, Pa; free air; what is
    left over, m3/s."""

    gallery_pa: Floats
    air_share: Floats
    left_m3_s: Floats
    dry: float


class Scene:
    """One run's history on its samples (n,)."""

    def __init__(
        self,
        fixed: Known,
        history: History,
        shapes: Shapes,
        time_s: Floats,
        fitted: Fitted,
        seed: int,
        dry: float,
    ) -> None:
        self.fixed, self.history, self.shapes = fixed, history, shapes
        self.time_s, self.fitted, self.seed, self.dry = time_s, fitted, seed, dry

    @property
    def build(self) -> Build:
        """The engine's kind."""
        return self.fixed.build

    @property
    def engine(self) -> Engine:
        """The engine's numbers."""
        return self.fixed.engine

    @property
    def plan(self) -> Plan:
        """What happens to it."""
        return self.fixed.plan

    def random(self, lane: int) -> np.random.Generator:
        """The chance of one lane, the same whichever other lanes are asked for."""
        return np.random.default_rng([self.seed, 100 + lane])

    def slow(self, name: str) -> Floats:
        """A slow state at every sample, straight between the steps."""
        return np.interp(self.time_s, self.history["time_s"], self.history[name])

    def stepped(self, values: Floats) -> Floats:
        """A value of each step (k,) at every sample, kept through the step."""
        return np.asarray(values[self.step])

    @cached_property
    def step(self) -> npt.NDArray[np.int64]:
        """(n,) the step each sample is in."""
        found = np.searchsorted(self.history["time_s"], self.time_s, side="right") - 1
        return np.clip(found, 0, len(self.history["time_s"]) - 2)

    @cached_property
    def turning(self) -> Turning:
        """How the crank turned."""
        return turning(self.fixed, self.history)

    @cached_property
    def cycles(self) -> Floats:
        """(n,) angle at every sample."""
        return self.turning.angle(self.time_s)

    @cached_property
    def along(self) -> Floats:
        """(n,) how far each sample is through its firing interval, 0 to 1."""
        firings = self.cycles * self.build.cylinders
        return firings - np.floor(firings)

    @cached_property
    def interval_s(self) -> Floats:
        """(k,) how long each step takes; 0 where nothing turns."""
        seconds = np.diff(self.history["time_s"], append=self.history["time_s"][-1])
        turned = np.diff(self.history["turned"], append=self.history["turned"][-1])
        return np.where(turned > 0.0, seconds, 0.0)

    @cached_property
    def tight(self) -> Floats:
        """(n,) how much of a cylinder's pressure is still in it: 1 while it turns.

        A standing engine's leaks away past its rings; it is back after half a turn.
        """
        history = self.history
        moving = np.append(np.diff(history["turned"]) > 0.0, False)
        if moving[:-1].all():
            return np.ones(len(self.time_s))
        seconds = np.diff(history["time_s"], append=history["time_s"][-1])
        level, levels = float(moving[0] and history["speed_rads"][0] > 0.0), []
        for turns, step in zip(moving.tolist(), seconds.tolist(), strict=True):
            levels.append(level)
            if turns:
                level = min(level + 2.0 / self.build.cylinders, 1.0)
            else:
                level *= float(np.exp(-step / LEAKS_S))
        return np.asarray(np.interp(self.time_s, history["time_s"], np.array(levels)))

    @cached_property
    def oil(self) -> Oil:
        """The oil circuit."""
        return oil(self.fixed, self.history, self.dry)

    @cached_property
    def charges(self) -> Charges:
        """What every firing had in its cylinder."""
        return charges(self.fixed, self.history, self.shapes)


def turning(fixed: Known, history: History) -> Turning:
    """How the crank turned, point by point of every firing.

    Within a firing the kinetic energy has what the gas lends, and the firing's own work comes
    early; the time it takes as a whole is the slow state's.
    """
    works = fixed.works
    points = len(works.burnt) - 1
    along = np.linspace(0.0, 1.0, points + 1)
    begins, speed, counted = history["time_s"], history["speed_rads"], history["turned"]
    seconds = np.diff(begins)[:, None]
    energy = 0.5 * fixed.inertia * speed**2
    within = energy[:-1, None] + along * np.diff(energy)[:, None]
    within = within + history["work_j"][:-1, None] * (works.burnt - along)
    within = within + works.lent(_around(fixed, history))
    rads = np.sqrt(np.maximum(2.0 * within / fixed.inertia, 0.25))
    steps = 2.0 / (rads[:, 1:] + rads[:, :-1]) * (fixed.firing_rad / points)
    ratio = steps.sum(axis=1, keepdims=True) / np.maximum(seconds, 1e-12)
    turned = np.diff(counted) > 0.0
    at = np.concatenate([np.zeros_like(seconds), np.cumsum(steps, axis=1) / ratio], axis=1)
    at = np.where(turned[:, None], at, along * seconds)
    rads = np.where(turned[:, None], rads * ratio, 0.0)
    for row, crank in history.cranked.items():
        at[row], rads[row] = crank.at_s, crank.speeds_rads
    cycles = (counted[:-1, None] + along * np.diff(counted)[:, None]) / fixed.build.cylinders
    return Turning(
        np.append((begins[:-1, None] + at)[:, :-1].ravel(), begins[-1]),
        np.append(cycles[:, :-1].ravel(), counted[-1] / fixed.build.cylinders),
        np.append(rads[:, :-1].ravel(), rads[-1, -1]) * RPM,
    )


def _around(fixed: Known, history: History) -> Floats:
    """(k - 1, c) the charges of the cylinders around each firing, as `FiringWork` has them."""
    each = (history["charge_pa"] * _compressions(fixed, history))[:-1]
    place = np.arange(len(each))[:, None] + fixed.works.ahead
    return np.asarray(each[np.clip(place, 0, len(each) - 1)])


def _compressions(fixed: Known, history: History) -> Floats:
    """(k,) the compression's factor of the cylinder that fires in each step."""
    if not fixed.uneven.compression:
        return np.ones(len(history["turned"]))
    return np.array([fixed.uneven.compression_of(int(n)) for n in history["turned"]])


def charges(fixed: Known, history: History, shapes: Shapes) -> Charges:
    """What every firing had in its cylinder: the manifold's pressure while it drew, its work."""
    air = fixed.engine.air
    clearance = _clearance_m3(fixed)
    fired = np.diff(history["turned"], append=history["turned"][-1]) > 0.0
    first = int(history["turned"][0])
    manifold = history["charge_pa"][fired]
    early = max(1, round(0.375 * fixed.build.cylinders))
    drawn = (
        np.concatenate([np.full(early, manifold[0]), manifold])[: len(manifold)]
        if len(manifold)
        else np.ones(1) * float(air.barometer_pa)
    )
    burning = np.asarray(
        cylinder_trace.burning_pa(history["work_j"][fired], clearance, shapes), dtype=np.float64
    )
    exhaust = float(air.barometer_pa) + float(air.exhaust_over_pa)
    return Charges(
        first,
        drawn * (_compressions(fixed, history)[fired] if len(manifold) else 1.0),
        burning if len(burning) else np.zeros(1),
        exhaust,
    )


def _clearance_m3(fixed: Known) -> float:
    air = fixed.engine.air
    swept = float(air.displacement_m3) / fixed.build.cylinders
    return swept / (float(air.compression_ratio) - 1.0)


def oil(fixed: Known, history: History, dry: float) -> Oil:
    """The oil circuit at every step of a history, each plan step on its own."""
    count = len(history["time_s"])
    pressure, air, left, pumped = (np.zeros(count) for _ in range(4))
    for index in np.unique(history["step"]):
        at = np.flatnonzero(history["step"] == index)
        found, flows = _circuit(fixed, history, int(index), at)
        pressure[at], air[at] = found, flows.air_share
        left[at], pumped[at] = flows.balance, flows.pumped
    full_m3 = gallery.DRY_M3_PER_M3 * float(fixed.engine.air.displacement_m3)
    followed, dry = gallery.followed(history["time_s"], pressure, pumped, dry, full_m3)
    return Oil(followed, air, left, dry)


def _circuit(
    fixed: Known, history: History, index: int, at: npt.NDArray[np.int64]
) -> tuple[Floats, OilFlows]:
    """(gallery (k,), flows there) of these rows of one step of the plan."""
    degc = history["oil_degc"][at]
    held = replace(fixed.plan.steps[index].held, oil_degc=degc)
    thick = oil_circuit.thickness(fixed.engine, degc)
    speed, crankcase = history["speed_rads"][at] * RPM, history["crankcase_pa"][at]
    settled = history["settled"][at]

    def flows_at(gallery_pa: Floats) -> OilFlows:
        return oil_circuit.flows(
            fixed.build, fixed.engine, held, speed, crankcase, gallery_pa, thick, settled
        )

    found = gallery.pressures(flows_at, np.where(speed > 0.0, 150e3, 0.0))
    return found, flows_at(found)
