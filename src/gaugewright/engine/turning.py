"""How the crank turned: which angle it had at every instant, finer than one firing.

Angles are counted in cycles of 720 degrees since the run began; 0 is top dead centre of the
first cylinder of the firing order, at the end of its compression.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.physics.numbers import Floats

DEGREES = 720.0
"""Of crank in one cycle of a four-stroke."""


@dataclass(frozen=True)
class Turning:
    """Instants (m,) s and the angles (m,) of them in cycles, neither ever falling.

    `speed_rpm` (m,): the speed at that instant.  Between two instants all three run straight.
    """

    at_s: Floats
    cycles: Floats
    speed_rpm: Floats

    def angle(self, time_s: Floats) -> Floats:
        """The angle at these instants, in cycles."""
        return np.interp(time_s, self.at_s, self.cycles)

    def speed(self, time_s: Floats) -> Floats:
        """The speed within the cycle at these instants, rpm."""
        return np.interp(time_s, self.at_s, self.speed_rpm)

    def when(self, cycles: Floats) -> Floats:
        """The instants at which these angles, each inside the run, are passed, s."""
        moving = np.concatenate(([True], np.diff(self.cycles) > 0.0))
        return np.interp(cycles, self.cycles[moving], self.at_s[moving])

    def passed(self, offset: float, every: float = 1.0) -> Floats:
        """The angles offset, offset + every, ... that the run passes, in cycles."""
        first = np.ceil((self.cycles[0] - offset) / every)
        last = np.floor((self.cycles[-1] - offset) / every)
        inside = np.arange(first, last + 1.0) * every + offset
        return np.asarray(inside[inside > self.cycles[0]])
