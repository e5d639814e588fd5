"""Rotation from a toothed wheel on crank or cam, its gap of missing teeth found by the rhythm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.job.model import SignalEntry, Vehicle
from gaugewright.quantities.said import said
from gaugewright.recording.types import Column, Note
from gaugewright.rotation.cycles import cycle_degrees, cycle_edges, refused_speed
from gaugewright.rotation.rhythm import Beat, Floats, Ints, beat_of, running_period
from gaugewright.rotation.teeth import teeth_of
from gaugewright.rotation.types import Rotation

PLAUSIBLE_RPM = (300.0, 7000.0)


@dataclass(frozen=True)
class Wheel:
    """A wheel's geometry: positions counted all round, of which so many teeth are missing."""

    positions: int
    missing: int

    @property
    def edges(self) -> int:
        """Teeth that pass in one turn."""
        return self.positions - self.missing

    @property
    def gap_ratio(self) -> float:
        """The gap from edge to edge over the distance of two neighbouring teeth."""
        return self.missing + 1.0

    @property
    def degrees(self) -> float:
        """Degrees of the wheel from one position to the next."""
        return 360.0 / self.positions


NO_WHEEL = "{signal} holds no wheel: {teeth} teeth passed"


def rotation_from_wheel(
    label: str, column: Column, entry: SignalEntry, vehicle: Vehicle
) -> tuple[Rotation | None, tuple[Note, ...]]:
    """Which cycles does this wheel show?

    Returns: the rotation, one edge for every cycle's turn of the wheel, or None with the
    reasons as notes: `no-pulses`, `teeth-unknown`, `speed-impossible`.
    """
    teeth = teeth_of(column.time_s, column.values, column.interval_s)
    if len(teeth) < 4:
        return None, (Note("no-pulses", said(NO_WHEEL, signal=label, teeth=len(teeth))),)
    wheel, notes = _wheel(label, entry, teeth)
    if wheel is None:
        return None, notes
    beat, per_turn, gap_notes = _turns(label, teeth, wheel)
    turns, turn_notes = _turns_per_cycle(label, entry, vehicle, beat, per_turn)
    edges, good = cycle_edges(beat.time_s, beat.unbroken, turns * per_turn)
    if not len(good):
        return None, (
            Note("no-rhythm", said("{signal} holds no whole cycle in rhythm", signal=label)),
        )
    notes = notes + gap_notes + turn_notes
    rotation = Rotation(entry.quantity, label, edges, good, cycle_degrees(vehicle), 0.0, notes)
    refused = refused_speed(rotation)
    return (None, (refused,)) if refused else (rotation, notes)


def _wheel(label: str, entry: SignalEntry, teeth: Floats) -> tuple[Wheel | None, tuple[Note, ...]]:
    """The wheel as stated; what is silent is taken from the gap in the rhythm."""
    if entry.teeth is not None and entry.missing is not None:
        return Wheel(entry.teeth, entry.missing), ()
    seen = _seen(teeth)
    if entry.teeth is not None:
        fits = seen is not None and seen.positions == entry.teeth
        return Wheel(entry.teeth, seen.missing if seen and fits else 0), ()
    if seen is None:
        text = said(
            "{signal} states no number of teeth, and no gap shows it; add teeth to the signal",
            signal=label,
        )
        return None, (Note("teeth-unknown", text),)
    text = said(
        "{signal} states no number of teeth: {positions} positions with {missing} missing were "
        "taken from its rhythm",
        signal=label,
        positions=seen.positions,
        missing=seen.missing,
    )
    return seen, (Note("teeth-guessed", text),)


def _seen(teeth: Floats) -> Wheel | None:
    """The wheel that the rhythm itself shows: a gap that comes back after equal counts."""
    intervals = np.diff(teeth)
    ratio = intervals / running_period(intervals)
    gaps = np.flatnonzero(ratio > 1.5)
    if len(gaps) < 4:
        return None
    counts = np.diff(gaps)
    edges = int(np.median(counts))
    missing = int(np.round(np.median(ratio[gaps]))) - 1
    return Wheel(edges + missing, missing) if np.mean(counts == edges) > 0.6 else None


def _turns(label: str, teeth: Floats, wheel: Wheel) -> tuple[Beat, int, tuple[Note, ...]]:
    """The beat of the wheel's turns by its gap, or of its teeth where there is none."""
    if wheel.missing < 1:
        beat = beat_of(teeth)
        return beat, wheel.positions, _tooth_notes(label, beat.missed, beat.spurious)
    after = _after_gaps(teeth, wheel)
    expected = float(np.sum(np.diff(teeth) / running_period(np.diff(teeth)))) / wheel.positions
    if len(after) < max(2.0, 0.5 * expected - 1.0):
        beat = beat_of(teeth)
        text = said(
            "{signal}: the gap of {missing} missing teeth was not found; {positions} teeth a turn "
            "were counted instead",
            signal=label,
            missing=wheel.missing,
            positions=wheel.positions,
        )
        note = Note("wheel-gap-missing", text)
        return beat, wheel.positions, (note, *_tooth_notes(label, beat.missed, beat.spurious))
    counts = np.diff(after)
    turns = np.maximum(1, np.round(counts / wheel.edges)).astype(np.int64)
    near = np.abs(counts - turns * wheel.edges) < 0.5 * wheel.edges
    surplus = (counts - turns * wheel.edges)[near]
    missed, spurious = int(-surplus[surplus < 0].sum()), int(surplus[surplus > 0].sum())
    return beat_of(teeth[after]), 1, _tooth_notes(label, missed, spurious)


def _after_gaps(teeth: Floats, wheel: Wheel) -> Ints:
    """The first tooth after each gap that has another gap one turn before or after it."""
    intervals = np.diff(teeth)
    period = running_period(intervals)
    wide = intervals / period > 1.0 + 0.5 * wheel.missing
    candidates = np.flatnonzero(wide) + 1
    if len(candidates) < 2:
        return candidates
    at, turn = teeth[candidates], wheel.positions * period[candidates - 1]
    partnered = np.zeros(len(at), dtype=bool)
    for sign in (-1.0, 1.0):
        partnered |= _nearest(at, at + sign * turn) < 0.12 * turn
    return candidates[partnered]


def _nearest(times: Floats, wanted: Floats) -> Floats:
    """How far the nearest of these times lies from each wanted one."""
    right = np.clip(np.searchsorted(times, wanted), 1, len(times) - 1)
    return np.minimum(np.abs(times[right] - wanted), np.abs(times[right - 1] - wanted))


def _turns_per_cycle(
    label: str, entry: SignalEntry, vehicle: Vehicle, beat: Beat, per_turn: int
) -> tuple[int, tuple[Note, ...]]:
    """Turns of the wheel in one cycle, and a note where a silent `turns` is in doubt."""
    on_crank = 1 if vehicle.cycle == "two-stroke" else 2
    if entry.turns is not None or entry.quantity == "cam":
        return (on_crank if entry.turns == "crank" else 1), ()
    intervals = np.diff(beat.time_s)[beat.unbroken]
    if not len(intervals):
        return on_crank, ()
    as_crank = 60.0 / (float(np.median(intervals)) * per_turn)
    low, high = PLAUSIBLE_RPM
    if low <= as_crank <= high or not low <= on_crank * as_crank <= high:
        return on_crank, ()
    text = said(
        "{signal} was taken to turn with the crank, which gives {crank:.0f} rpm; on the cam it "
        'would be {cam:.0f} rpm: add turns = "crank" or "cam"',
        signal=label,
        crank=as_crank,
        cam=on_crank * as_crank,
    )
    return on_crank, (Note("wheel-turns-unsure", text),)


def _tooth_notes(label: str, missed: int, spurious: int) -> tuple[Note, ...]:
    counts = (
        ("pulses-missed", "{signal}, missed teeth: {count}", missed),
        ("pulses-spurious", "{signal}, edges that were no teeth: {count}", spurious),
    )
    return tuple(Note(code, said(text, signal=label, count=n), n) for code, text, n in counts if n)
