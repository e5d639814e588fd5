"""Rotation from a sampled engine-speed column, by integrating it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaugewright.job.model import SignalEntry, Vehicle
from gaugewright.quantities.said import said
from gaugewright.quantities.units import scale
from gaugewright.recording.types import Column, Note
from gaugewright.rotation.cycles import cycle_degrees, joined, refused_speed, unbroken_runs
from gaugewright.rotation.types import Rotation

Floats = npt.NDArray[np.float64]

TURNING_RPM = 60.0
LONGEST_GAP_S = 5.0
FINER = 8
"""Points to which each interval is divided, so that a changing speed is followed within it."""


def rotation_from_speed(
    label: str, column: Column, entry: SignalEntry, vehicle: Vehicle
) -> tuple[Rotation | None, tuple[Note, ...]]:
    """Which cycles does this sampled engine speed imply?

    The speed is joined by lines and integrated; a cycle ends where the integral passes a whole
    number.  Below 60 rpm, and across more than 5 s without a value, there are no cycles.
    Returns: the rotation, `refresh_s` the column's own interval, or None with the reasons.
    """
    factor, offset = scale(entry.unit or column.unit or "rpm", "speed")
    speed = factor * column.values + offset
    known = np.isfinite(speed)
    time_s, speed = column.time_s[known], speed[known]
    turning = speed > TURNING_RPM
    gap = max(LONGEST_GAP_S, 4.0 * column.interval_s)
    unbroken = turning[:-1] & turning[1:] & (np.diff(time_s) < gap)
    degrees = cycle_degrees(vehicle)
    runs = [
        _run_edges(time_s[first : last + 1], speed[first : last + 1], degrees)
        for first, last in unbroken_runs(unbroken)
    ]
    edges, good = joined([run for run in runs if len(run) > 1])
    if not len(good):
        return None, (Note("no-speed", said(TOO_SLOW, signal=label, speed=TURNING_RPM)),)
    rotation = Rotation("engine-speed", label, edges, good, degrees, column.interval_s)
    refused = refused_speed(rotation)
    return (None, (refused,)) if refused else (rotation, ())


TOO_SLOW = "{signal} holds no engine speed above {speed} rpm"


def _run_edges(time_s: Floats, speed_rpm: Floats, degrees: float) -> Floats:
    steps = np.arange((len(time_s) - 1) * FINER + 1) / FINER
    fine = np.interp(steps, np.arange(len(time_s)), time_s)
    rates = np.interp(fine, time_s, speed_rpm) * 6.0 / degrees
    growth = 0.5 * (rates[1:] + rates[:-1]) * np.diff(fine)
    phase = np.concatenate(([0.0], np.cumsum(growth)))
    return np.interp(np.arange(int(phase[-1]) + 1), phase, fine)
