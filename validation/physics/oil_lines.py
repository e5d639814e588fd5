"""Oil: the viscosity line by exact inversion and against measured liquids, the index, density.

The line is drawn by a least-squares fit in natural logarithms through both points and read back
by root finding on Z, not by the standard's inverse polynomial.  What the law itself is worth is
seen on pure hydrocarbons whose viscosity others have correlated from measurements.
"""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
from chemicals.dippr import EQ105
from chemicals.viscosity import PPDS9, viscosity_index
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from gaugewright.physics import blend, oil, oil_properties
from gaugewright.physics import viscosity_index as index
from validation.physics.compared import Compared, each

ABSOLUTE = 273.15
OILS = {"5W-30": (62.0, 10.5), "15W-40": (108.0, 14.4), "grade 60": (240.0, 24.0)}
THIN = {"fuel-like": (1.2, 0.62), "light": (4.2, 1.6)}
DEGC = [-20.0, 0.0, 20.0, 60.0, 80.0, 90.0, 120.0, 150.0]


def z(viscosity: float) -> float:
    """Z of ASTM D341, its low-viscosity term always in."""
    return viscosity + 0.7 + float(np.exp(-1.47 - 1.84 * viscosity - 0.51 * viscosity**2))


def by_fit(points: dict[float, float], degc: list[float]) -> list[float]:
    """Viscosities on the least-squares line ln ln Z over ln T through any number of points."""
    x = np.log([t + ABSOLUTE for t in points])
    y = np.log(np.log([z(v) for v in points.values()]))
    line = np.polynomial.Polynomial.fit(x, y, 1)
    return [_of(float(np.exp(np.exp(line(np.log(t + ABSOLUTE)))))) for t in degc]


def _of(wanted: float) -> float:
    return float(brentq(lambda v: z(v) - wanted, 0.05, 1e7, xtol=1e-13, rtol=1e-13))


def lines() -> list[Compared]:
    """Our line through two points against the fit, thick oils and thin ones."""
    rows: list[Compared] = []
    for oils, degc, gate in ((OILS, DEGC, 1e-4), (THIN, [20.0, 60.0, 80.0, 120.0], 3e-3)):
        for name, (kv40, kv100) in oils.items():
            line = oil.viscosity_line(kv40, 40.0, kv100, 100.0)
            ours = [line.at(t) for t in degc]
            other = by_fit({40.0: kv40, 100.0: kv100}, degc)
            rows += each(name, [f"{t:g} degC" for t in degc], ours, other, gate)
    return rows


def _dodecane(degc: float) -> float:
    from CoolProp.CoolProp import PropsSI

    state = ("T", degc + ABSOLUTE, "P", 1e6, "n-Dodecane")
    return float(1e6 * PropsSI("V", *state) / PropsSI("D", *state))


def _paraffin(number: str) -> Any:
    """Kinematic viscosity of a paraffin: correlations of the VDI and Perry collections."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # how chemicals calls pandas
        warnings.simplefilter("ignore", FutureWarning)
        from chemicals.viscosity import mu_data_VDI_PPDS_7
        from chemicals.volume import rho_data_Perry_8E_105_l

    thick = mu_data_VDI_PPDS_7.loc[number]
    dense = rho_data_Perry_8E_105_l.loc[number]

    def at(degc: float) -> float:
        kelvin = degc + ABSOLUTE
        viscosity = PPDS9(kelvin, *(float(thick[c]) for c in "ABCDE"))
        molar = EQ105(kelvin, *(float(dense[c]) for c in ("C1", "C2", "C3", "C4")))
        return float(1e6 * viscosity / (molar * MOLAR[number]))

    return at


MOLAR = {"544-76-3": 0.226441}
"""kg/mol."""


ENGINE_OIL = {
    290.0: 0.999,
    300.0: 0.486,
    310.0: 0.253,
    320.0: 0.141,
    330.0: 0.0836,
    340.0: 0.0531,
    350.0: 0.0356,
    360.0: 0.0252,
    370.0: 0.0186,
    380.0: 0.0141,
    390.0: 0.0110,
    400.0: 0.00874,
    410.0: 0.00698,
}
"""K -> Pa s: unused engine oil, table A.5 of a well-known textbook on heat transfer, as printed in
two open codes.  The densities beside it are met by 1061.3 - 0.5921 T kg/m3, from the same place."""


def engine_oil() -> list[Compared]:
    """A measured engine oil: the line drawn through 310 and 370 K, read at the other ten.

    2.5 % is what the law leaves on this oil between 27 and 137 degC, 8 % beyond the drawn line.
    """
    kinematic = {k: 1e6 * mu / (1061.3 - 0.5921 * k) for k, mu in ENGINE_OIL.items()}
    ends = (310.0, 370.0)
    line = oil.viscosity_line(
        kinematic[ends[0]], ends[0] - ABSOLUTE, kinematic[ends[1]], ends[1] - ABSOLUTE
    )
    others = [k for k in kinematic if k not in ends]
    ours = [line.at(k - ABSOLUTE) for k in others]
    names = [f"{k:g} K" for k in others]
    heavy = [oil_properties.density(1061.3 - 0.5921 * 288.15, k - ABSOLUTE) for k in others]
    other = [1061.3 - 0.5921 * k for k in others]
    return [
        *(
            Compared(f"engine oil, {k:g} K", mine, kinematic[k], 0.08 if k < 300.0 else 0.025)
            for k, mine in zip(others, ours, strict=True)
        ),
        *each("its density", names, heavy, other, 0.01),
    ]


def smoothness() -> list[Compared]:
    """The index's table is read from chemicals too: a slip in it would stick out of its curve.

    Of 200 entries the one farthest from the cubic through its two neighbours on either side.
    """
    return [_worst(side, name) for side, name in enumerate("LH")]


def _worst(side: int, name: str) -> Compared:
    rows = []
    for kv100 in np.geomspace(2.5, 60.0, 200).round(1):
        step = 0.2 if kv100 < 15.0 else 0.5 if kv100 < 30.0 else 1.0
        near = kv100 + step * np.array([-2.0, -1.0, 1.0, 2.0])
        known = [index.basic_values(float(x))[side] for x in near]
        other = float(np.dot([-1.0, 4.0, 4.0, -1.0], known) / 6.0)
        ours = index.basic_values(float(kv100))[side]
        rows.append(Compared(f"{name} off its curve, worst of 200", ours, other, 2e-3))
    return max(rows, key=lambda row: abs(row.difference))


def liquids() -> list[Compared]:
    """The law between two points of pure liquids: how far it misses their other points."""
    rows: list[Compared] = []
    known = {"n-dodecane": _dodecane, "n-hexadecane": _paraffin("544-76-3")}
    degc = [60.0, 80.0, 120.0, 140.0]
    for name, at in known.items():
        line = oil.viscosity_line(at(45.0), 45.0, at(100.0), 100.0)
        ours, other = [line.at(t) for t in degc], [at(t) for t in degc]
        rows += each(name, [f"{t:g} degC" for t in degc], ours, other, 0.02)
    return rows


def indices() -> list[Compared]:
    """The viscosity index against chemicals, both procedures, table and parabolas."""
    rows = []
    for kv100 in (2.3, 4.1, 5.05, 8.86, 10.5, 14.4, 24.0, 60.0, 75.0):
        for ratio in (0.7, 0.9, 1.0, 1.2, 1.5):
            kv40 = ratio * index.basic_values(kv100)[1]
            other = float(viscosity_index(kv40 * 1e-6, kv100 * 1e-6))
            ours = index.viscosity_index(kv40, kv100)
            rows.append(Compared(f"index {kv40:.1f}, {kv100:g}", ours, other, 2e-3, 100.0))
    return rows


def densities() -> list[Compared]:
    """Density by integrating the thermal expansion a (1 + 1.6 a dT) upwards from 15 degC."""
    rows: list[Compared] = []
    for at_15, degc in ((870.0, [40.0, 100.0, 150.0]), (850.0, [-20.0, 90.0])):
        expansion = 0.34878 * 1.8 / at_15
        other = []
        for t in degc:

            def slope(dt: float, rho: Any, a: float = expansion) -> Any:
                return -a * (1.0 + 1.6 * a * dt) * rho

            run = solve_ivp(slope, (0.0, t - 15.0), [at_15], rtol=1e-11, atol=1e-9)
            other.append(float(run.y[0, -1]))
        ours = [oil_properties.density(at_15, t) for t in degc]
        rows += each(f"density, {at_15:g}", [f"{t:g} degC" for t in degc], ours, other, 2e-5)
    return rows


def blends() -> list[Compared]:
    """The blending number against the double logarithm of Z, another published rule."""
    rows = []
    for share, thick, thin in ((0.4, 20.0, 5.0), (0.97, 160.0, 3.0), (0.95, 11.0, 1.1)):
        ours = blend.blended((share, 1.0 - share), (thick, thin))
        mean = share * np.log(np.log(z(thick))) + (1 - share) * np.log(np.log(z(thin)))
        other = _of(float(np.exp(np.exp(mean))))
        rows.append(Compared(f"{share:g} of {thick:g} in {thin:g}", ours, other, 0.03))
    return rows


def compare() -> list[Compared]:
    """All of it."""
    return [
        *lines(),
        *engine_oil(),
        *liquids(),
        *indices(),
        *smoothness(),
        *densities(),
        *blends(),
    ]
