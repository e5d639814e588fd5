"""The gallery's pressure: what the pump delivers and everything takes, solved at each instant."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from gaugewright.engine import oil_circuit
from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.oil_circuit import OilFlows, Thickness
from gaugewright.engine.parameters import Engine
from gaugewright.physics.numbers import Floats

STEP_PA = 5.0
REACH_PA = 80e3
"""The longest step in one iteration."""
ITERATIONS = 25
CLOSE_PA = 0.5
LAG_S = 0.05
"""How fast the gallery follows: a little air and elastic walls (judgement)."""
DRY_M3_PER_M3 = 0.02
"""What the empty galleries hold, for each m3 of displacement (judgement: 40 mL of two
litres)."""
DRAINS_S = 900.0
"""How slowly the galleries empty while the engine stands (judgement)."""


def pressures(flows_at: Callable[[Floats], OilFlows], first: Floats) -> Floats:
    """Which pressures (n,) over the crankcase's leave nothing over?

    Parameters: `flows_at` the oil circuit at pressures of shape (2, n); `first` (n,) guesses.
    Newton's method from there, each step no longer than 80 kPa, until none moves by 0.5 Pa.
    """
    found = np.asarray(first, dtype=np.float64)
    beside = np.array([[0.0], [STEP_PA]])
    for _ in range(ITERATIONS):
        left, moved = flows_at(found + beside).balance
        slope = (moved - left) / STEP_PA
        step = np.clip(-left / np.minimum(slope, -1e-16), -REACH_PA, REACH_PA)
        found = np.maximum(found + step, 0.0)
        if float(np.max(np.abs(step))) < CLOSE_PA:
            break
    return found


def pump_nm(
    build: Build,
    engine: Engine,
    held: Held,
    thick: Thickness,
    now: tuple[float, float, float, float],
) -> tuple[float, float]:
    """(torque the oil pump takes, gallery pressure) at one instant.

    Parameters: `now`: speed in rpm, crankcase absolute, a guess of the gallery, and how far
    foam and debris have come.
    """
    speed, crankcase, guess, settled = now

    def flows_at(gallery_pa: Floats) -> OilFlows:
        return oil_circuit.flows(build, engine, held, speed, crankcase, gallery_pa, thick, settled)

    found = pressures(flows_at, np.array([guess]))
    return float(flows_at(found).pump_nm[0]), float(found[0])


def followed(
    time_s: Floats, settled_pa: Floats, pumped_m3_s: Floats, dry: float, dry_m3: float
) -> tuple[Floats, float]:
    """The gallery (k,) Pa as it fills and follows what the pump and the bearings settle to.

    Parameters: `settled_pa` (k,) of full galleries at instants (k,) s; `dry` their empty share
    at the first one; `dry_m3` what they hold.
    Returns: pressures, and the empty share at the end.
    """
    out = np.empty(len(time_s))
    now = float(settled_pa[0]) * _built(dry)
    rows = zip(
        np.diff(time_s, append=time_s[-1]).tolist(),
        settled_pa.tolist(),
        pumped_m3_s.tolist(),
        strict=True,
    )
    for place, (seconds, aim, pumped) in enumerate(rows):
        out[place] = now
        if pumped > 0.0:
            dry = max(dry - pumped * seconds / dry_m3, 0.0)
        else:
            dry = min(dry + (1.0 - dry) * seconds / DRAINS_S, 1.0)
        now += (aim * _built(dry) - now) * (1.0 - np.exp(-seconds / LAG_S))
    return out, dry


def _built(dry: float) -> float:
    """How much of its pressure a gallery has that is empty to this share."""
    return max(1.0 - 5.0 * dry, 0.0) ** 2
