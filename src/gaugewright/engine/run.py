"""One engine running through a plan, recorded by perfect instruments.

`run` is the way in: slow states once for each firing (`slow`), then every asked lane as shapes
over the crank's angle (`lanes`).  Instruments with their errors are another matter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import deepcopy
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from gaugewright.engine import cylinder_trace, resting, slow
from gaugewright.engine.build import Build
from gaugewright.engine.known import Known, known, stops
from gaugewright.engine.lanes import Maker, makers
from gaugewright.engine.parameters import Engine
from gaugewright.engine.plan import Plan
from gaugewright.engine.scene import Fitted, Scene
from gaugewright.engine.state import State
from gaugewright.engine.uneven import Uneven
from gaugewright.physics.numbers import Floats

POINTS = 24
"""In one firing interval, for the speed within the cycle."""

T = TypeVar("T")


@dataclass(frozen=True)
class Run:
    """What happened, on one clock.

    `time_s` (n,); `lanes`: by name, each (n,), SI, true values.  `cycle_starts_s` (c,): when
    the crank passed angle 0; `firings_s` (f,): when each cylinder in turn passed its top dead
    centre, and `firing_cylinders` (f,) which one it was; the instant of the run's own beginning
    is left out of both.  `slow`: the states of every step, see
    `slow.RECORDED`, and "gallery_pa", "air_share".  `end`: where the next run may start.
    """

    time_s: Floats
    lanes: Mapping[str, Floats]
    cycle_starts_s: Floats
    firings_s: Floats
    firing_cylinders: npt.NDArray[np.int64]
    slow: Mapping[str, Floats]
    end: State


def run(
    build: Build,
    engine: Engine,
    plan: Plan,
    rate_hz: float,
    seed: int,
    start: State | None = None,
    lanes: Iterable[str] | None = None,
    fitted: Fitted | None = None,
    uneven: Uneven | None = None,
) -> Run:
    """How does this engine live through this plan, and what would perfect instruments show?

    Parameters: `engine` one engine, no array of variants; `rate_hz` samples a second; `seed` of
    all chance; `start` the end of an earlier run, else the engine stands still, or has settled
    in the first step where that needs a running engine; `lanes` the names wanted (None: all
    this engine has); `fitted` pick-up and wheels; `uneven` what sets single cylinders apart.
    Returns `Run`; the same seed gives the same run, whichever lanes are asked for.
    Raises ValueError for arrays, for a lane the engine doesn't have, and for an engine that
    doesn't run as the first step needs it.

    Example: `run(b, sound(b), planned([(5.0, Held())]), 1e3, 1).lanes["manifold_pa"]`, with
    `b = Build()`, has 5000 samples.
    """
    engine = _of_one(engine)
    every = makers(build.firing_order, build.ignition != "compression")
    chosen = _chosen(every, lanes)
    shapes = cylinder_trace.shapes(float(engine.air.compression_ratio))
    rests = resting.rests(build, engine, plan)
    fixed = _known(build, engine, plan, shapes, rests, seed, uneven)
    state = deepcopy(start) if start else resting.begin(build, engine, plan, rests, fixed.stops)
    state.time_s = plan.steps[0].from_s
    dry = state.dry
    history = slow.lived(fixed, state)
    samples = round((plan.to_s - plan.steps[0].from_s) * rate_hz)
    time_s = plan.steps[0].from_s + np.arange(samples) / rate_hz
    scene = Scene(fixed, history, shapes, time_s, fitted or Fitted(), seed, dry)
    return _told(scene, {name: maker(scene) for name, maker in chosen.items()})


def _known(
    build: Build,
    engine: Engine,
    plan: Plan,
    shapes: cylinder_trace.Shapes,
    rests: tuple[resting.Rest, ...],
    seed: int,
    uneven: Uneven | None,
) -> Known:
    air = engine.air
    swept = float(air.displacement_m3) / build.cylinders
    clearance = swept / (float(air.compression_ratio) - 1.0)
    works = cylinder_trace.firing_work(shapes, build.cylinders, clearance, POINTS)
    foot = resting.places(rests, stops(build, engine))
    apart = uneven or Uneven(build.firing_order)
    return known(build, engine, plan, apart, works, foot, seed)


def _chosen(every: dict[str, Maker], names: Iterable[str] | None) -> dict[str, Maker]:
    if names is None:
        return every
    wanted = tuple(names)
    for name in wanted:
        if name not in every:
            raise ValueError(
                f'found the lane "{name}", which this engine doesn\'t have; use of '
                f"{', '.join(every)}"
            )
    return {name: every[name] for name in wanted}


def _of_one(thing: T) -> T:
    """The same with every number a plain float.  Raises ValueError for several variants."""
    if is_dataclass(thing) and not isinstance(thing, type):
        parts = {one.name: _of_one(getattr(thing, one.name)) for one in fields(thing)}
        return replace(thing, **parts)
    if np.size(thing) != 1:  # type: ignore[arg-type]
        raise ValueError(
            f"found {np.size(thing)} variants of an engine; a run is of one"  # type: ignore[arg-type]
        )
    return float(np.asarray(thing).flat[0])  # type: ignore[return-value]


def _told(scene: Scene, made: dict[str, Floats]) -> Run:
    history, turning = scene.history, scene.turning
    states = {
        **history.columns,
        "gallery_pa": scene.oil.gallery_pa,
        "air_share": scene.oil.air_share,
    }
    history.end.dry = scene.oil.dry
    cylinders = scene.build.cylinders
    firings = turning.passed(0.0, 1.0 / cylinders)
    places = np.round(firings * cylinders).astype(np.int64) % cylinders
    return Run(
        time_s=scene.time_s,
        lanes=made,
        cycle_starts_s=turning.when(turning.passed(0.0)),
        firings_s=turning.when(firings),
        firing_cylinders=np.array(scene.build.firing_order)[places],
        slow=states,
        end=history.end,
    )
