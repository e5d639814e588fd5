"""The closed loop of the mixture: a short trim within seconds, a long one within a minute."""

from __future__ import annotations

from dataclasses import dataclass, field

SHORT_S = 1.3
"""How fast the short trim follows what it misses (judgement)."""
SEEK_PER_S = 0.014
"""How fast it creeps on by the mere sign, which makes it swing as a switching sensor does."""
LONG_S = 45.0
"""How fast the long trim takes over what the short one holds (common practice: a minute)."""
DELAY_FIRINGS = 10
"""How many firings pass before the sensor in the exhaust has seen a change."""


@dataclass
class Trims:
    """`short` and the `long` one of each cell: "idle" and "held", each a share of fuel."""

    short: float = 0.0
    long: dict[str, float] = field(default_factory=lambda: {"idle": 0.0, "held": 0.0})
    cell: str = "idle"
    missing: list[float] = field(default_factory=list)

    @property
    def given(self) -> float:
        """Both together."""
        return self.short + self.long[self.cell]


def moved(now: Trims, needed: float, reach: float, seconds: float) -> None:
    """One step of the loop.

    Parameters: `needed` the share of fuel a right mixture takes; `reach` the most both
    together give, either way.
    """
    now.missing.append((1.0 + needed) / (1.0 + now.given) - 1.0)
    if len(now.missing) <= DELAY_FIRINGS:
        return
    seen = now.missing.pop(0)
    creep = SEEK_PER_S if seen > 0.0 else -SEEK_PER_S
    now.short += (seen / SHORT_S + creep) * seconds
    over = now.long[now.cell] + now.short * seconds / LONG_S
    now.long[now.cell] = min(max(over, -reach), reach)
    now.short = min(max(now.short, -reach - over), reach - over)


def opened(now: Trims) -> None:
    """The loop is open: no short trim, and nothing seen."""
    now.short = 0.0
    now.missing.clear()
