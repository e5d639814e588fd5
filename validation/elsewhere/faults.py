"""What the faults of a car change, all of them together."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import reduce
from typing import Any

import numpy as np

from validation.elsewhere.car import Car
from validation.elsewhere.causes import Truth
from validation.elsewhere.tables import Rng, happens, table

LOOSE = 0.12  # how loosely the numbers of one fault follow its severity, standard deviation
GROUPS = {
    "trims": ("trim_idle", "trim_fast"),
    "rough": ("rough", "hunt_rpm"),
    "thin": ("thin_hot", "thin_cold"),
}
FAR_MORE = 0.08  # share of torn regulators that draw far more than usual


@dataclass(frozen=True)
class Effect:
    """Changes to a sound engine.  Names as in faults.toml; `below` and `after` as logarithms."""

    below_idle: float = 0.0
    below_fast: float = 0.0
    below_cold: float = 0.0
    after_idle: float = 0.0
    after_fast: float = 0.0
    after_cold: float = 0.0
    thin_hot: float = 0.0
    thin_cold: float = 0.0
    ceiling: float = 0.0  # a ceiling at this share of the sound hot-idle pressure; 0: none
    unrelieved: float = 0.0  # how much higher the ceiling stands
    stuck: float = 0.0
    bare_idle: float = 0.0
    bare_fast: float = 0.0
    bare_depth: float = 0.0
    foam: float = 0.0
    sag_fast: float = 0.0
    build_s: float = 0.0
    suction: float = 0.0
    crank_idle: float = 0.0
    crank_fast: float = 0.0
    set_idle: float | None = None
    set_fast: float | None = None
    trim_idle: float = 0.0
    trim_fast: float = 0.0
    plug_back: float = 0.0  # percent of trim at idle that goes when the vent is plugged
    idle_rise_rpm: float = 0.0
    hunt_rpm: float = 0.0
    rough: float = 0.0
    vacuum: float = 0.0
    pulses: float = 0.0
    offset_kpa: float = 0.0  # the first gauge's own: the test is at fault
    gain: float = 0.0
    hotter_k: float = 0.0  # oil hotter than the job says


LOGS = tuple(f.name for f in fields(Effect) if f.name.startswith(("below", "after", "thin")))


def effects(rng: Rng, truth: Truth, car: Car) -> dict[str, Effect]:
    """What each fault of this car changes by itself."""
    pairs = zip(truth.causes, truth.severity, strict=True)
    return {cause: one_effect(rng, cause, severity, car) for cause, severity in pairs}


def together(known: dict[str, Effect], cured: tuple[str, ...] = ()) -> Effect:
    """Everything the faults change together, without those cured."""
    left = [found for cause, found in known.items() if cause not in cured]
    return reduce(joined, left, Effect())


def one_effect(rng: Rng, cause: str, severity: float, car: Car) -> Effect:
    """What one fault of this severity changes in this car."""
    spans = dict(table("faults")[cause])
    _leave_out(rng, spans)
    drawn: dict[str, Any] = {name: _value(rng, span, severity) for name, span in spans.items()}
    if "set_fast" in drawn:  # a crankcase's own pressure rises with speed: one size for both
        drawn["set_fast"] = _alike(drawn["set_idle"], spans["set_idle"], spans["set_fast"])
    for name in set(drawn) & set(LOGS):
        drawn[name] = float(np.log1p(drawn[name]))
    found = Effect(**drawn)
    return _fit(rng, cause, severity, car, found)


def _leave_out(rng: Rng, spans: dict[str, Any]) -> None:
    """Drop what this fault does only in some cars."""
    for group, chance in spans.pop("chance", {}).items():
        if not happens(rng, chance):
            for name in GROUPS[group]:
                spans.pop(name, None)


def _value(rng: Rng, span: list[float], severity: float) -> float:
    place = float(np.clip(severity + rng.normal(0.0, LOOSE), 0.0, 1.0))
    return span[0] + (span[1] - span[0]) * place


def _alike(value: float, span: list[float], other: list[float]) -> float:
    """As far along the other span as the value is along its own."""
    return other[0] + (other[1] - other[0]) * (value - span[0]) / (span[1] - span[0])


def _fit(rng: Rng, cause: str, severity: float, car: Car, found: Effect) -> Effect:
    """Bring one fault's numbers into the car it sits in."""
    if cause == "ventilation-regulator-torn":
        found = _torn(rng, car, found)
    if cause == "intake-leak":  # a hole passes the same air at idle and at speed
        found = replace(found, trim_fast=found.trim_idle * car.air_idle / car.air_fast)
    if cause == "test-fault":
        found = _test_fault(rng, severity, found)
    found = replace(found, plug_back=found.plug_back * found.trim_idle)
    return _metered(found, cause, car)


def _torn(rng: Rng, car: Car, found: Effect) -> Effect:
    """At least 4 kPa below the air; in some cars far more than usual."""
    more = float(rng.uniform(1.4, 2.2)) if happens(rng, FAR_MORE) else 1.0
    idle = min(found.crank_idle * more, -4.0 - car.crank_idle)
    return replace(found, crank_idle=idle, crank_fast=found.crank_fast * more)


def _test_fault(rng: Rng, severity: float, found: Effect) -> Effect:
    """Zero lost, leak or air in the hose or a poor port, or oil hotter than said."""
    kind = rng.uniform()
    if kind < 0.4:
        low = happens(rng, 0.75)
        size = 14.0 + (60.0 if low else 35.0) * severity
        return replace(found, offset_kpa=-size if low else size)
    if kind < 0.8:
        return replace(found, gain=_value(rng, [-0.12, -0.45], severity))
    return replace(found, hotter_k=_value(rng, [12.0, 35.0], severity))


def _metered(found: Effect, cause: str, car: Car) -> Effect:
    """Air that came in beside the meter shows in the trims only where air is metered."""
    if not car.trims:
        return replace(found, trim_idle=0.0, trim_fast=0.0, plug_back=0.0)
    airy = cause in ("ventilation-regulator-torn", "crankcase-open", "intake-leak")
    if not airy or car.metering == "air-mass":
        return found
    share, faster = 0.08, 1.4
    return replace(
        found,
        trim_idle=found.trim_idle * share,
        trim_fast=found.trim_fast * share,
        plug_back=found.plug_back * share,
        idle_rise_rpm=found.idle_rise_rpm * faster,
    )


def joined(one: Effect, other: Effect) -> Effect:
    """Two faults in one car: shares multiply, shifts add, one ceiling, one crankcase set."""
    summed = {
        f.name: getattr(one, f.name) + getattr(other, f.name)
        for f in fields(Effect)
        if f.name not in ("set_idle", "set_fast", "ceiling")
    }
    ceilings = [e.ceiling for e in (one, other) if e.ceiling > 0.0]
    return Effect(
        **summed,
        ceiling=min(ceilings, default=0.0),
        set_idle=_set(one.set_idle, other.set_idle),
        set_fast=_set(one.set_fast, other.set_fast),
    )


def _set(one: float | None, other: float | None) -> float | None:
    known = [value for value in (one, other) if value is not None]
    return max(known, default=None)
