"""What sets one cylinder apart from the others."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Uneven:
    """Factors by cylinder number, `compression` of its pressure and `work` of what it gives, and
    `rings` of its blow-by; empty: all alike.  `firing_order` as the build's.
    """

    firing_order: tuple[int, ...]
    compression: tuple[float, ...] = ()
    work: tuple[float, ...] = ()
    rings: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        for name in ("compression", "work", "rings"):
            given = getattr(self, name)
            if given and len(given) != len(self.firing_order):
                raise ValueError(
                    f"found {len(given)} factors of {name} for {len(self.firing_order)} "
                    f"cylinders; give one for each"
                )

    def _of(self, factors: tuple[float, ...], firing: int) -> float:
        if not factors:
            return 1.0
        return factors[self.firing_order[firing % len(self.firing_order)] - 1]

    def compression_of(self, firing: int) -> float:
        """The factor of the pressure in the cylinder that fires as this one in the run."""
        return self._of(self.compression, firing)

    def work_of(self, firing: int) -> float:
        """The factor of its work."""
        return self._of(self.work, firing)

    def rings_of(self, firing: int) -> float:
        """The factor of its blow-by."""
        return self._of(self.rings, firing)
