"""The engine at rest with itself: every condition of n variants solved at once.

The equations stand in `system`, the ways to their roots in `nearby` and `settling`.  All conditions
of a variant go through together, whatever was done in each, and variants in blocks, a block to a
thread.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from gaugewright.engine import oil_circuit, torque
from gaugewright.engine.build import Build
from gaugewright.engine.held import WITHOUT_EFFECT, Held, Partly
from gaugewright.engine.nearby import Near, settled, settled_near
from gaugewright.engine.parameters import Engine
from gaugewright.engine.settling import ACCEPTED, Point
from gaugewright.engine.system import WIDE_OPEN_M2, System, settled_share
from gaugewright.engine.variants import common_length, side_by_side, taken
from gaugewright.physics.numbers import Floats, Numbers

Which = npt.NDArray[np.intp]

BLOCK = 16384
"""Variants and conditions solved together: enough that the time goes into arrays, few enough for a
block to a thread."""
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


def solve(build: Build, engine: Engine, holds: Sequence[Held], near: Which | None = None) -> Solved:
    """Where does each of these engines settle in each of these conditions?

    Parameters: `engine` with numbers or (n,) arrays; `holds`, one for each condition, whose own
    numbers may be (n,) too.  `near`: as `solve_each`.
    Returns arrays (conditions, n); n is 1 when nothing is an array.
    Raises ValueError for arrays of different lengths.

    Example: `solve(Build(), sound(Build()), [Held()]).speed_rpm` is [[800.]].
    """
    return solve_each(build, [(engine, held) for held in holds], near)


def solve_each(
    build: Build, pairs: Sequence[tuple[Engine, Held]], near: Which | None = None
) -> Solved:
    """The same where the engines of each condition have numbers of their own.

    Parameters: `pairs` of engines and condition, all of n variants.  `near` (n,): which of the
    variants each differs little from, itself for one that is to be solved by itself; None: all
    are.
    Returns arrays (conditions, n).
    Raises ValueError for arrays of different lengths.
    """
    whole = _Asked(build, pairs, common_length([*pairs]), near)
    blocks = whole.blocks()
    if len(blocks) == 1:
        return whole.solved(blocks[0])
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return _side_by_side(list(pool.map(whole.solved, blocks)))


@dataclass(frozen=True)
class _Asked:
    """What was asked for: `count` variants in every condition, each near to itself or another."""

    build: Build
    pairs: Sequence[tuple[Engine, Held]]
    count: int
    near: Which | None

    def blocks(self) -> list[Which]:
        """The variants in parts of much the same size."""
        parts = -(-self.count * len(self.pairs) // BLOCK)
        return np.array_split(np.arange(self.count), max(parts, 1))

    def solved(self, rows: Which) -> Solved:
        """Some of the variants in every condition."""
        count = len(self.pairs)
        system = self.system(rows)
        if self.near is None:
            point = settled(system, count * rows.size)
        else:
            middles, of = np.unique(self.near[rows], return_inverse=True)
            theirs = self.system(middles)
            places = np.concatenate([of + k * middles.size for k in range(count)])
            start = Near(theirs, settled(theirs, count * middles.size), places)
            point = settled_near(system, start)
        return _in_rows(_told(system, point), count)

    def system(self, rows: Which) -> System:
        """The equations of some variants, one condition after the other."""
        pairs = self.pairs
        if rows.size < self.count:
            engines = {id(e): taken(e, rows, self.count) for e, _ in pairs}
            pairs = [(engines[id(e)], taken(held, rows, self.count)) for e, held in pairs]
        engine = side_by_side([engine for engine, _ in pairs], rows.size)
        held = conditions_as_one([held for _, held in pairs], rows.size)
        thick = oil_circuit.thickness(engine, held.oil_degc)
        return System(self.build, engine, held, thick, settled_share(held.for_s))


def conditions_as_one(holds: Sequence[Held], count: int) -> Held:
    """Conditions of `count` variants each as one of them all, one behind the other."""
    if len(holds) == 1:
        return holds[0]
    common = frozenset.intersection(*(held.did for held in holds))
    some = frozenset.union(*(held.did for held in holds)) - common - WITHOUT_EFFECT
    speeds = [np.nan if held.speed_rpm is None else held.speed_rpm for held in holds]
    return Held(
        did=common,
        speed_rpm=None if all(v is np.nan for v in speeds) else side_by_side(speeds, count),
        oil_degc=side_by_side([held.oil_degc for held in holds], count),
        load_nm=side_by_side([held.load_nm for held in holds], count),
        for_s=side_by_side([held.for_s for held in holds], count),
        partly=tuple(
            Partly(name, np.repeat([name in held.did for held in holds], count))
            for name in sorted(some)
        ),
    )


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


def _in_rows(solved: Solved, conditions: int) -> Solved:
    """Each condition in a row of its own."""
    return Solved(**{name: one.reshape(conditions, -1) for name, one in vars(solved).items()})


def _side_by_side(found: list[Solved]) -> Solved:
    """Blocks of variants next to each other."""
    names = [one.name for one in fields(Solved)]
    return Solved(**{n: np.concatenate([getattr(b, n) for b in found], axis=1) for n in names})
