"""The job folder's contract, format 1, as data."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from gaugewright.quantities.physical import Physical


def _one_or_many(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Did = Annotated[tuple[str, ...], BeforeValidator(_one_or_many)]
Point = tuple[Physical, Physical]
Range = tuple[Physical, Physical]


class Part(BaseModel):
    """A table of job.toml: unknown keys are errors, values don't change once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)


class Vehicle(Part):
    """The engine as far as the readings need it."""

    cylinders: int
    cycle: Literal["four-stroke", "two-stroke"]
    name: str = ""
    ignition: Literal["coil-on-plug", "wasted-spark", "distributor", "compression"] | None = None
    oil_grade: str | None = None
    firing_order: tuple[int, ...] = ()
    displacement: Physical | None = None
    fuel: Literal["petrol", "diesel", "gas"] | None = None
    induction: Literal["natural", "boosted"] | None = None
    metering: Literal["air-mass", "manifold-pressure", "none"] | None = None
    oil_pump: Literal["fixed", "two-stage", "variable", "controlled"] | None = None
    pump_switches: tuple[Physical, Physical] | None = None
    ventilation: Literal["regulator", "orifice", "valve", "open"] | None = None


class Complaint(Part):
    """What the owner said, and the codes that were stored."""

    text: str = ""
    codes: tuple[str, ...] = ()


class Place(Part):
    """Where the job was done; a measured barometer wins over the altitude."""

    altitude: Physical | None = None
    barometer: Physical | None = None


class Visit(Part):
    """One visit of the car."""

    name: str
    date: dt.datetime | dt.date | None = None
    odometer: Physical | None = None
    oil_grade: str | None = None
    work: str = ""


class Observation(Part):
    """Something seen, smelled or heard."""

    what: str
    saw: str
    visit: str | None = None
    note: str = ""


class Limit(Part):
    """What the maker publishes, with the state it holds for."""

    name: str
    quantity: str
    reference: str | None = None
    min: Physical | None = None
    max: Physical | None = None
    speed: Physical | None = None
    speed_tolerance: Physical | None = None
    oil_temperature: Physical | None = None
    stage: Literal["low", "high"] | None = None
    did: Did = ()
    crankcase: Physical | None = None
    printed: str = ""
    source: str = ""


class Switch(Part):
    """A pressure switch that drives a lamp."""

    name: str
    closes_below: Physical
    quantity: str = "oil-pressure"
    tolerance: Physical | None = None
    offset: Physical | None = None
    lamp_delay: Physical | None = None


class Sensor(Part):
    """A sensor and what is known of its errors."""

    name: str
    points: tuple[Point, ...]
    reference: Literal["atmosphere", "vacuum", "sealed", "crankcase"] = "atmosphere"
    sealed_at: Physical | None = None
    point_uncertainty: Physical | None = None
    points_common: Physical | None = None
    accuracy: Physical | None = None
    range: Range | None = None
    supply: Physical | None = None


class Instrument(Part):
    """A hand gauge: its readings share its error."""

    name: str
    accuracy: Physical | None = None
    range: Range | None = None


class Text(Part):
    """Overrules for the guesses about a delimited text."""

    delimiter: str | None = None
    decimal: str | None = None
    encoding: str | None = None
    header_row: int | None = None
    units_row: int | None = None
    first_row: int | None = None
    missing: tuple[str, ...] = ()


class Hose(Part):
    """The hose between tap and sensor."""

    length: Physical | None = None
    bore: Physical | None = None
    holds: Literal["air", "oil"] | None = None


class SignalEntry(Part):
    """One column of a recording and what it measures."""

    column: str
    quantity: str
    sensor: str | None = None
    unit: str | None = None
    reference: str | None = None
    time: str | None = None
    supply: Physical | None = None
    supply_column: str | None = None
    port: str = ""
    hose: Hose | None = None
    snubber: bool = False
    pulses_per_cycle: float | None = None
    cylinder: int | None = None
    teeth: int | None = None
    missing: int | None = None
    turns: Literal["crank", "cam"] | None = None


class Condition(Part):
    """A stretch in which the engine was held one way, on the file's own clock."""

    name: str
    from_: Physical = Field(alias="from")
    to: Physical
    did: Did = ("nothing",)


class RecordingEntry(Part):
    """One recording file: its clock, its text, its signals, its conditions."""

    name: str
    file: str
    visit: str | None = None
    time: str | None = None
    rate: Physical | None = None
    time_unit: Literal["s", "ms", "us", "iso"] | None = None
    clock_offset: Physical | None = None
    aligned_with: str | None = None
    aligned_by: str | None = None
    text: Text | None = None
    signals: tuple[SignalEntry, ...] = Field(default=(), alias="signal")
    conditions: tuple[Condition, ...] = Field(default=(), alias="condition")


class HandReading(Part):
    """A value read by hand."""

    quantity: str
    value: Physical
    reference: str | None = None
    uncertainty: Physical | None = None
    instrument: str | None = None
    condition: str | None = None
    visit: str | None = None
    speed: Physical | None = None
    oil_temperature: Physical | None = None


class Work(Part):
    """Work advised, agreed, declined or done."""

    text: str
    visit: str | None = None
    state: Literal["advised", "agreed", "declined", "done"] = "done"


class Job(Part):
    """A whole job, as job.toml states it."""

    format: Literal[1]
    title: str
    vehicle: Vehicle
    id: str | None = None
    complaint: Complaint = Complaint()
    place: Place = Place()
    visits: tuple[Visit, ...] = Field(default=(), alias="visit")
    observations: tuple[Observation, ...] = Field(default=(), alias="observation")
    limits: tuple[Limit, ...] = Field(default=(), alias="limit")
    switches: tuple[Switch, ...] = Field(default=(), alias="switch")
    sensors: tuple[Sensor, ...] = Field(default=(), alias="sensor")
    instruments: tuple[Instrument, ...] = Field(default=(), alias="instrument")
    recordings: tuple[RecordingEntry, ...] = Field(default=(), alias="recording")
    readings: tuple[HandReading, ...] = Field(default=(), alias="reading")
    work: tuple[Work, ...] = ()
