"""Cycle-level stretches handed to the evidence room, and what it finds in them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from validation.classes import Pair, Scene, Stretch
from validation.engine import viscosity_cst
from validation.noise import Floats

SAMPLES_HZ = 100.0
APART_S = 60.0


@dataclass(frozen=True)
class Limited:
    """A least gauge pressure to check in the first stretch, kPa."""

    least_kpa: float


def _samples(stretch: Stretch) -> tuple[Floats, Floats]:
    """(n,) sample times over the stretch and (n,) the cycle that each falls in."""
    edges = _edges(stretch)
    time_s = np.arange(edges[0] + 0.5 / SAMPLES_HZ, edges[-1], 1.0 / SAMPLES_HZ)
    return time_s, np.clip(np.searchsorted(edges, time_s) - 1, 0, len(edges) - 2)


def _edges(stretch: Stretch) -> Floats:
    start = stretch.time_s[0] - 0.5 * stretch.duration_s[0]
    return np.concatenate([[start], start + np.cumsum(stretch.duration_s)])


def _rotation(stretch: Stretch, scene: Scene, rng: np.random.Generator) -> Any:
    """True edges, or what a slow and late speed column makes of them."""
    from gaugewright.job.model import SignalEntry, Vehicle
    from gaugewright.recording.types import Column
    from gaugewright.rotation.column import rotation_from_speed
    from gaugewright.rotation.types import Rotation

    edges = _edges(stretch)
    if scene.kind != "slow-late-speed":
        good = np.ones(len(edges) - 1, dtype=np.bool_)
        return Rotation("ignition", "spark", edges, good, 720.0, 0.0)
    refresh = scene.refresh_s
    taken = np.arange(edges[0] - rng.uniform(0.0, refresh), edges[-1] + refresh, refresh)
    shown = np.interp(taken - scene.delay_s, stretch.time_s, stretch.true_rpm)
    step = float(rng.choice([0.25, 1.0, 4.0]))
    values = np.round(shown / step) * step
    column = Column("rpm", taken, values, refresh, step, "rpm")
    entry = SignalEntry(column="rpm", quantity="engine-speed", unit="rpm")
    vehicle = Vehicle(cylinders=4, cycle="four-stroke")
    return rotation_from_speed("rpm", column, entry, vehicle)[0]


def _signal(name: str, quantity: str, reference: str | None, time_s: Floats, values: Floats) -> Any:
    from gaugewright.sensing.signals import no_errors
    from gaugewright.sensing.types import Signal

    return Signal(
        visit="only",
        recording=name,
        column=quantity,
        quantity=quantity,
        reference=reference,
        time_s=time_s,
        values=values,
        interval_s=1.0 / SAMPLES_HZ,
        step=0.0,
        bad=None,
        at_low=None,
        at_high=None,
        gradient=no_errors,
        range_low=None,
        range_high=None,
    )


def _sensed(
    name: str, did: str, stretch: Stretch, scene: Scene, offset_s: float, rng: np.random.Generator
) -> Any:
    from gaugewright.evidence.cycles import Sensed, Span

    time_s, cycle = _samples(stretch)
    middle = 0.5 * (time_s[0] + time_s[-1])
    degc = scene.middle_degc + scene.warming_k_per_min / 60.0 * (time_s - middle)
    signals = (
        _signal(name, "oil-pressure", "atmosphere", time_s, 1e3 * stretch.gauge_kpa[cycle]),
        _signal(
            name, "crankcase-pressure", "atmosphere", time_s, 1e3 * stretch.crankcase_kpa[cycle]
        ),
        _signal(name, "oil-temperature", None, time_s, degc),
    )
    edges = _edges(stretch)
    span = Span(name, (did,), float(edges[0]) - 1e-6, float(edges[-1]) + 1e-6)
    rotation = _rotation(stretch, scene, rng)
    return Sensed(name, "only", offset_s, signals, rotation, (span,))


def findings_of(pair: Pair, number: int, limited: Limited | None = None) -> Any:
    """What the evidence room finds in a pair of stretches, without sensor errors.

    With a limit to check only the first stretch is handed over.
    """
    from gaugewright.evidence.limits import Bounds
    from gaugewright.evidence.weigh import Questions, weigh, with_common_blocks
    from gaugewright.sensing.shared import SharedErrors

    rng = np.random.default_rng([number, 1])
    recordings = (_sensed("as found", "nothing", pair.first, pair.scene, 0.0, rng),)
    if limited is None:
        second = _sensed("cap off", "filler-cap-off", pair.second, pair.scene, APART_S, rng)
        recordings = (*recordings, second)
    bounds: tuple[Bounds, ...] = ()
    if limited is not None:
        least = 1e3 * limited.least_kpa
        did: frozenset[str] = frozenset()
        bounds = (
            Bounds(
                "least",
                "oil-pressure",
                "atmosphere",
                least,
                None,
                None,
                None,
                None,
                None,
                did,
                None,
            ),
        )
    book = with_common_blocks(SharedErrors(), ("only",), None)
    oils = {"only": lambda degc: float(viscosity_cst("5W-30", degc))}
    return weigh(recordings, (), book, None, oils, Questions("stretch", limits=bounds))[0]
