"""Readings as the weighing of causes takes them: in their conditions, with their covariance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

TRIM = "fuel-trim"
"""Short and long trim together: what the mixture needed."""
MARGIN = "margin of a sound engine"
"""What a maker's limit says of the sound engine: it lies above it by a usual factor."""
ZERO = "zero of the gauge"
"""What a gauge of oil pressure shows with the engine off."""
ALL = "everything mended"
"""The history of an engine that no cause has."""
COLD_BELOW_DEGC = 50.0
"""Below this the oil is called cold."""


@dataclass(frozen=True)
class Held:
    """One condition as the virtual engine is to be held.

    `speed_rpm`: read, None where unknown; `raised`: held by foot.  `oil_degc` with the standard
    uncertainty it shares with the others, None where nobody knows; `length_s`: how long the kept
    stretch is.  `gone`: lasting actions done before it.  `paced`: a cold engine idles as fast as
    its maker has it warm up, which tells nothing; it is held at the speed that was read.
    """

    visit: str
    condition: str
    did: frozenset[str]
    speed_rpm: float | None
    raised: bool
    oil_degc: float | None
    oil_u: float
    length_s: float
    gone: tuple[str, ...]
    paced: bool = False

    @property
    def at_speed(self) -> bool:
        """Is it held at the speed that was read, whatever its governor wants?"""
        return self.raised or self.paced


@dataclass(frozen=True)
class Seen:
    """One reading: house units (Pa, rpm, kg/s, per cent).

    `straight`: a gauge of oil pressure while the crankcase is shut: it moves by the crankcase's
    pressure, which may be as large as its own, so that it is not weighed by its logarithm.
    `beside`: a second instrument read beside the first, whose faults it does not share.
    `zeroed`: brought right by its own zero.
    """

    place: int
    quantity: str
    reference: str | None
    value: float
    own: float
    gradient: Floats
    labels: tuple[str, ...]
    scale: float = 1.0
    straight: bool = False
    beside: bool = False
    zeroed: bool = False


@dataclass(frozen=True)
class Observed:
    """Readings (m,) in their conditions, with covariance (m, m)."""

    holds: tuple[Held, ...]
    items: tuple[Seen, ...]
    covariance: Floats

    @property
    def values(self) -> Floats:
        """The readings as one vector (m,)."""
        return np.array([item.value for item in self.items])

    def without(self, index: int) -> Observed:
        """All but one reading."""
        kept = [i for i in range(len(self.items)) if i != index]
        return replace(
            self,
            items=tuple(self.items[i] for i in kept),
            covariance=self.covariance[np.ix_(kept, kept)],
        )
