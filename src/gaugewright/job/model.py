"""The job folder's contract, format 1, as data.

What one table may hold stands here; what must agree between tables is in the checks.
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from gaugewright.job.fields import (
    AnySpread,
    AnyValue,
    Date,
    Did,
    Distance,
    Frequency,
    Grade,
    Length,
    Number,
    Observed,
    OfPoints,
    OfQuantity,
    Pressure,
    Quantity,
    Saw,
    Speed,
    SpreadOfPoints,
    SpreadOfQuantity,
    Temperature,
    Time,
    Voltage,
    Volume,
    Whole,
    YesNo,
)

Point = tuple[AnyValue, AnyValue]


class Part(BaseModel):
    """A table of job.toml: unknown keys are errors, values don't change once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)


class Vehicle(Part):
    """The engine as far as the readings need it."""

    cylinders: Whole = Field(ge=1, le=16)
    cycle: Literal["four-stroke", "two-stroke"]
    name: str = ""
    ignition: Literal["coil-on-plug", "wasted-spark", "distributor", "compression"] | None = None
    oil_grade: Grade | None = None
    firing_order: tuple[Whole, ...] = ()
    displacement: Volume | None = None
    fuel: Literal["petrol", "diesel", "gas"] | None = None
    induction: Literal["natural", "boosted"] | None = None
    metering: Literal["air-mass", "manifold-pressure", "none"] | None = None
    oil_pump: Literal["fixed", "two-stage", "variable", "controlled"] | None = None
    pump_switches: tuple[Speed, Speed] | None = None
    ventilation: Literal["regulator", "orifice", "valve", "open"] | None = None


class Complaint(Part):
    """What the owner said, and the codes that were stored."""

    text: str = ""
    codes: tuple[str, ...] = ()


class Place(Part):
    """Where the job was done; a measured barometer wins over the altitude."""

    altitude: Length | None = None
    barometer: Pressure | None = None


class Visit(Part):
    """One visit of the car."""

    name: str = Field(min_length=1)
    date: Date | None = None
    odometer: Distance | None = None
    oil_grade: Grade | None = None
    work: str = ""


class Observation(Part):
    """Something seen, smelled or heard, or what a test showed."""

    what: Observed
    saw: Saw
    visit: str | None = None
    note: str = ""


class Limit(Part):
    """What the maker publishes, with the state it holds for."""

    name: str = Field(min_length=1)
    quantity: Quantity
    reference: Literal["atmosphere", "vacuum", "crankcase"] | None = None
    min: OfQuantity | None = None
    max: OfQuantity | None = None
    speed: Speed | None = None
    speed_tolerance: Speed | None = None
    oil_temperature: Temperature | None = None
    stage: Literal["low", "high"] | None = None
    did: Did = ()
    crankcase: Pressure | None = None
    printed: str = ""
    source: str = ""


class Switch(Part):
    """A pressure switch that drives a lamp."""

    name: str = Field(min_length=1)
    closes_below: Pressure
    quantity: Quantity = "oil-pressure"
    tolerance: Pressure | None = None
    offset: Pressure | None = None
    lamp_delay: Time | None = None


class Sensor(Part):
    """A sensor and what is known of its errors."""

    name: str = Field(min_length=1)
    points: tuple[Point, ...]
    reference: Literal["atmosphere", "vacuum", "sealed", "crankcase"] = "atmosphere"
    sealed_at: Pressure | None = None
    point_uncertainty: SpreadOfPoints | None = None
    points_common: SpreadOfPoints | None = None
    accuracy: SpreadOfPoints | None = None
    range: tuple[OfPoints, OfPoints] | None = None
    supply: Voltage | None = None


class Instrument(Part):
    """A hand gauge: its readings share its error."""

    name: str = Field(min_length=1)
    accuracy: AnySpread | None = None
    range: tuple[AnyValue, AnyValue] | None = None


class Text(Part):
    """Overrules for the guesses about a delimited text; lines are counted from 1."""

    delimiter: str | None = None
    decimal: Literal[".", ","] | None = None
    encoding: str | None = None
    header_row: Whole | None = Field(default=None, ge=1)
    units_row: Whole | None = Field(default=None, ge=1)
    first_row: Whole | None = Field(default=None, ge=1)
    missing: tuple[str, ...] = ()


class Hose(Part):
    """The hose between tap and sensor."""

    length: Length | None = None
    bore: Length | None = None
    holds: Literal["air", "oil"] | None = None


class SignalEntry(Part):
    """One column of a recording and what it measures."""

    column: str = Field(min_length=1)
    quantity: Quantity
    sensor: str | None = None
    unit: str | None = None
    reference: Literal["atmosphere", "vacuum", "crankcase"] | None = None
    time: str | None = None
    supply: Voltage | None = None
    supply_column: str | None = None
    port: str = ""
    hose: Hose | None = None
    snubber: YesNo = False
    pulses_per_cycle: Number | None = None
    cylinder: Whole | None = None
    teeth: Whole | None = None
    missing: Whole | None = None
    turns: Literal["crank", "cam"] | None = None


class Condition(Part):
    """A stretch in which the engine was held one way, on the file's own clock."""

    name: str = Field(min_length=1)
    from_: Time = Field(alias="from")
    to: Time
    did: Did = ("nothing",)


class RecordingEntry(Part):
    """One recording file: its clock, its text, its signals, its conditions."""

    name: str = Field(min_length=1)
    file: str = Field(min_length=1)
    visit: str | None = None
    time: str | None = None
    rate: Frequency | None = None
    time_unit: Literal["s", "ms", "us", "iso"] | None = None
    clock_offset: Time | None = None
    aligned_with: str | None = None
    aligned_by: Quantity | None = None
    text: Text | None = None
    signals: tuple[SignalEntry, ...] = Field(default=(), alias="signal")
    conditions: tuple[Condition, ...] = Field(default=(), alias="condition")


class HandReading(Part):
    """A value read by hand."""

    quantity: Quantity
    value: OfQuantity
    reference: Literal["atmosphere", "vacuum", "crankcase"] | None = None
    uncertainty: SpreadOfQuantity | None = None
    instrument: str | None = None
    condition: str | None = None
    visit: str | None = None
    speed: Speed | None = None
    oil_temperature: Temperature | None = None


class Work(Part):
    """Work advised, agreed, declined or done."""

    text: str
    visit: str | None = None
    state: Literal["advised", "agreed", "declined", "done"] = "done"


class Job(Part):
    """A whole job, as job.toml states it."""

    format: Literal[1]
    title: str = Field(min_length=1)
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
