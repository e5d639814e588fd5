"""The best source of rotation that a recording has."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaugewright.job.model import SignalEntry, Vehicle
from gaugewright.recording.types import Column, Note, Recorded
from gaugewright.rotation.column import rotation_from_speed
from gaugewright.rotation.ignition import rotation_from_ignition
from gaugewright.rotation.types import Rotation
from gaugewright.rotation.wheels import rotation_from_wheel

Maker = Callable[[str, Column, SignalEntry, Vehicle], tuple[Rotation | None, tuple[Note, ...]]]

SOURCES: tuple[tuple[str, Maker], ...] = (
    ("crank", rotation_from_wheel),
    ("cam", rotation_from_wheel),
    ("ignition", rotation_from_ignition),
    ("engine-speed", rotation_from_speed),
)
"""The quantities rotation can come from, the best first."""


@dataclass(frozen=True)
class Found:
    """The rotation found, or None, and what was noticed on the way to it."""

    rotation: Rotation | None
    notes: tuple[Note, ...]


def find_rotation(recorded: Recorded, entries: Sequence[SignalEntry], vehicle: Vehicle) -> Found:
    """Which rotation does this recording show, and what was wrong with its sources?

    Parameters: the recording's signals as the job names them; crank wheel, cam wheel, ignition
    pulses and an engine-speed column are tried in this order, of several of one kind the one
    with the most good time is taken.
    Returns: `Found`; its notes hold why better sources gave nothing (`no-pulses`, `one-pulse`,
    `speed-impossible`, ...) and what was repaired in the one taken.
    """
    failed: list[Note] = []
    for quantity, maker in SOURCES:
        rotations = []
        for entry in entries:
            if entry.quantity != quantity or entry.column not in recorded.columns:
                continue
            label = f"{recorded.name}/{entry.column}"
            rotation, notes = maker(label, recorded.columns[entry.column], entry, vehicle)
            if rotation is None:
                failed.extend(notes)
            else:
                rotations.append(rotation)
        if rotations:
            best = max(rotations, key=good_time_s)
            best = replace(best, notes=(*failed, *best.notes))
            return Found(best, best.notes)
    return Found(None, tuple(failed))


def rotation_of(
    recorded: Recorded, entries: Sequence[SignalEntry], vehicle: Vehicle
) -> Rotation | None:
    """The best rotation of a recording, or None; `find_rotation` also says why."""
    return find_rotation(recorded, entries, vehicle).rotation


def good_time_s(rotation: Rotation) -> float:
    """How long the rotation is good for, in seconds."""
    return float(np.diff(rotation.edges_s)[rotation.good].sum())
