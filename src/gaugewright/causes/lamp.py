"""What the oil lamp says beside a measured oil pressure: is it lit by the pressure or by itself?

The lamp's switch sees the outside air, as the gauge does.  So a gauge well above the switch's
point and a lit lamp speak for the indication, and a dark lamp below it as well.  Where no switch is
stated, a sensor may be watched in its place, and the lamp lit not far below the maker's limit.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.observation import Observed

Floats = npt.NDArray[np.float64]

USUAL_PA, USUAL_SPREAD_PA = 35e3, 12e3
"""Where a switch usually closes, and its spread among makers (published 15 to 55 kPa)."""
WATCHED, WATCHED_SHARE, WATCHED_SPREAD = 0.35, 0.82, 0.12
"""How often it is a sensor that a computer watches where nothing is told, at which share of the
maker's least pressure at idle that lights the lamp, and the spread of it (judgement)."""
PLAY_PA = 4e3
"""A stated switch's own play beside its tolerance (judgement)."""
BY_ITSELF, DARK_BY_ITSELF = 0.65, 0.10
"""Chance that a fault of the indication lights the lamp at idle, and that it keeps it dark
whatever the pressure (judgement)."""
SLIP = 0.12
"""Chance that what was told of the lamp was not so, or was so on another day (judgement)."""
HOTTEST_DEGC, PER_K = 105.0, 0.024
"""The owner saw the lamp with the oil as hot as it gets (judgement), where oil pressure is lower by
about this share for each kelvin (a 5W-30 about 90 degC)."""
OWN_SHARE = 0.2
"""Of the pressure: how far the owner's idle lay from that of the workshop (judgement)."""
GAUGE_OFF_PA = 22e3
"""How far off a gauge typically is when the test itself is at fault (judgement)."""
LIT = frozenset({"on at hot idle", "on at every idle", "flickers at idle", "on at every speed"})
DARK = frozenset({"never on", "on for seconds after the start"})


def lamp_likelihoods(
    words: Sequence[str],
    hypotheses: Sequence[Hypothesis],
    seen: Observed,
    barometer_pa: float,
    switch: tuple[float, float] | None,
    least_pa: float | None = None,
) -> Floats | None:
    """Logarithm of the likelihood of the lamp's state at idle, for each hypothesis.

    Parameters: `words` told of the lamp; `switch`: where it closes and its standard uncertainty,
    Pa; `least_pa`: the maker's least pressure at idle.  None where the words or the readings leave
    nothing to say.
    """
    lit = bool(LIT & set(words))
    if lit == bool(DARK & set(words)):
        return None
    gauge = idle_gauge(seen, barometer_pa)
    if gauge is None:
        return None
    lights = [(1.0, *(switch or (USUAL_PA, USUAL_SPREAD_PA)))]
    if switch is None and least_pa is not None:
        watched = (WATCHED, WATCHED_SHARE * least_pa, WATCHED_SPREAD * least_pa)
        lights = [(1.0 - WATCHED, USUAL_PA, USUAL_SPREAD_PA), watched]
    return np.array([_log(h, lit, gauge, lights) for h in hypotheses])


def _log(
    h: Hypothesis,
    lit: bool,
    gauge: tuple[float, float],
    lights: Sequence[tuple[float, float, float]],
) -> float:
    """`lights`: how often, at which pressure, and its spread, a sound lamp is lit."""
    value, u = gauge
    if "test-fault" in h:
        u = float(np.hypot(u, GAUGE_OFF_PA))
    low = sum(
        often * _below(at - value, float(np.hypot(np.hypot(u, spread), PLAY_PA)))
        for often, at, spread in lights
    )
    if "indication-fault" in h:
        low = low * (1.0 - DARK_BY_ITSELF) + (1.0 - low) * BY_ITSELF
    told = low if lit else 1.0 - low
    return float(np.log(SLIP + (1.0 - 2.0 * SLIP) * told))


def _below(by: float, spread: float) -> float:
    from scipy.special import ndtr

    return float(ndtr(by / spread))


def idle_gauge(seen: Observed, barometer_pa: float) -> tuple[float, float] | None:
    """The gauge's oil pressure at the owner's hottest idle, from the warmest read as found, in Pa
    with its uncertainty."""
    found = []
    for k, item in enumerate(seen.items):
        held = seen.holds[item.place]
        if item.quantity != "oil-pressure" or held.at_speed or held.gone or held.did - {"nothing"}:
            continue
        lift = {"atmosphere": 0.0, "vacuum": barometer_pa}.get(item.reference or "", np.nan)
        warm = 90.0 if held.oil_degc is None else held.oil_degc
        found.append((warm, item.value - lift, float(np.sqrt(seen.covariance[k, k]))))
    known = [row for row in found if np.isfinite(row[1])]
    if not known:
        return None
    warm, value, u = max(known)
    hotter = float(np.exp(-PER_K * max(HOTTEST_DEGC - warm, 0.0)))
    return hotter * value, float(np.hypot(hotter * u, OWN_SHARE * hotter * value))
