"""The pressure in each cylinder over the crank's angle, and the work it does on the crank.

One cycle's pressure is a sum of three shapes over angle, each computed once for an engine:
p = charge * squeezed + burning * burnt + exhaust * emptied.  The charge at the manifold's
pressure is squeezed and let go along one polytrope; the heat released by a Wiebe function adds
to it; the exhaust valve empties the cylinder to exhaust pressure.  Kept simple: one exponent for
both directions, no waves in the pipes, heat lost to the walls inside the exponent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.physics import cylinder
from gaugewright.physics.numbers import Floats, Numbers

Ints = npt.NDArray[np.int64]

EXPONENT = 1.3
"""Polytropic.  Common practice for running compression, 1.25 to 1.3."""
WIEBE_SHAPE, WIEBE_COMPLETE = 2.0, 6.908
"""m and a of the Wiebe function x = 1 - exp(-a ((th - th0)/D)^(m+1)); a makes it 99.9 %.
Source: Internal Combustion Engine Fundamentals, ch. 9, from memory."""
BURN_BEGINS_DEG, BURN_TAKES_DEG = -12.0, 55.0
"""From top dead centre: begin and length of the heat release (judgement, part load)."""
EXHAUST_OPENS_DEG = 140.0
"""After top dead centre of combustion (judgement)."""
BLOWDOWN_DEG = 18.0
"""Angle constant in which a cylinder empties once its exhaust valve is open (judgement)."""
INTAKE_TURN_DEG = 14.0
"""Angle constant in which it goes over from exhaust to manifold pressure (judgement)."""
POINTS = 1440
"""In one cycle: every half degree."""


@dataclass(frozen=True)
class Shapes:
    """Shapes over one cycle of a cylinder, from the top dead centre of its gas exchange.

    `squeezed`, `burnt`, `emptied` (1441,): see the module; intake from 0, compression from 180,
    combustion from 360, exhaust from 540 degrees.  `volume` (1441,) over the clearance volume;
    `burnt_work`: work of `burnt` per pascal, in clearance volumes.
    """

    squeezed: Floats
    burnt: Floats
    emptied: Floats
    volume: Floats
    burnt_work: float


def shapes(compression_ratio: float) -> Shapes:
    """The shapes of an engine of this printed compression ratio."""
    degrees = np.linspace(0.0, 720.0, POINTS + 1)
    volume = np.asarray(cylinder.volume_ratio(degrees, compression_ratio), dtype=np.float64)
    closed = (volume / (cylinder.EFFECTIVE_SHARE * compression_ratio)) ** -EXPONENT
    before = np.where(degrees < 360.0, np.maximum(closed, 1.0), closed)
    squeezed = np.where(degrees < 180.0, 1.0, before)
    burnt = _burnt_share(degrees - 360.0) * volume**-EXPONENT
    opened = np.maximum(degrees - 360.0 - EXHAUST_OPENS_DEG, 0.0)
    left = np.where(degrees > 360.0, np.exp(-opened / BLOWDOWN_DEG), 1.0)
    drawing = 1.0 - np.exp(-degrees / INTAKE_TURN_DEG)
    charge = squeezed * left * drawing
    emptied = (1.0 - left) + (1.0 - drawing)
    return Shapes(charge, burnt * left, emptied, volume, _work(burnt * left, volume))


def _burnt_share(after_top_deg: Floats) -> Floats:
    """The Wiebe function: which share has burnt at this angle after top dead centre."""
    along = np.maximum((after_top_deg - BURN_BEGINS_DEG) / BURN_TAKES_DEG, 0.0)
    return 1.0 - np.exp(-WIEBE_COMPLETE * along ** (WIEBE_SHAPE + 1.0))


def _work(pressure: Floats, volume: Floats) -> float:
    """The integral of p dV over these points."""
    return float(np.sum(0.5 * (pressure[1:] + pressure[:-1]) * np.diff(volume)))


def burning_pa(work_j: Numbers, clearance_m3: float, made: Shapes) -> Numbers:
    """How strongly a cylinder must burn to do this work in one cycle: factor of `burnt`, Pa."""
    return work_j / (made.burnt_work * clearance_m3)


@dataclass(frozen=True)
class Charges:
    """What each firing, counted from the run's first, had in its cylinder, (k,) each.

    `first`: the number of the first firing, counted by angle (cycles times cylinders).
    """

    first: int
    charge_pa: Floats
    burning_pa: Floats
    exhaust_pa: float

    def of(self, firing: Ints) -> tuple[Floats, Floats]:
        """(charge, burning) of these firings; beyond the ends as at the ends, not burning."""
        at = firing - self.first
        inside = (at >= 0) & (at < len(self.charge_pa))
        at = np.clip(at, 0, len(self.charge_pa) - 1)
        return self.charge_pa[at], np.where(inside, self.burning_pa[at], 0.0)


def pressure(cycles: Floats, place: int, cylinders: int, made: Shapes, charges: Charges) -> Floats:
    """The absolute pressure in one cylinder at these angles.

    Parameters: `cycles` (n,) angles of the run; `place` of the cylinder in the firing order,
    from 0; what each firing had.
    Returns: (n,) Pa.
    """
    own = cycles - place / cylinders + 0.5
    cycle = np.floor(own)
    charge, burning = charges.of(cycle.astype(np.int64) * cylinders + place)
    at = (own - cycle) * POINTS
    low = at.astype(np.int64)
    share = at - low
    parts = ((charge, made.squeezed), (burning, made.burnt), (charges.exhaust_pa, made.emptied))
    total = np.zeros(len(cycles))
    for factor, shape in parts:
        total += factor * (shape[low] + share * (shape[low + 1] - shape[low]))
    return total


@dataclass(frozen=True)
class FiringWork:
    """Work on the crank within one firing interval, at points (p,) from 0 to 1 of it.

    `burnt` (p,): how much of the firing's own work is done.  `gas_m3` (c, p): what the charge of
    a cylinder lends and takes back, for each pascal, in m3; the cylinder of row i fires
    `ahead[i]` intervals later than the one whose interval it is.  For equal charges they add up
    to nothing at both ends.
    """

    burnt: Floats
    gas_m3: Floats
    ahead: Ints

    def lent(self, charge_pa: Floats) -> Floats:
        """The work (..., p) J of the charges (..., c) of the cylinders of each row."""
        return charge_pa @ self.gas_m3


def firing_work(made: Shapes, cylinders: int, clearance_m3: float, points: int) -> FiringWork:
    """How the work is spread within one firing interval of an evenly firing engine.

    What a cylinder's charge does over a whole cycle is left out here (pumping, the gas that
    leaves when the exhaust opens): the mean torque has it.  The combustion's work is taken to
    end with its own interval (it nearly does with up to six cylinders).
    """
    along = np.linspace(0.0, 1.0, points + 1)
    ahead = np.arange(cylinders) - (cylinders - 1) // 2
    own = (0.5 + (along - ahead[:, None]) / cylinders) % 1.0
    done = np.append(0.0, np.cumsum(_steps(made.squeezed, made.volume)))
    done -= np.linspace(0.0, done[-1], len(done))
    gas = np.interp(own, np.linspace(0.0, 1.0, len(done)), done)
    gas -= np.mean(gas[:, 0])
    burnt = np.append(0.0, np.cumsum(_steps(made.burnt, made.volume)))
    share = np.interp((0.5 + along / cylinders) * POINTS, np.arange(POINTS + 1), burnt)
    share = (share - share[0]) / (share[-1] - share[0])
    return FiringWork(share, gas * clearance_m3, ahead)


def _steps(pressure_shape: Floats, volume: Floats) -> Floats:
    return 0.5 * (pressure_shape[1:] + pressure_shape[:-1]) * np.diff(volume)
