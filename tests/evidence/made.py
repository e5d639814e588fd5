"""Recordings made by hand, quantities already, for questions whose answer is known."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugewright.evidence.case import Case, build_case
from gaugewright.evidence.cycles import Sensed, Span
from gaugewright.evidence.gather import HandValue, gather
from gaugewright.evidence.visiting import Bounds
from gaugewright.evidence.weigh import with_common_blocks
from gaugewright.physics.oil import grade_line
from gaugewright.rotation.types import Rotation
from gaugewright.sensing.shared import SharedErrors
from gaugewright.sensing.types import Signal

KPA = 1000.0
RATE_HZ = 200.0
REST_S = 1.0
"""Unmarked time before and after each stretch."""


@dataclass(frozen=True)
class Stretch:
    """One way in which the made engine is held: what the gauge and the crankcase truly show."""

    name: str
    gauge_kpa: float
    crankcase_kpa: float = 0.0
    rpm: float = 830.0
    length_s: float = 25.0
    did: tuple[str, ...] = ("nothing",)
    oil_degc: float | None = None
    coolant_degc: float | None = None


def signal(
    quantity: str, time_s: np.ndarray, values: np.ndarray, column: str = "", **more: object
) -> Signal:
    """A signal in house units that shares no error unless `gradient` says so."""
    gauge = "atmosphere" if quantity.endswith("pressure") else None
    plain = Signal(
        visit="first",
        recording="run",
        column=column or quantity,
        quantity=quantity,
        reference=gauge,
        time_s=time_s,
        values=np.asarray(values, dtype=float),
        interval_s=float(np.median(np.diff(time_s))),
        step=0.0,
        bad=None,
        at_low=None,
        at_high=None,
        gradient=lambda value: {},
        range_low=None,
        range_high=None,
    )
    return replace(plain, **more)


def turning(time_s: np.ndarray, speed_rpm: np.ndarray, source: str = "ignition") -> Rotation:
    """Cycles of two turns each, from the integral of the speed."""
    cycles = np.concatenate([[0.0], np.cumsum(speed_rpm[:-1] / 120.0 * np.diff(time_s))])
    edges = np.interp(np.arange(int(cycles[-1]) + 1), cycles, time_s)
    return Rotation(source, "run/spark", edges, np.ones(len(edges) - 1, bool), 720.0, 0.0)


def recording(
    *stretches: Stretch,
    visit: str = "first",
    name: str = "run",
    seed: int = 1,
    hunt_rpm: float = 12.0,
    noise_kpa: float = 0.4,
    speed_known: bool = True,
    crankcase: bool = True,
    **oil: object,
) -> Sensed:
    """The stretches one after another; the oil pressure goes with speed to the power 0.8.

    `oil` overrules fields of the oil pressure's signal.
    """
    rng = np.random.default_rng(seed)
    spans, parts, begin = [], [], 0.0
    for held in stretches:
        span = Span(held.name, held.did, begin + REST_S, begin + REST_S + held.length_s)
        spans.append(span)
        count = round((held.length_s + 2 * REST_S) * RATE_HZ)
        phase = rng.uniform(0, 6)
        wave = np.sin(phase + 2 * np.pi * np.arange(count) / RATE_HZ / 3.7)
        speed = (
            np.zeros(count) if "engine-off" in held.did else held.rpm + np.sqrt(2) * hunt_rpm * wave
        )
        lift = np.ones(count) if held.rpm == 0 else np.maximum(speed / held.rpm, 0.0) ** 0.8
        gauge = (held.gauge_kpa - held.crankcase_kpa) * lift + held.crankcase_kpa
        if "engine-off" in held.did:
            gauge = np.full(count, held.gauge_kpa)
        parts.append((speed, gauge, np.full(count, held.crankcase_kpa)))
        begin += held.length_s + 2 * REST_S
    speed, gauge, below = (np.concatenate([part[k] for part in parts]) for k in range(3))
    time = np.arange(len(speed)) / RATE_HZ
    noise = noise_kpa * rng.standard_normal((2, len(time))) * 3.0
    where = {"visit": visit, "recording": name}
    signals = [signal("oil-pressure", time, KPA * (gauge + noise[0]), **where, **oil)]
    if crankcase:
        signals.append(signal("crankcase-pressure", time, KPA * (below + 0.1 * noise[1]), **where))
    signals += temperatures(stretches, spans, time, where)
    rotation = turning(time, np.maximum(speed, 1e-3)) if speed_known else None
    if rotation is not None:
        rotation = replace(rotation, good=rotation.speed_rpm > 100)
    return Sensed(name, visit, 0.0, tuple(signals), rotation, tuple(spans))


def temperatures(
    stretches: tuple[Stretch, ...], spans: list[Span], time: np.ndarray, where: dict[str, str]
) -> list[Signal]:
    found = []
    for quantity, field in (
        ("oil-temperature", "oil_degc"),
        ("coolant-temperature", "coolant_degc"),
    ):
        known = [getattr(held, field) for held in stretches]
        if any(value is not None for value in known):
            edges = [span.from_s - REST_S for span in spans]
            place = np.searchsorted(edges, time, side="right") - 1
            values = np.array([np.nan if v is None else v for v in known])[place]
            found.append(signal(quantity, time, values, **where))
    return found


def case_of(
    *recordings: Sensed,
    hand: tuple[HandValue, ...] = (),
    book: SharedErrors | None = None,
    barometer_pa: float | None = None,
    noted: dict[tuple[str, str], list[float]] | None = None,
) -> Case:
    """The case of these recordings; what they share beside the common blocks is in `book`."""
    visits = tuple(dict.fromkeys([r.visit for r in recordings] + [h.visit for h in hand]))
    known = None if barometer_pa is None else 0.0
    full = with_common_blocks(book or SharedErrors(), visits, known)
    oils = {visit: grade_line("5W-30").at for visit in visits}
    return build_case(gather(recordings, hand), full, barometer_pa, oils, noted or {})


def hand(quantity: str, value: float, condition: str = "as found", **more: object) -> HandValue:
    """A hand reading in house units."""
    plain = HandValue(
        visit="first",
        condition=condition,
        quantity=quantity,
        reference="atmosphere" if quantity.endswith("pressure") else None,
        value=value,
        uncertainty=300.0,
        instrument=None,
        speed_rpm=None,
        oil_degc=None,
    )
    return replace(plain, **more)


def limit(least_kpa: float | None = 90.0, most_kpa: float | None = None, **more: object) -> Bounds:
    """An oil-pressure limit for the gauge at idle."""
    plain = Bounds(
        name="hot idle",
        quantity="oil-pressure",
        reference="atmosphere",
        least=None if least_kpa is None else KPA * least_kpa,
        most=None if most_kpa is None else KPA * most_kpa,
        speed_rpm=830.0,
        tolerance_rpm=50.0,
        oil_degc=None,
        stage=None,
        did=frozenset(),
        crankcase_pa=0.0,
    )
    return replace(plain, **more)
