"""What repeats with the crank's angle on top of the slow pressures, and what doesn't repeat.

Every shape has no mean over a cycle, so that a slow pressure stays the mean of what is recorded.
"""

from __future__ import annotations

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.physics import cylinder
from gaugewright.physics.numbers import Floats

POINTS = 360
"""In the tables of one firing interval."""
INTAKE_DEG = 200.0
"""How long a cylinder draws (judgement)."""
RING_DEG = (8.0, 70.0)
"""After top dead centre, between which most of a firing's blow-by passes (judgement)."""
HEARD = 0.35
"""How much of what the pistons squeeze reaches dipstick tube and filler: the gas goes to and fro
between the bays (judgement)."""
STIFF = 1.3
"""Polytropic exponent of gas that is squeezed within a turn (judgement)."""
LOBES = {"fixed": 10, "two-stage": 10, "variable": 7, "controlled": 7}
"""Chambers of the oil pump that empty in one turn of the crank (judgement: lobes of an inner
rotor, vanes)."""
LOBE_SHARE, FIRING_SHARE = 0.022, 0.013
"""Pump and firing ripple in the gallery, amplitude over the pressure (judgement)."""
UNREST_SHARE, UNREST_FOR_AIR, UNREST_MOST = 0.003, 1.1, 0.15
"""Random ripple over the pressure: of sound oil, for each unit of free air, at most
(judgement: rising random ripple is air, common practice)."""
UNREST_HZ = 9.0
UNREST_RATE_HZ = 250.0


def interval_table(rate: Floats) -> Floats:
    """The shape of a level that is drawn down at this rate and refilled evenly.

    Parameters: `rate` (p,) over one firing interval, at the middles of its parts.
    Returns (p + 1,): refilled less drawn, without a mean, for a draw of 1 in all.
    """
    drawn = np.concatenate(([0.0], np.cumsum(rate) / np.sum(rate)))
    level = np.linspace(0.0, 1.0, len(drawn)) - drawn
    return level - np.mean(0.5 * (level[1:] + level[:-1]))


def folded(begins_deg: float, ends_deg: float, cylinders: int) -> Floats:
    """The rate (p,) over one firing interval of something each cylinder does between two angles.

    A bell (sin squared) from begin to end, after its top dead centre of combustion, and the
    bells of all cylinders together.
    """
    interval = 720.0 / cylinders
    middles = (np.arange(POINTS) + 0.5) / POINTS * interval
    turns = np.arange(-2 * cylinders, 2 * cylinders + 1)[:, None] * interval
    along = (middles + turns - begins_deg) / (ends_deg - begins_deg)
    bells = np.where((along > 0.0) & (along < 1.0), np.sin(np.pi * along) ** 2, 0.0)
    return np.asarray(bells.sum(axis=0))


def manifold_table(cylinders: int) -> Floats:
    """The manifold within a firing interval, for a draw that would lower it by 1."""
    return interval_table(folded(360.0 + 10.0, 360.0 + 10.0 + INTAKE_DEG, cylinders))


def ring_table(cylinders: int) -> Floats:
    """The crankcase within a firing interval, for a blow-by that would raise it by 1."""
    return -interval_table(folded(*RING_DEG, cylinders))


def piston_table(build: Build, compression_ratio: float) -> Floats:
    """The volume under all pistons within a firing interval, over one cylinder's swept volume.

    Nearly nothing where the pistons' ways cancel; what is left of four cylinders is their
    second order.
    """
    along = np.linspace(0.0, 720.0 / build.cylinders, POINTS + 1)
    places = np.arange(build.cylinders)[:, None] * (720.0 / build.cylinders)
    ratio = np.asarray(cylinder.volume_ratio(along - places, compression_ratio))
    under = -((ratio - 1.0) / (compression_ratio - 1.0)).sum(axis=0)
    return np.asarray(under - np.mean(under[:-1]))


def looked_up(table: Floats, along: Floats) -> Floats:
    """The table's value (n,) at these places (n,) along the firing interval, 0 to 1."""
    at = along * (len(table) - 1)
    low = np.minimum(at.astype(np.int64), len(table) - 2)
    return np.asarray(table[low] + (at - low) * (table[low + 1] - table[low]))


def oil_ripple(build: Build, cycles: Floats) -> Floats:
    """Regular ripple in the gallery (n,), a share of its pressure: the pump's lobes, firings."""
    turn = 2.0 * np.pi * cycles
    lobes, firings = 2.0 * LOBES[build.oil_pump] * turn, build.cylinders * turn
    pump = np.sin(lobes) + 0.35 * np.sin(2.0 * lobes + 0.9)
    return LOBE_SHARE * pump + FIRING_SHARE * (
        np.sin(firings + 0.7) + 0.4 * np.sin(2.0 * firings + 2.1)
    )


def oil_unrest(time_s: Floats, air_share: Floats, rng: np.random.Generator) -> Floats:
    """Random ripple in the gallery (n,), a share of its pressure, by the free air in its oil.

    Parameters: instants (n,) s, evenly spaced, and the air's share (n,) at them.
    """
    size = np.minimum(UNREST_SHARE + UNREST_FOR_AIR * air_share, UNREST_MOST)
    return size * wandering(time_s, 1.0 / (2.0 * np.pi * UNREST_HZ), rng)


def wandering(time_s: Floats, forgets_s: float, rng: np.random.Generator) -> Floats:
    """Noise (n,) of standard deviation 1 that forgets itself over this many seconds."""
    from scipy.signal import lfilter

    step = max(0.25 * forgets_s, 1.0 / UNREST_RATE_HZ)
    count = int((time_s[-1] - time_s[0]) / step) + 3
    keep = float(np.exp(-step / forgets_s))
    pushes = np.sqrt(1.0 - keep * keep) * rng.standard_normal(count)
    pushes[0] /= np.sqrt(1.0 - keep * keep)
    coarse = lfilter([1.0], [1.0, -keep], pushes)
    return np.interp(time_s, time_s[0] + step * np.arange(count), coarse)
