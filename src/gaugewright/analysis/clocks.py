"""Several recordings on one clock: by a stated offset, or by a signal that two of them hold."""

from __future__ import annotations

from dataclasses import replace

from gaugewright.analysis.lanes import Lanes, with_offset
from gaugewright.errors import InputError, Problem
from gaugewright.evidence.cycles import Sensed
from gaugewright.job.model import Job, RecordingEntry
from gaugewright.quantities.said import said
from gaugewright.sensing.types import Signal

NEAR_S = 60.0
"""A stated offset is looked about by this much when an alignment is asked for as well (J)."""


def aligned(lanes: Lanes, job: Job) -> tuple[Lanes, tuple[tuple[str, str], ...]]:
    """The lanes with every asked-for alignment done, and a sentence for each (name, text)."""
    by_name = {(sensed.visit, sensed.name): sensed for sensed in lanes.sensed}
    told = []
    problems = []
    for entry in _in_order(job.recordings):
        if not entry.aligned_with:
            continue
        try:
            visit = entry.visit or ""
            fixed, moved = by_name[visit, entry.aligned_with], by_name[visit, entry.name]
            offset, text = _offset(fixed, moved, entry)
        except ValueError as error:
            problems.append(_refused(entry, str(error)))
            continue
        by_name[visit, entry.name] = with_offset(moved, offset)
        told.append((entry.name, text))
    if problems:
        raise InputError(problems)
    return replace(lanes, sensed=tuple(by_name[s.visit, s.name] for s in lanes.sensed)), tuple(told)


def _in_order(entries: tuple[RecordingEntry, ...]) -> list[RecordingEntry]:
    """Recordings after those they are aligned with."""
    placed: list[RecordingEntry] = []
    waiting = list(entries)
    while waiting:
        names = {(entry.visit, entry.name) for entry in placed}
        ready = [e for e in waiting if not e.aligned_with or (e.visit, e.aligned_with) in names]
        placed += ready or waiting
        waiting = [e for e in waiting if e not in placed]
    return placed


def _offset(fixed: Sensed, moved: Sensed, entry: RecordingEntry) -> tuple[float, str]:
    from gaugewright.recording.alignment import offset_between

    quantity = entry.aligned_by or ""
    one, other = _signal(fixed, quantity), _signal(moved, quantity)
    stated = 0.0 if entry.clock_offset is None else moved.offset_s - fixed.offset_s
    within = None if entry.clock_offset is None else NEAR_S
    found, uncertainty = offset_between(
        one.time_s, one.values, other.time_s + stated, other.values, within
    )
    found += stated
    text = said(
        "put on the clock of {other} by {quantity}: {offset:+.3f} s, standard uncertainty "
        "{uncertainty:.3f} s",
        other=fixed.name,
        quantity=said(quantity),
        offset=float(found),
        uncertainty=float(uncertainty),
    )
    return fixed.offset_s + found, text


def _signal(sensed: Sensed, quantity: str) -> Signal:
    for signal in sensed.signals:
        if signal.quantity == quantity:
            return signal
    raise ValueError(f"{sensed.name} holds no {quantity}")


def _refused(entry: RecordingEntry, found: str) -> Problem:
    return Problem(
        "job.toml",
        f'recording "{entry.name}", aligned_with',
        found,
        "state a clock_offset instead, or name a signal that both recordings hold",
    )
