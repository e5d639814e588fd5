"""Switch checks: for how much of a condition would the switch have lit its lamp?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.case import Case, Situation
from gaugewright.evidence.results import SwitchCheck
from gaugewright.evidence.sources import Source

Floats = npt.NDArray[np.float64]

COVERED = 1.96


@dataclass(frozen=True)
class LampSwitch:
    """A switch in house units: it closes below `closes_pa`, give or take `tolerance_pa`.

    `offset_pa` is the pressure lost from tap to switch; the lamp lights `delay_s` after.
    """

    name: str
    quantity: str
    closes_pa: float
    tolerance_pa: float
    offset_pa: float
    delay_s: float


def switch_checks(
    case: Case, switches: Iterable[LampSwitch], lamp_seen: frozenset[str]
) -> list[SwitchCheck]:
    """Each switch in each running condition in which its pressure was recorded.

    `lamp_seen` holds the visits in which somebody saw the lamp on.
    """
    return [
        _check(case, situation, switch, situation.visit in lamp_seen)
        for switch in switches
        for situation in case.situations
        if situation.running and situation.held(switch.quantity, "atmosphere")
    ]


def _check(case: Case, situation: Situation, switch: LampSwitch, seen: bool) -> SwitchCheck:
    sources = situation.sources[switch.quantity, "atmosphere"]
    source = next((s for s in sources if s.kept is not None), sources[0])
    u, _ = case.uncertainty(source.held)
    pressure, seconds = _course(source)
    doubt = switch.tolerance_pa + COVERED * (u if np.isfinite(u) else 0.0)
    closing = switch.closes_pa + switch.offset_pa
    share, low, high = (
        lit_share(pressure, seconds, closing + off, switch.delay_s) for off in (0.0, -doubt, doubt)
    )
    return SwitchCheck(
        switch=switch.name,
        condition=situation.condition,
        lamp_on_share=share,
        share_low=low,
        share_high=high,
        explains_lamp=_explains(seen, low, high),
        visit=situation.visit,
    )


def _explains(seen: bool, low: float, high: float) -> str:
    """Does the pressure explain a lamp that was seen on?"""
    if not seen:
        return "cannot say"
    if low > 0.0:
        return "yes"
    return "no" if high == 0.0 else "cannot say"


def _course(source: Source) -> tuple[Floats, Floats]:
    """The pressure over the condition's cycles, corrected as its level was, and their lengths."""
    kept, signal, level = source.kept, source.signal, source.held.level
    if kept is None or signal is None or signal.label not in kept.table.means:
        return np.array([level.value]), np.array([1.0])
    values = kept.table.means[signal.label][kept.cycles]
    length = (kept.table.end_s - kept.table.start_s)[kept.cycles]
    known = np.isfinite(values)
    if not known.any():
        return np.array([level.value]), np.array([1.0])
    lift = level.value - float(np.average(values[known], weights=length[known]))
    return values[known] + lift, length[known]


def lit_share(pressure: Floats, seconds: Floats, closing: float, delay_s: float) -> float:
    """Share of the time in which the lamp is lit: below `closing` for longer than the delay."""
    below = pressure < closing
    edges = np.flatnonzero(np.diff(np.concatenate([[0], below.astype(np.int8), [0]])))
    upto = np.concatenate([[0.0], np.cumsum(seconds)])
    runs = upto[edges[1::2]] - upto[edges[::2]]
    return float(np.sum(np.maximum(runs - delay_s, 0.0)) / upto[-1])
