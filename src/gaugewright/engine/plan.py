"""What happens to the engine while it runs: steps, each held one way or moved."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal, get_args

import numpy as np

from gaugewright.engine.held import Held
from gaugewright.physics.numbers import Floats

Move = Literal["held", "snap", "cranking", "start", "engine-off"]
RUNS: frozenset[Move] = frozenset(("held", "snap"))
"""Moves that need an engine that runs already."""


@dataclass(frozen=True)
class Step:
    """From `from_s` to `to_s` the engine is held as `held` says, or:

    "snap": the throttle is thrown wide open for a moment and let go, again every 2.5 s;
    "cranking": the starter turns it without fuel; "start": the starter turns it until it runs,
    then the idle governor has it; "engine-off": no ignition, no fuel.
    """

    from_s: float
    to_s: float
    held: Held = field(default_factory=Held)
    move: Move = "held"


@dataclass(frozen=True)
class Plan:
    """The steps of a run, each beginning where the one before ends.

    `oil_degc`, `coolant_degc`: at the beginning; with `warms` they go on from there as the
    engine's own heat takes them.  Without it the oil is as warm as each step's `held` says,
    going over smoothly from one step's middle to the next, and the coolant 12 K below it.
    `drained`: how empty the galleries are before a start, 0 to 1.  `unrest`: how unsteady the
    foot is on the pedal, 1 for a usual one.
    """

    steps: tuple[Step, ...]
    oil_degc: float | None = None
    coolant_degc: float | None = None
    warms: bool = False
    drained: float = 0.3
    unrest: float = 1.0

    def __post_init__(self) -> None:
        if not self.steps:
            raise ValueError("found a plan without a step; give at least one")
        for step in self.steps:
            _check(step)
        for before, after in zip(self.steps, self.steps[1:], strict=False):
            if before.to_s != after.from_s:
                raise ValueError(
                    f"found a step that ends at {before.to_s} s and the next that begins at "
                    f"{after.from_s} s; let each begin where the one before ends"
                )

    @property
    def to_s(self) -> float:
        """When it ends."""
        return self.steps[-1].to_s

    def oil_course(self) -> tuple[Floats, Floats]:
        """Instants and oil temperatures of the steps' middles, degC."""
        middles = [0.5 * (step.from_s + step.to_s) for step in self.steps]
        return np.array(middles), np.array([float(step.held.oil_degc) for step in self.steps])


def _check(step: Step) -> None:
    if not step.to_s > step.from_s:
        raise ValueError(f"found a step from {step.from_s} to {step.to_s} s; end it later")
    if step.move not in get_args(Move):
        raise ValueError(f'found the move "{step.move}"; use one of {", ".join(get_args(Move))}')
    if step.held.speed_rpm is not None and np.ndim(step.held.speed_rpm):
        raise ValueError("found an array of speeds; a run is of one engine, held at one speed")


def planned(
    parts: Iterable[tuple[float, Held | Move]], from_s: float = 0.0, **more: float | bool
) -> Plan:
    """A plan from durations in seconds and what is done in each.

    Parameters: pairs of (seconds, `Held` or the name of a move); `more` as the fields of `Plan`.
    A move keeps the temperature of the last step held.

    Example: `planned([(3.0, "engine-off"), (8.0, "start"), (20.0, Held())]).to_s` is 31.0.
    """
    parts = list(parts)
    held = next((what for _, what in parts if isinstance(what, Held)), Held())
    oil_degc, steps = held.oil_degc, []
    for seconds, what in parts:
        if isinstance(what, Held):
            steps.append(Step(from_s, from_s + seconds, what))
            oil_degc = what.oil_degc
        else:
            steps.append(Step(from_s, from_s + seconds, Held(oil_degc=oil_degc), what))
        from_s += seconds
    return Plan(tuple(steps), **more)  # type: ignore[arg-type]
