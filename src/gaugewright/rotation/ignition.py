"""Rotation from ignition pulses."""

from __future__ import annotations

from gaugewright.job.model import SignalEntry, Vehicle
from gaugewright.quantities.said import said
from gaugewright.recording.types import Column, Note
from gaugewright.rotation.cycles import (
    FASTEST_RPM,
    cycle_degrees,
    cycle_edges,
    refused_speed,
    without_slow,
)
from gaugewright.rotation.levels import levels_of
from gaugewright.rotation.pulses import crossings
from gaugewright.rotation.rhythm import Beat, beat_of
from gaugewright.rotation.types import Rotation

SLOWEST_RPM = 400.0
"""Below this an engine is cranking, and some spark twice as often until synchronised."""


def pulses_per_cycle(entry: SignalEntry, vehicle: Vehicle) -> tuple[float, tuple[Note, ...]]:
    """How many pulses does this signal show in one cycle?

    Returns: the entry's own figure, else that of the ignition kind: coil-on-plug 1, wasted
    spark 2, a distributor's coil one for each cylinder (two-stroke: 1, 1, cylinders); silent:
    1, with a note.
    Source: each cylinder fires once a cycle; a wasted-spark coil also in the other revolution.
    """
    if entry.pulses_per_cycle is not None:
        return entry.pulses_per_cycle, ()
    if vehicle.ignition == "distributor":
        return float(vehicle.cylinders), ()
    if vehicle.ignition == "wasted-spark":
        return (1.0 if vehicle.cycle == "two-stroke" else 2.0), ()
    if vehicle.ignition == "coil-on-plug":
        return 1.0, ()
    text = said(
        "the kind of ignition is not stated: {column} was taken to pulse once a cycle; add "
        "ignition to [vehicle] or pulses_per_cycle to the signal",
        column=entry.column,
    )
    return 1.0, (Note("pulses-assumed", text),)


def rotation_from_ignition(
    label: str, column: Column, entry: SignalEntry, vehicle: Vehicle
) -> tuple[Rotation | None, tuple[Note, ...]]:
    """Which cycles do these ignition pulses show?

    Returns: the rotation and None's reasons as notes: `no-pulses`, `one-pulse`,
    `speed-impossible`.  Cycles below 400 rpm (cranking) are not good.
    """
    per_cycle, notes = pulses_per_cycle(entry, vehicle)
    levels = levels_of(column.values, column.interval_s)
    if levels is None:
        text = said(
            "{signal} holds no ignition pulses: nothing in it stands out of its noise", signal=label
        )
        return None, (Note("no-pulses", text),)
    found = crossings(column.time_s, column.values, levels)
    degrees = cycle_degrees(vehicle)
    beat = beat_of(found.time_s, degrees / 6.0 / FASTEST_RPM / per_cycle)
    if len(beat.time_s) < 2:
        text = said(
            "{signal} holds only one ignition pulse, and no speed can come from it", signal=label
        )
        return None, (Note("one-pulse", text),)
    edges, good = cycle_edges(beat.time_s, beat.unbroken, per_cycle)
    if not len(good):
        text = said(
            "{signal} holds {count} pulses, but no whole cycle in rhythm",
            signal=label,
            count=len(beat.time_s),
        )
        return None, (Note("no-rhythm", text),)
    counted = notes + repair_notes(label, beat)
    rotation = Rotation("ignition", label, edges, good, degrees, 0.0, counted)
    refused = refused_speed(rotation)
    return (None, (refused,)) if refused else (without_slow(rotation, SLOWEST_RPM), counted)


MERGED = "{signal}, crossings that were ringing or further strikes of a pulse: {count}"


def repair_notes(label: str, beat: Beat) -> tuple[Note, ...]:
    """Counts of what was repaired, each only where it happened."""
    counts = (
        ("pulses-missed", "{signal}, missed pulses put in by the rhythm: {count}", beat.missed),
        (
            "pulses-spurious",
            "{signal}, spurious pulses taken out by the rhythm: {count}",
            beat.spurious,
        ),
        ("pulses-merged", MERGED, beat.merged),
    )
    return tuple(Note(code, said(text, signal=label, count=n), n) for code, text, n in counts if n)
