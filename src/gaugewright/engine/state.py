"""Where the engine stands between two steps of a run."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field

from gaugewright.engine.governor import Actuator
from gaugewright.engine.trims import Trims


@dataclass
class State:
    """Pressures absolute but `gallery_pa` (over the crankcase); `turned` firings since the first
    run began; `beaten_krpm`: the speed, in 1000 rpm, up to which foam and debris have come;
    `catching`: the starter has yet to bring it to run; `dry`: empty share of the galleries; `over`
    (lambda) and `unmetered` (share of unmetered air) of what was drawn in last.
    """

    time_s: float
    speed_rads: float
    manifold_pa: float
    crankcase_pa: float
    outside_share: float
    actuator: Actuator
    trims: Trims
    oil_degc: float
    coolant_degc: float
    beaten_krpm: float
    turned: int = 0
    since_start_s: float = math.inf
    turns_cranked: float = 0.0
    catching: bool = True
    gallery_pa: float = 0.0
    dry: float = 0.0
    over: float = 1.0
    unmetered: float = 0.0
    coming: deque[float] = field(default_factory=deque)
    """Work, J, of the charges drawn in but not yet fired."""

    @property
    def speed_rpm(self) -> float:
        """The speed."""
        return self.speed_rads * (30.0 / math.pi)
