"""The van's engine running through one visit: the virtual engine, held as the technician did."""

from __future__ import annotations

from gaugewright.engine.held import Held
from gaugewright.engine.plan import Plan, Step
from gaugewright.engine.run import Run
from gaugewright.engine.run import run as lived
from gaugewright.examples.van_engine import BUILD
from gaugewright.examples.van_truth import VisitTruth

RATE_HZ = 10_000.0
START_S, IDLE_S = 5.2, 7.2
"""The starter turns from the first on, the engine idles from the second."""
CAP_OFF_S, CAP_ON_S = 24.0, 32.0
RAISE_S, RELEASE_S, END_S = 32.6, 46.6, 48.0
OIL_DEGC = (79.3, 80.5)
"""In the gallery at the beginning and at the end."""
LANES = ("oil_gauge_pa", "crankcase_pa", "ignition_v", "oil_degc", "speed_rpm")

STRETCHES = (
    ("engine off", 0.3, 5.0, "engine-off"),
    ("hot idle", 12.0, 24.0, "nothing"),
    ("filler cap off", 24.0, 32.0, "filler-cap-off"),
    ("held at 2000 rpm", 38.5, 46.5, "speed-raised"),
)
"""What the technician marked on the first logger's clock: name, from, to, what was done."""


def plan() -> Plan:
    """One visit: standing still, started, idling, cap off, cap on, held at 2000 rpm, let go."""
    cap_off = Held(frozenset({"filler-cap-off"}), oil_degc=_warmth(0.5 * (CAP_OFF_S + CAP_ON_S)))
    fast = Held(speed_rpm=2000.0, oil_degc=_warmth(0.5 * (RAISE_S + RELEASE_S)))
    first, last = Held(oil_degc=OIL_DEGC[0]), Held(oil_degc=OIL_DEGC[1])
    return Plan(
        (
            Step(0.0, START_S, first, "engine-off"),
            Step(START_S, IDLE_S, first, "start"),
            Step(IDLE_S, CAP_OFF_S, Held(oil_degc=_warmth(0.5 * (IDLE_S + CAP_OFF_S)))),
            Step(CAP_OFF_S, CAP_ON_S, cap_off),
            Step(CAP_ON_S, RAISE_S, Held(oil_degc=_warmth(CAP_ON_S))),
            Step(RAISE_S, RELEASE_S, fast),
            Step(RELEASE_S, END_S, last),
        )
    )


def _warmth(time_s: float) -> float:
    """The oil's temperature at this instant, rising ever faster, degC."""
    begin, end = OIL_DEGC
    return begin + (end - begin) * (time_s / END_S) ** 2


def run(visit: VisitTruth, seed: int) -> Run:
    """One visit, from the engine standing still to the throttle let go.

    Parameters: the visit's truth, and the seed of all chance in it.
    Returns: what perfect sensors would have shown at the first logger's rate, before
    calibration errors, noise of the converters, rounding and the files.
    """
    return lived(BUILD, visit.engine, plan(), RATE_HZ, seed, lanes=LANES)
