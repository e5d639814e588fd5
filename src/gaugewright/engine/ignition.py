"""What an ignition pick-up hears: each spark rings, the other cylinders' faintly too."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.turning import DEGREES, Turning
from gaugewright.physics.numbers import Floats

DOUBLE_BELOW_RPM = 450.0
"""Below this a starting engine isn't sure of its angle yet and may spark in both turns."""


@dataclass(frozen=True)
class PickUp:
    """How the sparks come out of a pick-up.

    `cylinder` it is clipped to; `height_v` and its `scatter` (share); `others`: how loud the
    other cylinders are; `missed`: share of sparks not heard; `strikes`: sparks for each
    ignition below `strikes_below_rpm`, `strike_gap_s` apart; `doubles`: whether the engine
    sparks twice as often until it is synchronised.  `shape`: "ringing" as a bare clamp puts
    it out, or "square" as a shaped trigger does.
    """

    cylinder: int = 1
    height_v: float = 3.0
    scatter: float = 0.08
    others: float = 0.12
    missed: float = 0.004
    strikes: int = 1
    strike_gap_s: float = 1.4e-3
    strikes_below_rpm: float = 1200.0
    doubles: bool = False
    ring_hz: float = 8000.0
    decay_s: float = 0.9e-3
    shape: Literal["ringing", "square"] = "ringing"
    square_s: float = 2.5e-3


def advance_deg(speed_rpm: Floats) -> Floats:
    """How long before top dead centre it sparks: 8 degrees at idle, 28 from 3000 rpm on.

    Judgement, within what part-load maps show.
    """
    return np.interp(speed_rpm, [300.0, 900.0, 3000.0], [5.0, 8.0, 28.0])


@dataclass(frozen=True)
class Sparks:
    """Instants (k,) s and how loud each is heard (k,), 0 where it isn't."""

    at_s: Floats
    heights_v: Floats


def sparks(build: Build, turning: Turning, pick_up: PickUp, rng: np.random.Generator) -> Sparks:
    """Every spark of the run as this pick-up hears it.

    Coil-on-plug: its own cylinder once a cycle, the others faintly.  Wasted spark: its own
    coil in both turns.  Distributor: the coil's lead hears every cylinder alike.
    Raises ValueError for an engine that ignites by compression.
    """
    if build.ignition == "compression":
        raise ValueError("an engine that ignites by compression has no spark to pick up")
    count = build.cylinders
    own = build.firing_order.index(pick_up.cylinder) / count
    instants, loud = [], []
    every = 0.5 if build.ignition == "wasted-spark" else 1.0
    coils = {round(place / count % every, 6): place / count % every for place in range(count)}
    for angle in coils.values():
        cycles = turning.passed(angle, every)
        nearest = _same_coil(build, own, angle)
        instants.append(_advanced(turning, cycles))
        loud.append(np.full(len(cycles), pick_up.height_v * (1.0 if nearest else pick_up.others)))
    if pick_up.doubles and build.ignition == "coil-on-plug":
        extra = turning.passed(own + 0.5)
        early = _advanced(turning, extra[turning.speed(turning.when(extra)) < DOUBLE_BELOW_RPM])
        instants.append(early)
        loud.append(np.full(len(early), pick_up.height_v))
    at_s, heights = np.concatenate(instants), np.concatenate(loud)
    order = np.argsort(at_s)
    at_s, heights = at_s[order], heights[order]
    heights = heights * rng.normal(1.0, pick_up.scatter, len(heights))
    heights[rng.random(len(heights)) < pick_up.missed] = 0.0
    return _repeated(Sparks(at_s, heights), turning, pick_up)


def _same_coil(build: Build, own: float, other: float) -> bool:
    if build.ignition == "distributor":
        return True
    apart = abs(own - other)
    if build.ignition == "wasted-spark":
        return min(apart, abs(apart - 0.5)) < 1e-6
    return apart < 1e-6


def _advanced(turning: Turning, cycles: Floats) -> Floats:
    """The instants of the sparks that belong to these top dead centres."""
    speed = turning.speed(turning.when(cycles))
    early = np.maximum(cycles - advance_deg(speed) / DEGREES, turning.cycles[0])
    return turning.when(early)


def _repeated(heard: Sparks, turning: Turning, pick_up: PickUp) -> Sparks:
    """With every spark's further strikes, each a little weaker, while the engine is slow."""
    if pick_up.strikes == 1:
        return heard
    slow = turning.speed(heard.at_s) < pick_up.strikes_below_rpm
    again = np.arange(pick_up.strikes)[:, None]
    at_s = heard.at_s + again * pick_up.strike_gap_s
    heights = heard.heights_v * 0.9**again * np.where(again > 0, slow, True)
    order = np.argsort(at_s.ravel(), kind="stable")
    return Sparks(at_s.ravel()[order], heights.ravel()[order])


def pick_up_volts(time_s: Floats, heard: Sparks, pick_up: PickUp) -> Floats:
    """What the pick-up puts out (n,) V at evenly spaced instants (n,) s."""
    out = np.zeros(len(time_s))
    step = time_s[1] - time_s[0]
    ringing = pick_up.shape == "ringing"
    length = int(np.ceil((7.0 * pick_up.decay_s if ringing else pick_up.square_s) / step)) + 1
    audible = heard.heights_v != 0.0
    first = np.ceil((heard.at_s[audible] - time_s[0]) / step).astype(np.int64)
    at = first[:, None] + np.arange(length)
    since = at * step + time_s[0] - heard.at_s[audible][:, None]
    if ringing:
        shape = np.exp(-since / pick_up.decay_s) * np.cos(2.0 * np.pi * pick_up.ring_hz * since)
    else:
        shape = np.where(since < pick_up.square_s, 1.0, 0.0)
    values = heard.heights_v[audible][:, None] * shape
    inside = (at >= 0) & (at < len(out))
    out += np.bincount(at[inside], weights=values[inside], minlength=len(out))
    return out
