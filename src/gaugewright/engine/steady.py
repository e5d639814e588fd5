"""The engine at rest with itself: every condition of n variants solved at once.

The equations stand in `system`, the way to their roots in `settling`.  Variants go through in
blocks that fit the processor's cache, a block to a thread.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from gaugewright.engine import oil_circuit, torque
from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.nearby import Near, settled, settled_near
from gaugewright.engine.parameters import Engine
from gaugewright.engine.settling import ACCEPTED, Point
from gaugewright.engine.system import WIDE_OPEN_M2, System, settled_share
from gaugewright.engine.variants import common_length, taken
from gaugewright.physics.numbers import Floats, Numbers

Which = npt.NDArray[np.intp]

BLOCK = 8192
"""Variants solved together: few enough for their arrays to stay in the processor's cache."""
LEAST_RPM = 350.0
"""Below this it does not run by itself (judgement)."""


@dataclass(frozen=True)
class Solved:
    """The steady engine: every field (conditions, n).

    Pressures in Pa: `manifold_pa` and `crankcase_pa` absolute, `gallery_pa` over the crankcase,
    `gauge_pa` and `crankcase_over_pa` over the outside air, `outlet_pa` of the pump over the
    crankcase.  `over`: air over what the fuel needs (lambda).  `trim` is a share, NaN where the
    build has none to read.  `air_share`: free air in the oil the pump gets.  `restless`:
    scatter of a cylinder's work.  `lamp`: share of the time the oil lamp is lit.  `running` is
    False where the engine would stall, `converged` where no rest was found; numbers there are
    NaN.
    """

    speed_rpm: Floats
    throttle_m2: Floats
    manifold_pa: Floats
    crankcase_pa: Floats
    crankcase_over_pa: Floats
    gallery_pa: Floats
    gauge_pa: Floats
    outlet_pa: Floats
    trim: Floats
    over: Floats
    metered_kg_s: Floats
    unmetered_kg_s: Floats
    blow_by_kg_s: Floats
    vent_kg_s: Floats
    air_share: Floats
    restless: Floats
    lamp: Floats
    running: npt.NDArray[np.bool_]
    converged: npt.NDArray[np.bool_]
    residual: Floats


def solve(
    build: Build, engine: Engine, holds: Sequence[Held], near: Which | None = None
) -> Solved:
    """Where does each of these engines settle in each of these conditions?

    Parameters: `engine` with numbers or (n,) arrays; `holds`, one for each condition, whose own
    numbers may be (n,) too.  `near` (n,): which of the variants each differs little from, itself
    for one that is to be solved by itself; None for all by themselves.
    Returns arrays (conditions, n); n is 1 when nothing is an array.
    Raises ValueError for arrays of different lengths.

    Example: `solve(Build(), sound(Build()), [Held()]).speed_rpm` is [[800.]].
    """
    count = common_length([engine, *holds])
    whole = _Asked(build, engine, count, near)
    tasks = [(alike, rows) for alike in _alike(holds, count) for rows in _blocks(count)]

    def one(task: tuple[list[int], Which]) -> Solved:
        alike, rows = task
        return whole.solved([holds[k] for k in alike], rows)

    if len(tasks) == 1:
        found = [one(tasks[0])]
    else:
        with ThreadPoolExecutor(os.cpu_count()) as pool:
            found = list(pool.map(one, tasks))
    return _put_together(found, tasks, len(holds))


def _blocks(count: int) -> list[Which]:
    return [np.arange(low, min(low + BLOCK, count)) for low in range(0, max(count, 1), BLOCK)]


def _alike(holds: Sequence[Held], count: int) -> list[list[int]]:
    """The conditions that differ by numbers only, as many together as make a block."""
    kinds: dict[tuple[frozenset[str], bool], list[int]] = {}
    for k, held in enumerate(holds):
        kinds.setdefault((held.did, held.speed_rpm is None), []).append(k)
    most = max(BLOCK // max(count, 1), 1)
    return [
        places[low : low + most]
        for places in kinds.values()
        for low in range(0, len(places), most)
    ]


@dataclass(frozen=True)
class _Asked:
    """What was asked for: `count` variants, each near to itself or to another."""

    build: Build
    engine: Engine
    count: int
    near: Which | None

    def solved(self, holds: list[Held], rows: Which) -> Solved:
        """Some variants in conditions of one kind, one condition after the other."""
        system, size = self.system(holds, rows), len(holds) * rows.size
        if self.near is None:
            return _told(system, settled(system, size))
        middles, of = np.unique(self.near[rows], return_inverse=True)
        theirs = self.system(holds, middles)
        point = settled(theirs, len(holds) * middles.size)
        places = np.concatenate([of + k * middles.size for k in range(len(holds))])
        return _told(system, settled_near(system, Near(theirs, point, places)))

    def system(self, holds: list[Held], rows: Which) -> System:
        """The equations of some variants in conditions of one kind."""
        engine = taken(self.engine, np.tile(rows, len(holds)), self.count)
        held = _joined([taken(held, rows, self.count) for held in holds], rows.size)
        thick = oil_circuit.thickness(engine, held.oil_degc)
        return System(self.build, engine, held, thick, settled_share(held.for_s))


def _joined(holds: list[Held], count: int) -> Held:
    """Conditions of one kind, (count,) each, as one."""
    if len(holds) == 1:
        return holds[0]

    def row(name: str) -> Floats:
        parts = [np.asarray(getattr(held, name), dtype=np.float64) for held in holds]
        return np.concatenate([np.broadcast_to(part, count) for part in parts])

    first = holds[0]
    speed = None if first.speed_rpm is None else row("speed_rpm")
    return Held(first.did, speed, row("oil_degc"), row("load_nm"), row("for_s"))


def _told(system: System, point: Point) -> Solved:
    """Everything worth telling of a settled point."""
    values = {**_air_told(system, point), **_oil_told(system, point)}
    good = (point.left < ACCEPTED) | point.stalled
    turning = (point.speed_rpm > LEAST_RPM) & (point.place >= 0.0)
    running = (point.left < ACCEPTED) & turning & ~point.stalled
    shown = {name: np.where(running, value, np.nan) for name, value in values.items()}
    return Solved(**shown, running=running, converged=good, residual=point.left)


def _air_told(system: System, point: Point) -> dict[str, Numbers]:
    build, engine, held = system.build, system.engine, system.held
    speed, manifold, crankcase = point.speed_rpm, point.manifold_pa, point.crankcase_pa
    if build.throttled:
        side = system.air(speed, manifold, crankcase)
        flows, over = side.flows, side.over
    else:
        flows, over = system.diesel_air(speed, manifold, crankcase), np.full_like(speed, np.nan)
    needed = torque.needed_trim(build, engine, flows, torque.fuel_vapour(engine, held, flows.vent))
    trim = torque.trim_within(build, engine, needed)
    share = flows.unmetered / np.maximum(flows.cylinders, 1e-6)
    return {
        "speed_rpm": speed,
        "throttle_m2": point.place if build.throttled else WIDE_OPEN_M2 + 0.0 * speed,
        "manifold_pa": manifold,
        "crankcase_pa": crankcase,
        "crankcase_over_pa": crankcase - engine.air.barometer_pa,
        "trim": trim if build.metering != "none" else np.nan * speed,
        "over": over,
        "metered_kg_s": flows.metered,
        "unmetered_kg_s": flows.unmetered,
        "blow_by_kg_s": flows.blow_by,
        "vent_kg_s": flows.vent,
        "restless": torque.restlessness(engine, np.nan_to_num(over, nan=1.0), share),
    }


def _oil_told(system: System, point: Point) -> dict[str, Numbers]:
    oil = system.oil(point.speed_rpm, point.crankcase_pa, point.gallery_pa)
    gauge = point.gallery_pa + point.crankcase_pa - system.engine.air.barometer_pa
    return {
        "gallery_pa": point.gallery_pa,
        "gauge_pa": gauge,
        "outlet_pa": oil.outlet_pa,
        "air_share": oil.air_share,
        "lamp": lamp(system.engine, gauge),
    }


LAMP_SOFT_PA = 3000.0
"""Over how much pressure the lamp goes from always lit to never: ripple and a switch's own
play (judgement)."""


def lamp(engine: Engine, gauge_pa: Numbers) -> Floats:
    """The share of the time the oil lamp is lit."""
    below = np.subtract(engine.indication.switch_pa, gauge_pa) / LAMP_SOFT_PA
    lit = 1.0 / (1.0 + np.exp(np.clip(-below, -50.0, 50.0)))
    forced = engine.indication.lamp_forced
    return np.asarray(forced + (1.0 - np.asarray(forced)) * lit)


def _put_together(
    found: list[Solved], tasks: list[tuple[list[int], Which]], conditions: int
) -> Solved:
    """Each task's conditions and variants in their places."""
    count = max((rows[-1] + 1 for _, rows in tasks if rows.size), default=0)
    whole: dict[str, npt.NDArray[Any]] = {}
    for one in fields(Solved):
        parts = [getattr(part, one.name) for part in found]
        filled = np.empty((conditions, count), dtype=parts[0].dtype)
        for part, (alike, rows) in zip(parts, tasks, strict=True):
            filled[np.ix_(alike, rows)] = part.reshape(len(alike), rows.size)
        whole[one.name] = filled
    return Solved(**whole)
