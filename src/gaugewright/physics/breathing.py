"""How much air an engine draws: by its speed and the density in its manifold.

The ideal throttled four-stroke: what burned gas stays in the clearance volume at the exhaust's
pressure expands to the manifold's before fresh charge can follow.  Source of that form: the
engine flow model of an open library of mean-value engine models, and every textbook's ideal
cycle.  It departs from an engine in valve overlap (which lets more exhaust back at deep
vacuum), wave tuning and the pressure loss of the valves: one factor, measured or guessed,
stands for these.
"""

from __future__ import annotations

import numpy as np

from gaugewright.physics.gas_flow import AIR_GAS_CONSTANT
from gaugewright.physics.numbers import Numbers

FULL_EFFICIENCY = 0.88
"""Volumetric efficiency with manifold and exhaust at one pressure, warm, at moderate speed, two
valves or four.  Common practice, 0.8 to 0.95; no source."""
RESIDUAL_GAMMA = 1.3
"""Ratio of the heat capacities of burned gas at about 1000 K.  From memory; 1.25 to 1.33."""
WALL_SHARE = 0.5
"""Share of the way from the air's temperature to the coolant's that the charge has gone when the
intake valve closes at idle.  Judgement: 0.3 (much air) to 0.7 (idle)."""


def volumetric_efficiency(
    manifold_pa: Numbers,
    exhaust_pa: Numbers,
    compression_ratio: Numbers,
    full: Numbers = FULL_EFFICIENCY,
    gamma: float = RESIDUAL_GAMMA,
) -> Numbers:
    """What share of the displacement fills with charge of the manifold's density?

    Parameters: absolute pressures; `full` the efficiency where both pressures are one.
    Returns 0 where the residual gas alone fills the cylinder, above `full` under boost.
    Source: eta = eta0 (rc - (pe/pm)**(1/g)) / (rc - 1); see the module.

    Example: `volumetric_efficiency(35e3, 101e3, 10.0)` is 0.757.
    """
    grown = np.divide(exhaust_pa, manifold_pa) ** (1.0 / gamma)
    return full * np.maximum(compression_ratio - grown, 0.0) / (compression_ratio - 1.0)


def residual_share(
    manifold_pa: Numbers,
    exhaust_pa: Numbers,
    compression_ratio: Numbers,
    heat_ratio: Numbers = 1.0,
    gamma: float = RESIDUAL_GAMMA,
) -> Numbers:
    """What share of the cylinder's mass is burned gas of the cycle before?

    Parameters: `heat_ratio` the temperature of the residual gas, expanded, over the fresh
    charge's; 1 gives the share by volume, 2 to 3 the share by mass.
    Source: the same ideal cycle as `volumetric_efficiency`.  Overlap adds to it.
    """
    left = np.divide(exhaust_pa, manifold_pa) ** (1.0 / gamma)
    burned = np.minimum(left, compression_ratio) / heat_ratio
    return burned / (burned + np.maximum(compression_ratio - left, 0.0))


def charge_density(manifold_pa: Numbers, charge_k: Numbers) -> Numbers:
    """The density, in kg/m3, of the air in the manifold: p/(R T)."""
    return manifold_pa / (AIR_GAS_CONSTANT * charge_k)


def charge_temperature(air_k: Numbers, wall_k: Numbers, share: Numbers = WALL_SHARE) -> Numbers:
    """How warm, in K, is the charge between the air drawn in and the walls it passes?

    Parameters: `share` from 0 (the air's own) to 1 (the walls').
    Source: a heat exchanger of given effectiveness; the share is `WALL_SHARE`.

    Example: `charge_temperature(293.0, 363.0)` is 328.
    """
    return air_k + share * np.subtract(wall_k, air_k)


def cycles_per_second(speed_rpm: Numbers, strokes: int = 4) -> Numbers:
    """How often each second does every cylinder fill: half the revolutions of a four-stroke."""
    return np.multiply(speed_rpm, 1.0 / (30.0 * strokes))


def air_per_second(
    manifold_pa: Numbers,
    charge_k: Numbers,
    swept_m3: Numbers,
    speed_rpm: Numbers,
    efficiency: Numbers,
    strokes: int = 4,
) -> Numbers:
    """How much air does the engine draw, in kg/s, by speed and density?

    Parameters: `swept_m3` of the whole engine; `efficiency` from `volumetric_efficiency`; for a
    two-stroke its delivery ratio (0.5 to 0.9 at wide throttle, from memory), and `strokes` 2.
    Source: m = eta Vd (p / R T) x cycles per second.

    Example: `air_per_second(35e3, 328.0, 2e-3, 800.0, 0.756)` is 0.00375.
    """
    filled = efficiency * swept_m3 * charge_density(manifold_pa, charge_k)
    return filled * cycles_per_second(speed_rpm, strokes)


def efficiency_of(
    air_kg_s: Numbers,
    manifold_pa: Numbers,
    charge_k: Numbers,
    swept_m3: Numbers,
    speed_rpm: Numbers,
    strokes: int = 4,
) -> Numbers:
    """The volumetric efficiency a metered air flow means: the inverse of `air_per_second`."""
    ideal = air_per_second(manifold_pa, charge_k, swept_m3, speed_rpm, 1.0, strokes)
    return air_kg_s / ideal
