"""What a job leaves silent and the format settles: visits, actions, units, alignment."""

from __future__ import annotations

from typing import Any, TypeVar

from gaugewright.job.context import FIRST
from gaugewright.job.model import (
    Condition,
    HandReading,
    Job,
    Part,
    RecordingEntry,
    SignalEntry,
    Visit,
)
from gaugewright.job.references import shared_quantities
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.units import split, stated_reference

P = TypeVar("P", bound=Part)


def settle(job: Job) -> Job:
    """The same job with every silent word said that the format defines.

    A job without visits gets one named "first"; with one visit, every part belongs to it; a
    condition without actions did "nothing"; a pulse column without a unit is in V; a unit
    such as "psia" states its reference; two aligned recordings say by which quantity.
    """
    visits = job.visits or (Visit(name=FIRST),)
    name = visits[0].name
    visited = tuple(_visited(entry, name) for entry in job.recordings)
    recordings = tuple(_recording(entry, visited) for entry in visited)
    return _with(
        job,
        visits=visits,
        observations=tuple(_visited(part, name) for part in job.observations),
        recordings=recordings,
        readings=tuple(_visited(_reading(part), name) for part in job.readings),
        work=tuple(_visited(part, name) for part in job.work),
    )


def _with(part: P, **changes: Any) -> P:
    return part.model_copy(update=changes) if changes else part


def _visited(part: P, name: str) -> P:
    return _with(part, visit=name) if getattr(part, "visit", None) is None else part


def _recording(entry: RecordingEntry, visited: tuple[RecordingEntry, ...]) -> RecordingEntry:
    changes: dict[str, Any] = {
        "signals": tuple(_signal(signal) for signal in entry.signals),
        "conditions": tuple(_condition(stretch) for stretch in entry.conditions),
    }
    if entry.aligned_with is not None and entry.aligned_by is None:
        others = [other for other in visited if other.visit == entry.visit]
        partner = next(other for other in others if other.name == entry.aligned_with)
        changes["aligned_by"] = shared_quantities(entry, partner)[0]
    return _with(entry, **changes)


def _signal(signal: SignalEntry) -> SignalEntry:
    changes: dict[str, Any] = {}
    if signal.sensor is None and signal.unit is None and QUANTITIES[signal.quantity].pulses:
        changes["unit"] = "V"
    if signal.reference is None and signal.unit is not None:
        stated = stated_reference(signal.unit)
        changes.update({"reference": stated} if stated else {})
    return _with(signal, **changes)


def _condition(stretch: Condition) -> Condition:
    return stretch if stretch.did else _with(stretch, did=("nothing",))


def _reading(reading: HandReading) -> HandReading:
    stated = stated_reference(split(reading.value.text)[1])
    if reading.reference is None and stated:
        return _with(reading, reference=stated)
    return reading
