"""The engine's rotation as a recording shows it: the edges of its cycles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.recording.types import Note

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Rotation:
    """Cycles of 720 degrees (360 for two-strokes) on the file's own clock.

    `edges_s` (n+1,) the instants at which cycles begin and end; `good` (n,) False where no
    cycle can be trusted (engine off, a gap, pulses that no rhythm explains).  `source` is
    "ignition", "crank", "cam", "engine-speed" or "ripple"; `refresh_s` the interval of a
    sampled speed column, else 0; such a column may also be late.
    """

    source: str
    label: str
    edges_s: Floats
    good: Bools
    degrees: float
    refresh_s: float
    notes: tuple[Note, ...] = ()

    @property
    def speed_rpm(self) -> Floats:
        """(n,) mean speed of each cycle, rpm; NaN where the cycle is not good."""
        speed = self.degrees / 6.0 / np.diff(self.edges_s)
        return np.where(self.good, speed, np.nan)
