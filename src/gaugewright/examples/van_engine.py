"""The example van's engine: its kind, its numbers, and its faults visit by visit.

The numbers below were found by root-finding (Brent's method, `found`) on the steady virtual
engine at 820 rpm and 80 degC, so that the story comes out as told: with fresh oil the bearings
get 105.0 kPa and the crankcase is at -2.0; with fuel in it 84.0; with the breather blocked the
crankcase is at +11.0, where the seals let go.  `python -m gaugewright.examples.van_engine` finds
them again; a test holds the ones that stand here to it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import MM2, Engine
from gaugewright.engine.sound import sound
from gaugewright.engine.steady import Solved, solve

SPEED_RPM = 820.0
"""The speed for which the maker prints the idle limit."""
TEMPERATURE_DEGC = 80.0
"""The oil temperature for which the maker prints the idle limit."""
BAROMETER_PA = 97.6e3

BUILD = Build(ventilation="regulator")
"""Four cylinders, two litres, an air meter, a fixed pump, 5W-30: as job.toml has it."""
BREATHER_SEVERITY = 0.5
"""Of the blocked breather: next to nothing passes, and how high it goes is the seals' doing."""
RING_M2 = 0.32 * MM2
"""Two and a half times the blow-by of new rings: it has done 148 200 km."""
CRANKCASE_M3 = 4.5e-3
"""A small one: with the breather blocked it fills in four or five seconds."""
HUNTS = 3.0
"""Gain of the idle governor over what its maker meant: it hunts by some 20 rpm."""


@dataclass(frozen=True)
class Numbers:
    """What was found: conductance of the clearances (m3), the regulator's set point and the
    pressure at which the seals let go (Pa), and how bad the fuel in the oil is (0 to 1)."""

    bearing_m3: float
    set_pa: float
    fuel_severity: float
    seals_lift_pa: float


NUMBERS = Numbers(
    bearing_m3=1.830399e-11,
    set_pa=-1556.915,
    fuel_severity=0.408865,
    seals_lift_pa=10138.87,
)


def engine(
    fuel: bool, blocked: bool, idle_rpm: float = SPEED_RPM, numbers: Numbers = NUMBERS
) -> Engine:
    """The van's engine with or without fuel in its oil, its breather blocked or clear."""
    made = sound(
        BUILD,
        {
            "air.barometer_pa": BAROMETER_PA,
            "air.idle_rpm": idle_rpm,
            "air.governor_gain": HUNTS,
            "crankcase.ring_m2": RING_M2,
            "crankcase.volume_m3": CRANKCASE_M3,
            "oil.bearing_m3": numbers.bearing_m3,
            "crankcase.set_pa": numbers.set_pa,
            "crankcase.seals_lift_pa": numbers.seals_lift_pa,
        },
    )
    if fuel:
        made = FAULTS["fuel-in-oil"].applied(BUILD, made, numbers.fuel_severity)
    if blocked:
        made = FAULTS["breather-blocked"].applied(BUILD, made, BREATHER_SEVERITY)
    return made


def at_the_limit(made: Engine) -> Solved:
    """This engine at 820 rpm and 80 degC."""
    return solve(BUILD, made, [Held(speed_rpm=SPEED_RPM, oil_degc=TEMPERATURE_DEGC)])


def found() -> Numbers:
    """The numbers that make the story come out, one after the other: none depends on a later."""
    start = Numbers(1.5e-11, -1500.0, 0.5, 10e3)
    start = _with(start, "bearing_m3", (0.8e-11, 4e-11), lambda n: _bearings(n, False) - 105e3)
    start = _with(start, "set_pa", (-4000.0, 500.0), lambda n: _crankcase(n, False) + 2e3)
    start = _with(start, "fuel_severity", (0.0, 1.0), lambda n: _bearings(n, True) - 84e3)
    return _with(start, "seals_lift_pa", (5e3, 15e3), lambda n: _crankcase(n, True) - 11e3)


def _with(
    start: Numbers, name: str, between: tuple[float, float], off: Callable[[Numbers], float]
) -> Numbers:
    """The numbers with one of them moved to where `off` is nothing."""
    from scipy.optimize import brentq

    def moved(value: float) -> Numbers:
        return Numbers(**{**vars(start), name: value})

    fine = 1e-10 * (between[1] - between[0])
    return moved(float(brentq(lambda value: off(moved(value)), *between, xtol=fine)))


def _bearings(numbers: Numbers, fuel: bool) -> float:
    return float(at_the_limit(engine(fuel, False, numbers=numbers)).gallery_pa[0, 0])


def _crankcase(numbers: Numbers, blocked: bool) -> float:
    made = engine(blocked, blocked, numbers=numbers)
    return float(at_the_limit(made).crankcase_over_pa[0, 0])


if __name__ == "__main__":
    print(found())
