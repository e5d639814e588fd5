"""What must hold within vehicle, place, limits, switches, sensors and instruments.

Every check yields all it finds; none stops at the first.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations

from gaugewright.errors import Problem
from gaugewright.job import printed
from gaugewright.job.context import Context
from gaugewright.job.fields import dimension_in
from gaugewright.job.model import Instrument, Job, Limit, Part, Sensor, Switch, Vehicle
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.physical import Physical
from gaugewright.quantities.units import split, spoken, stated_reference

Problems = Iterator[Problem]

_CODE = re.compile(r"^[PCBU][0-3][0-9A-F]{3}(?:[-:][0-9A-F]{2})?$", re.IGNORECASE)
ALTITUDE_M = (-500.0, 9000.0)
BAROMETER_PA = (30e3, 112e3)
"""Beyond these no workshop stands: a slip of unit or sign (judgement)."""

_NOT_NEGATIVE = {
    "limit": ("speed", "speed_tolerance"),
    "switch": ("tolerance", "lamp_delay"),
    "sensor": ("point_uncertainty", "points_common", "accuracy"),
    "instrument": ("accuracy",),
    "reading": ("uncertainty", "speed"),
}


def check_parts(job: Job, context: Context) -> Problems:
    """Everything wrong within single tables, and names given twice."""
    yield from _vehicle(job.vehicle, context)
    yield from _complaint(job, context)
    yield from _place(job, context)
    for limit in job.limits:
        yield from _limit(limit, context)
    for switch in job.switches:
        yield from _switch(switch, context)
    for sensor in job.sensors:
        yield from _sensor(sensor, context)
    for instrument in job.instruments:
        yield from _instrument(instrument, context)
    for parts in (job.visits, job.limits, job.switches, job.sensors, job.instruments):
        yield from unique(parts, context)
    yield from _signs(job, context)


def unique(parts: Sequence[Part], context: Context, within: str = "") -> Problems:
    """A sentence for every name that stands twice in these tables."""
    names = Counter(getattr(part, "name", "") for part in parts)
    for name, times in names.items():
        if times > 1:
            last = [part for part in parts if getattr(part, "name", "") == name][-1]
            kind = str(context.path(last)[-2]) if context.path(last) else "table"
            found = f'the name "{name}" is given to {times} {kind}s{within}'
            yield context.problem(last, "name", found, "give each a name of its own")


def _signs(job: Job, context: Context) -> Problems:
    groups: dict[str, Sequence[Part]] = {
        "limit": job.limits,
        "switch": job.switches,
        "sensor": job.sensors,
        "instrument": job.instruments,
        "reading": job.readings,
    }
    for kind, parts in groups.items():
        for part in parts:
            for key in _NOT_NEGATIVE[kind]:
                yield from not_below_zero(part, key, context)


def not_below_zero(part: Part, key: str, context: Context) -> Problems:
    """A sentence when a value that cannot be negative is."""
    value: Physical | None = getattr(part, key)
    if value is not None and value.si < 0:
        yield context.problem(part, key, f'found "{value.text}"', "write a value of zero or more")


def _vehicle(vehicle: Vehicle, context: Context) -> Problems:
    order, cylinders = vehicle.firing_order, vehicle.cylinders
    if order and sorted(order) != list(range(1, cylinders + 1)):
        found = f"found {list(order)} for {cylinders} cylinders"
        remedy = f"write every number from 1 to {cylinders} once"
        yield context.problem(vehicle, "firing_order", found, remedy)
    if vehicle.pump_switches and vehicle.pump_switches[0].si > vehicle.pump_switches[1].si:
        back, up = vehicle.pump_switches
        found = f'found "{back.text}" before "{up.text}"'
        remedy = "write the speed at which it falls back first, then the one at which it steps up"
        yield context.problem(vehicle, "pump_switches", found, remedy)
    if vehicle.displacement is not None and not 1e-5 < vehicle.displacement.si < 0.1:
        found = f'found "{vehicle.displacement.text}"'
        remedy = 'write the swept volume of the whole engine, such as "2.0 L"'
        yield context.problem(vehicle, "displacement", found, remedy)


def _complaint(job: Job, context: Context) -> Problems:
    for code in job.complaint.codes:
        if not _CODE.match(code):
            found = f'found "{code}", which is no trouble code'
            remedy = 'write codes in the form of SAE J2012, such as "P0171"'
            yield context.problem(job.complaint, "codes", found, remedy)


def _place(job: Job, context: Context) -> Problems:
    place = job.place
    if place.altitude and not ALTITUDE_M[0] <= place.altitude.si <= ALTITUDE_M[1]:
        found = f'found "{place.altitude.text}"'
        remedy = "write the workshop's height above the sea, between -500 m and 9000 m"
        yield context.problem(place, "altitude", found, remedy)
    if place.barometer and not BAROMETER_PA[0] <= place.barometer.si <= BAROMETER_PA[1]:
        found = f'found "{place.barometer.text}"'
        remedy = "write the air pressure at the workshop itself, absolute, between 30 and 112 kPa"
        yield context.problem(place, "barometer", found, remedy)


def _limit(limit: Limit, context: Context) -> Problems:
    kind = QUANTITIES[limit.quantity]
    if kind.pulses:
        found, remedy = f'found "{limit.quantity}", which is counted', "limit what is measured"
        yield context.problem(limit, "quantity", found, remedy)
    if not context.written(limit, "min", "max"):
        yield context.problem(limit, "", "found neither min nor max", "write one of them, or both")
    if limit.min and limit.max and limit.min.si > limit.max.si:
        found = f'min "{limit.min.text}" is above max "{limit.max.text}"'
        yield context.problem(limit, "min", found, "exchange them, or correct the unit of one")
    yield from check_reference(limit, limit.quantity, limit.reference, context)
    for key in ("min", "max"):
        yield from check_stated(limit, key, limit.reference or "atmosphere", context)
    refused = any(
        context.written(limit, key) and getattr(limit, key) is None for key in ("min", "max")
    )
    ends = (None, None) if refused else (limit.min, limit.max)
    for found, remedy in printed.disagreements(limit.printed, kind, *ends):
        yield context.problem(limit, "printed", found, remedy)


def check_reference(part: Part, quantity: str, reference: str | None, context: Context) -> Problems:
    """A reference belongs to a pressure, and no pressure is measured against itself."""
    if reference is None:
        return
    if not QUANTITIES[quantity].is_pressure:
        found = f'found "{reference}" for {quantity}, which is no pressure'
        yield context.problem(part, "reference", found, "delete the reference")
    elif quantity == "crankcase-pressure" and reference == "crankcase":
        found = "found the crankcase's pressure measured against the crankcase"
        yield context.problem(part, "reference", found, 'write "atmosphere" or "vacuum"')


def check_stated(part: Part, key: str, reference: str | None, context: Context) -> Problems:
    """A unit that names its reference ("psia") must not contradict the one given."""
    value: Physical | str | None = getattr(part, key)
    if value is None or reference is None:
        return
    text = value if isinstance(value, str) else value.text
    stated = stated_reference(text if isinstance(value, str) else split(text)[1])
    if stated not in (None, reference):
        found = f'found "{text}", a pressure against {stated}, where the reference is {reference}'
        yield context.problem(part, key, found, f'write reference = "{stated}", or another unit')


def _switch(switch: Switch, context: Context) -> Problems:
    if not QUANTITIES[switch.quantity].is_pressure:
        found = f'found "{switch.quantity}", which is no pressure'
        yield context.problem(switch, "quantity", found, 'write a pressure, such as "oil-pressure"')


def _sensor(sensor: Sensor, context: Context) -> Problems:
    yield from _points(sensor, context)
    yield from check_range(sensor, context)
    if sensor.reference == "sealed" and not context.written(sensor, "sealed_at"):
        found, remedy = 'the key "sealed_at" is missing', 'add sealed_at = "1013 mbar"'
        yield context.problem(sensor, "", found, remedy)
    if sensor.reference != "sealed" and sensor.sealed_at is not None:
        found = f'found "{sensor.sealed_at.text}" for a sensor that is not sealed'
        yield context.problem(
            sensor, "sealed_at", found, 'delete it, or write reference = "sealed"'
        )
    if sensor.supply is not None and sensor.supply.si <= 0:
        found = f'found "{sensor.supply.text}"'
        yield context.problem(sensor, "supply", found, 'write the supply, such as "5 V"')


def _points(sensor: Sensor, context: Context) -> Problems:
    points = sensor.points
    if len(points) < 2:
        found = "found one point" if points else "found no point"
        yield context.problem(sensor, "points", found, "write two or more")
        return
    yield from _point_dimensions(sensor, context)
    for (first, one), (second, other) in combinations(enumerate(points, 1), 2):
        if [value.si for value in one] == [value.si for value in other]:
            shown = f'["{other[0].text}", "{other[1].text}"]'
            found = f"point {second}, {shown}, equals point {first}"
            yield context.problem(sensor, "points", found, "write two points that differ")
            return
    for place, word in ((0, "output"), (1, "value")):
        if len({point[place].si for point in points}) == 1:
            found = f'all points have the same {word} "{points[0][place].text}"'
            yield context.problem(sensor, "points", found, f"write points whose {word}s differ")


def _point_dimensions(sensor: Sensor, context: Context) -> Problems:
    outputs = [point[0] for point in sensor.points]
    values = [point[1] for point in sensor.points]
    for words, column in (("first", outputs), ("second", values)):
        odd = next((v for v in column if dimension_in(v) != dimension_in(column[0])), None)
        if odd is not None:
            found = (
                f'the {words} values are "{column[0].text}", {spoken(dimension_in(column[0]))}, '
                f'and "{odd.text}", {spoken(dimension_in(odd))}'
            )
            yield context.problem(sensor, "points", found, "write the same unit in all points")
    if dimension_in(outputs[0]) == "pressure":
        found = f'found "{outputs[0].text}", a pressure, as the sensor\'s output'
        remedy = 'write the output first, then what it means, such as ["0.5 V", "0 bar"]'
        yield context.problem(sensor, "points", found, remedy)


def check_range(part: Sensor | Instrument, context: Context) -> Problems:
    """A range runs from a lower to a higher value of one dimension."""
    if part.range is None:
        return
    low, high = part.range
    if dimension_in(low) != dimension_in(high):
        found = f'found "{low.text}" and "{high.text}", which are not of one kind'
        yield context.problem(part, "range", found, "write both ends in the same unit")
    elif low.si >= high.si:
        found = f'found "{low.text}" to "{high.text}"'
        yield context.problem(part, "range", found, "write the lower end first, then the higher")


def _instrument(instrument: Instrument, context: Context) -> Problems:
    yield from check_range(instrument, context)
    if instrument.accuracy is None or instrument.range is None:
        return
    unit, end = dimension_in(instrument.accuracy), instrument.range[0]
    if unit != dimension_in(end):
        found = f'found "{instrument.accuracy.text}" for a range that begins at "{end.text}"'
        remedy = f"write the accuracy as {spoken(dimension_in(end))}"
        yield context.problem(instrument, "accuracy", found, remedy)
