"""A recorded column as a quantity: house units, shared errors, health."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaugewright.job.model import Sensor, SignalEntry
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.said import said
from gaugewright.quantities.units import stated_reference
from gaugewright.recording.types import Column, Note, Recorded
from gaugewright.sensing.calibration import Calibration
from gaugewright.sensing.conversion import (
    column_of,
    supply_in_column,
    through_sensor,
    unit_scale,
)
from gaugewright.sensing.health import Health, health_of, with_standing
from gaugewright.sensing.types import Bools, Gradient, Signal

Floats = npt.NDArray[np.float64]


def no_errors(_value: float) -> Mapping[str, Floats]:
    """The gradient of a column given in a unit: it carries no sensor error of ours."""
    return {}


RANGE_MARGIN = 0.005
"""Noise about the end of a range is not beyond it: this share of the range is let pass (J)."""


def sense(
    recorded: Recorded,
    entry: SignalEntry,
    sensor: Sensor | None,
    calibration: Calibration | None,
    visit: str,
) -> Signal:
    """What does this column say, in house units, and how healthy is it?

    Parameters: `sensor` with its `calibration`, or None for both where the column is already
    in a unit.
    Returns: the `Signal`.  Nothing is removed or replaced: `bad`, `at_low`, `at_high` mark
    samples, the notes count them.
    Raises: InputError where the column or its unit is missing.
    """
    column = column_of(recorded, entry, entry.column)
    gradient: Callable[[float], Gradient] = no_errors
    low = high = supply = ends = None
    slack = 0.0
    if sensor is not None and calibration is not None:
        values, factor, notes = through_sensor(recorded, entry, column, sensor, calibration)
        gradient, low, high = calibration.gradient, calibration.range_low, calibration.range_high
        notes = calibration.notes + notes
        supply, ends = supply_in_column(entry, column, sensor), calibration.ends
        known_to = 2.0 * float(np.hypot(calibration.point_sd, calibration.common_sd))
        slack = max(0.5 * abs(factor) * column.step, known_to)
    else:
        factor, offset = unit_scale(recorded, entry, column)
        values, notes = factor * column.values + offset, ()
    health = health_of(column, supply)
    if entry.quantity == "engine-speed":
        health = replace(health, at_low=None, at_high=None)
    health = with_standing(health, values, ends, factor, slack)
    at_low, at_high = (health.at_low, health.at_high)[:: 1 if factor > 0 else -1]
    return Signal(
        visit=visit,
        recording=recorded.name,
        column=entry.column,
        quantity=entry.quantity,
        reference=reference_of(entry, column, calibration),
        time_s=column.time_s,
        values=values,
        interval_s=column.interval_s,
        step=abs(factor) * column.step,
        bad=health.bad,
        at_low=at_low,
        at_high=at_high,
        gradient=gradient,
        range_low=low,
        range_high=high,
        notes=column.notes + notes + _health_notes(health, factor) + _outside(values, low, high),
    )


def bridged(signal: Signal) -> Floats:
    """The values with bad and missing samples replaced by straight lines across them.

    Interference comes at one phase of the cycle, always the same: a mean over the samples left
    would weigh that phase less, a mean over the bridged values does not.
    """
    left_out = ~np.isfinite(signal.values)
    if signal.bad is not None:
        left_out |= signal.bad
    if not left_out.any() or left_out.all():
        return signal.values
    values = signal.values.copy()
    keep = ~left_out
    values[left_out] = np.interp(signal.time_s[left_out], signal.time_s[keep], values[keep])
    return values


def reference_of(entry: SignalEntry, column: Column, calibration: Calibration | None) -> str | None:
    """What a pressure is measured against, by its calibration, its entry or its column."""
    if not QUANTITIES[entry.quantity].is_pressure:
        return None
    if calibration is not None:
        return calibration.reference
    return entry.reference or stated_reference(entry.unit or column.unit or "") or "atmosphere"


def _count(marks: Bools | None) -> int:
    return 0 if marks is None else int(np.count_nonzero(marks))


INTERFERENCE = "interference, left out of every mean: samples {count}"
DROPPED = "drop-outs, left out of every mean: samples {count}"
MISSING = "missing: samples {count}"
ON_LOWEST = "on the stop at the lowest value: samples {count}"
ON_HIGHEST = "on the stop at the highest value: samples {count}"
OUTSIDE = "outside the sensor's range: samples {count}"


def _health_notes(health: Health, factor: float) -> tuple[Note, ...]:
    low, high = (ON_LOWEST, ON_HIGHEST)[:: 1 if factor > 0 else -1]
    counts = (
        ("interference", INTERFERENCE, health.spikes),
        ("drop-outs", DROPPED, health.dropped),
        ("missing-samples", MISSING, health.missing),
        ("at-stop", low, _count(health.at_low)),
        ("at-stop", high, _count(health.at_high)),
    )
    return tuple(
        Note(code, said(text, count=count), count) for code, text, count in counts if count
    )


def _outside(values: Floats, low: float | None, high: float | None) -> tuple[Note, ...]:
    """A note that counts the samples outside the stated range; they are flagged, not removed."""
    if low is None or high is None:
        return ()
    margin = RANGE_MARGIN * (high - low)
    count = int(np.count_nonzero(values < low - margin) + np.count_nonzero(values > high + margin))
    if not count:
        return ()
    return (Note("out-of-range", said(OUTSIDE, count=count), count),)
