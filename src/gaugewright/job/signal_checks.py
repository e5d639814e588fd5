"""What must hold for one signal of a recording."""

from __future__ import annotations

from gaugewright.job.checks import Problems, check_reference, check_stated, not_below_zero
from gaugewright.job.context import Context
from gaugewright.job.fields import dimension_in, not_a_word
from gaugewright.job.model import Job, Sensor, SignalEntry
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.units import UnitError, scale, spoken


def check_signal(signal: SignalEntry, job: Job, context: Context) -> Problems:
    """Everything wrong with one signal: sensor, unit, reference, supply, pulses, hose."""
    kind = QUANTITIES[signal.quantity]
    if signal.sensor is not None and signal.unit is not None:
        found = f'found both sensor = "{signal.sensor}" and unit = "{signal.unit}"'
        yield context.problem(signal, "unit", found, "keep the one the column needs")
    elif signal.sensor is not None:
        yield from _by_sensor(signal, signal.sensor, job, context)
    elif signal.unit is not None:
        yield from _by_unit(signal, signal.unit, context)
    elif not kind.pulses and not context.written(signal, "unit", "sensor"):
        found = "found neither sensor nor unit"
        remedy = 'add sensor = "…", or unit = "…" where the column is already in a unit'
        yield context.problem(signal, "", found, remedy)
    yield from _supply(signal, context)
    yield from _wheel(signal, job, context)
    if signal.hose is not None:
        for key in ("length", "bore"):
            yield from not_below_zero(signal.hose, key, context)


def _by_sensor(signal: SignalEntry, name: str, job: Job, context: Context) -> Problems:
    if name not in context.names["sensor"]:
        error = not_a_word(name, "sensor of this job", context.names["sensor"] or ("…",))
        remedy = error.remedy if context.names["sensor"] else "add a [[sensor]] of that name"
        yield context.problem(signal, "sensor", error.found, remedy)
        return
    sensor = next((item for item in job.sensors if item.name == name), None)
    if sensor is None:
        return
    if signal.reference not in (None, sensor.reference):
        found = f'found "{signal.reference}" while the sensor measures against {sensor.reference}'
        remedy = "delete it: the sensor states its own reference"
        yield context.problem(signal, "reference", found, remedy)
    if sensor.points:
        yield from _fits(signal, sensor, context)


def _fits(signal: SignalEntry, sensor: Sensor, context: Context) -> Problems:
    wanted, found = QUANTITIES[signal.quantity].dimension, dimension_in(sensor.points[0][1])
    if wanted != found:
        yield context.problem(
            signal,
            "sensor",
            f'"{sensor.name}" measures {spoken(found)} while {signal.quantity} is {spoken(wanted)}',
            "name a sensor of that kind, or correct the quantity",
        )


def _by_unit(signal: SignalEntry, unit: str, context: Context) -> Problems:
    try:
        scale(unit, QUANTITIES[signal.quantity].dimension)
    except UnitError as error:
        yield context.problem(signal, "unit", error.found, error.remedy)
        return
    yield from check_reference(signal, signal.quantity, signal.reference, context)
    yield from check_stated(signal, "unit", signal.reference, context)


def _supply(signal: SignalEntry, context: Context) -> Problems:
    if signal.supply is not None and signal.supply_column is not None:
        found = "found both supply and supply_column"
        yield context.problem(signal, "supply", found, "keep the one that was measured")
    if signal.supply is not None and signal.supply.si <= 0:
        found = f'found "{signal.supply.text}"'
        yield context.problem(signal, "supply", found, 'write the supply, such as "4.90 V"')


def _wheel(signal: SignalEntry, job: Job, context: Context) -> Problems:
    if signal.pulses_per_cycle is not None and signal.pulses_per_cycle <= 0:
        found = f"found {signal.pulses_per_cycle:g}"
        remedy = "write how many pulses one working cycle gives, more than zero"
        yield context.problem(signal, "pulses_per_cycle", found, remedy)
    missing, teeth = signal.missing, signal.teeth
    if teeth is not None and teeth <= max(missing or 0, 0):
        found = f"found {teeth} with {missing or 0} missing"
        remedy = "write all positions of the wheel, the missing ones counted in"
        yield context.problem(signal, "teeth", found, remedy)
    if missing is not None and (missing < 0 or teeth is None):
        found = f"found {missing}" + (" without teeth" if teeth is None else "")
        yield context.problem(signal, "missing", found, "write teeth = 60 and missing = 2")
    cylinders = job.vehicle.cylinders
    if signal.cylinder is not None and not 1 <= signal.cylinder <= cylinders:
        found = f"found cylinder {signal.cylinder} of {cylinders}"
        yield context.problem(signal, "cylinder", found, f"write a number from 1 to {cylinders}")
