"""What a column's numbers mean in house units: through a sensor's line, or through its unit."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import Sensor, SignalEntry
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.said import said
from gaugewright.quantities.units import UnitError, dimension_of, scale, split
from gaugewright.recording.types import Column, Note, Recorded
from gaugewright.sensing.calibration import Calibration

Floats = npt.NDArray[np.float64]

SUPPLY_WINDOW_S = 0.5


def column_of(recorded: Recorded, entry: SignalEntry, name: str) -> Column:
    """The column of this name, or one sentence that says which there are."""
    if name in recorded.columns:
        return recorded.columns[name]
    have = ", ".join(recorded.columns) or "none"
    place = f'signal "{entry.column}"'
    found = f'no column "{name}" in {recorded.path}'
    raise InputError(Problem("job.toml", place, found, f"name one of its columns: {have}"))


def unit_scale(recorded: Recorded, entry: SignalEntry, column: Column) -> tuple[float, float]:
    """Factor and offset from a unit column's numbers to the quantity's house unit."""
    unit = entry.unit or column.unit
    if unit is None:
        place = f'signal "{entry.column}"'
        found = f"{recorded.path} states no unit for it and the job neither"
        raise InputError(Problem("job.toml", place, found, 'add sensor = "…" or unit = "…"'))
    try:
        return scale(unit, QUANTITIES[entry.quantity].dimension)
    except UnitError as error:
        place = f'signal "{entry.column}", unit'
        raise InputError(Problem("job.toml", place, error.found, error.remedy)) from error


def output_scale(entry: SignalEntry, column: Column, sensor: Sensor) -> tuple[float, float]:
    """Factor and offset from a sensor column's numbers to the house unit of its output.

    The unit is the entry's, else the file's, else that in which the sensor's points are
    written ("0.5 V").  A file's unit of another kind than the points' is not believed.
    """
    points_unit = split(sensor.points[0][0].text)[1]
    dimension = dimension_of(points_unit)
    if dimension is None:
        return 1.0, 0.0
    for unit in (entry.unit, column.unit):
        if unit is not None and dimension_of(unit) == dimension:
            return scale(unit, dimension)
    return scale(points_unit, dimension)


def supply_in_column(entry: SignalEntry, column: Column, sensor: Sensor) -> float | None:
    """The sensor's supply as a number of the column, where the sensor names one."""
    if sensor.supply is None:
        return None
    factor, offset = output_scale(entry, column, sensor)
    return (sensor.supply.si - offset) / factor


def through_sensor(
    recorded: Recorded,
    entry: SignalEntry,
    column: Column,
    sensor: Sensor,
    calibration: Calibration,
) -> tuple[Floats, float, tuple[Note, ...]]:
    """A sensor column's values in house units, the house units per raw unit, and notes."""
    factor, offset = output_scale(entry, column, sensor)
    supply, notes = _supply_ratio(recorded, entry, column, calibration)
    values = np.multiply(column.values, factor * calibration.slope * supply)
    values += calibration.offset + calibration.slope * offset
    typical = float(np.nanmedian(supply))
    return values, factor * calibration.slope * typical, notes


def _supply_ratio(
    recorded: Recorded, entry: SignalEntry, column: Column, calibration: Calibration
) -> tuple[float | Floats, tuple[Note, ...]]:
    """What the output is multiplied by: the points' supply over the supply there was."""
    given = entry.supply is not None or entry.supply_column is not None
    if calibration.supply_v is None:
        text = said(
            "{sensor} names no supply for its points: the supply was not used",
            sensor=calibration.sensor,
        )
        return 1.0, ((Note("supply-unused", text),) if given else ())
    if entry.supply_column is not None:
        actual = _running_supply(recorded, entry, column)
        return calibration.supply_v / actual, ()
    if entry.supply is not None and entry.supply.si > 0.0:
        return calibration.supply_v / entry.supply.si, ()
    text = said(
        "the supply of {sensor} was not recorded: that of its points was taken",
        sensor=calibration.sensor,
    )
    return 1.0, (Note("supply-unknown", text),)


def _running_supply(recorded: Recorded, entry: SignalEntry, column: Column) -> Floats:
    """The supply at the column's instants: medians over half a second, joined by lines."""
    name = entry.supply_column or ""
    supply = column_of(recorded, entry, name)
    factor, offset = scale(supply.unit or "V", "voltage")
    usable = np.isfinite(supply.values) & (supply.values != 0.0)
    if not usable.any():
        place = f'signal "{entry.column}", supply_column'
        found = f'column "{name}" holds no supply voltage'
        raise InputError(Problem("job.toml", place, found, 'state it instead: supply = "… V"'))
    times, values = supply.time_s[usable], factor * supply.values[usable] + offset
    size = max(1, round(SUPPLY_WINDOW_S / max(supply.interval_s, 1e-9)))
    if size == 1 or len(values) <= size:
        return np.asarray(np.interp(column.time_s, times, values))
    whole = len(values) // size * size
    middles = times[:whole].reshape(-1, size).mean(axis=1)
    medians = np.median(values[:whole].reshape(-1, size), axis=1)
    return np.asarray(np.interp(column.time_s, middles, medians))
