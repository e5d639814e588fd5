"""One number from the package beside the same number found by other means."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Compared:
    """The package's number, the other one, and how far apart they may lie.

    `gate` is relative to the other number, or to `scale` where that is given (a number that may
    be zero).  `counts`: a number of engines, held to its gate but no difference of physics.
    """

    name: str
    ours: float
    other: float
    gate: float
    scale: float | None = None
    counts: bool = False

    @property
    def difference(self) -> float:
        """Ours less the other, relative."""
        return (self.ours - self.other) / abs(self.scale or self.other)

    @property
    def agrees(self) -> bool:
        """Within the gate; a number that is none does not agree."""
        return math.isfinite(self.difference) and abs(self.difference) <= self.gate


@dataclass(frozen=True)
class Topic:
    """A piece of physics: what of the package is checked, by which other means.

    `fast`: part of every check.  `pinned`: its numbers come again as stored; where figures of
    judgement go in, only the gates are held.
    """

    name: str
    ours: str
    other: str
    compare: Callable[[], list[Compared]]
    fast: bool = True
    pinned: bool = True


def each(prefix: str, names: list[str], ours: object, other: object, gate: float) -> list[Compared]:
    """Arrays of both, side by side."""
    pairs = zip(names, _floats(ours), _floats(other), strict=True)
    return [Compared(f"{prefix} {name}", mine, theirs, gate) for name, mine, theirs in pairs]


def _floats(values: object) -> list[float]:
    import numpy as np

    return [float(value) for value in np.ravel(np.asarray(values, dtype=float))]
