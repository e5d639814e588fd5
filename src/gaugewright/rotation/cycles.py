"""From a rhythm to the edges of cycles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaugewright.job.model import Vehicle
from gaugewright.quantities.said import said
from gaugewright.recording.types import Note
from gaugewright.rotation.types import Rotation

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

FASTEST_RPM = 20_000.0


def cycle_degrees(vehicle: Vehicle) -> float:
    """Degrees of crank in one cycle: 720, of a two-stroke 360."""
    return 360.0 if vehicle.cycle == "two-stroke" else 720.0


def cycle_edges(time_s: Floats, unbroken: Bools, per_cycle: float) -> tuple[Floats, Bools]:
    """The edges of cycles of so many beats, and which of the cycles are whole.

    Parameters: `time_s` (m,) of the beats; `unbroken` (m-1,) True where an interval is in
    rhythm; `per_cycle` beats in a cycle, not necessarily whole.
    Returns: edges (n+1,) and good (n,): each unbroken run is cut into cycles from its first
    beat on; what lies between two runs is one cycle that is not good.
    """
    runs = [
        _run_edges(time_s[first : last + 1], per_cycle) for first, last in unbroken_runs(unbroken)
    ]
    return joined([run for run in runs if len(run) > 1])


def joined(runs: Sequence[Floats]) -> tuple[Floats, Bools]:
    """The edges of several runs of cycles in one array; what lies between two is not good."""
    if not runs:
        return np.zeros(0), np.zeros(0, dtype=bool)
    edges, good = runs[0], [np.ones(len(runs[0]) - 1, dtype=bool)]
    parts = [edges]
    for before, run in pairwise(runs):
        touching = run[0] <= before[-1]
        parts.append(run[1:] if touching else run)
        good.extend([] if touching else [np.zeros(1, dtype=bool)])
        good.append(np.ones(len(run) - 1, dtype=bool))
    return np.concatenate(parts), np.concatenate(good)


def unbroken_runs(unbroken: Bools) -> list[tuple[int, int]]:
    """(first, last) beats of each run of unbroken intervals."""
    steps = np.diff(np.concatenate(([False], unbroken, [False])).astype(np.int8))
    starts, ends = np.flatnonzero(steps == 1), np.flatnonzero(steps == -1)
    return list(zip(starts.tolist(), ends.tolist(), strict=True))


def _run_edges(time_s: Floats, per_cycle: float) -> Floats:
    cycles = int((len(time_s) - 1) / per_cycle + 1e-9)
    wanted = np.arange(cycles + 1) * per_cycle
    return np.asarray(np.interp(wanted, np.arange(len(time_s)), time_s))


def refused_speed(rotation: Rotation) -> Note | None:
    """A note where the speed found is above any engine's, else None."""
    speed = rotation.speed_rpm[rotation.good]
    if not len(speed) or float(np.median(speed)) <= FASTEST_RPM:
        return None
    text = said(
        "{signal} gives {speed:.0f} rpm, above any engine's speed; its pulses_per_cycle, teeth or "
        "unit may be wrong",
        signal=rotation.label,
        speed=float(np.median(speed)),
    )
    return Note("speed-impossible", text)


def without_slow(rotation: Rotation, least_rpm: float) -> Rotation:
    """The rotation with the cycles below this speed no longer good."""
    speed = rotation.degrees / 6.0 / np.diff(rotation.edges_s)
    return replace(rotation, good=rotation.good & (speed >= least_rpm))
