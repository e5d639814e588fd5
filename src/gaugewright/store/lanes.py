"""From lanes on disk to lanes in house units, as the job's sensors and units read them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from gaugewright.errors import InputError
from gaugewright.job.model import Job, RecordingEntry, Sensor, SignalEntry
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.recording.types import Column, Floats, Recorded
from gaugewright.rotation.types import Rotation
from gaugewright.sensing.calibration import Calibration, calibrate
from gaugewright.sensing.conversion import through_sensor, unit_scale
from gaugewright.sensing.shared import SharedErrors
from gaugewright.sensing.signals import reference_of
from gaugewright.store import bags, overview
from gaugewright.store.bags import Bag
from gaugewright.store.imports import clock_of, load, notes_from
from gaugewright.store.lane import Clock, StoredLane, StoredRecording
from gaugewright.store.overview import Overview

AS_RECORDED = "as recorded"
PROBE = np.array([0.0, 1.0])
"""What is put through a sensor's line to see its offset and factor."""


@dataclass(frozen=True)
class Opened:
    """A recording on the way to its lanes."""

    bag: Bag
    entry: RecordingEntry
    job: Job
    folder: Path
    clocks: dict[str, Clock] = field(default_factory=dict)

    def clock(self, name: str, count: int) -> Clock:
        """The clock of this name, once."""
        if name not in self.clocks:
            even = self.bag.about["clocks"].get(name)
            clock = Clock(count, even[0]) if even else Clock(count, None, clock_of(self.bag, name))
            self.clocks[name] = clock
        return self.clocks[name]

    def probed(self) -> Recorded:
        """The recording with the values of `PROBE` in every column."""
        about = self.bag.about
        columns = {
            c["asked"]: Column(c["name"], PROBE, PROBE, c["interval_s"], c["step"], c["unit"])
            for c in about["columns"]
        }
        return Recorded(
            self.entry.name, self.entry.visit or "", self.entry.file, about["sha256"],
            about["rows"], about["rate_hz"], columns, (), (),
        )  # fmt: skip


def recording_of(bag: Bag, entry: RecordingEntry, job: Job, folder: Path) -> StoredRecording:
    """The lanes of a stored recording as its entry and the job's sensors read them.

    `folder` is where lanes lie.  A signal whose sensor or unit is not settled yet is drawn as
    the file's own numbers, with the unit "as recorded".  Raises DamagedError.
    """
    about = bag.about
    stored = {column["asked"]: column for column in about["columns"]}
    opened = Opened(bag, entry, job, folder)
    lanes = [lane_of(opened, stored[s.column], s) for s in entry.signals if s.column in stored]
    if not entry.signals:
        lanes = [raw_lane(opened, column) for column in about["columns"]]
    return StoredRecording(
        name=entry.name,
        visit=entry.visit or "",
        sha256=about["sha256"],
        rows=about["rows"],
        rate_hz=about["rate_hz"],
        lanes=tuple(lanes),
        guesses=tuple(about["guesses"]),
        notes=tuple(note.text for note in notes_from(about["notes"])),
    )


def lane_of(opened: Opened, stored: Mapping[str, Any], signal: SignalEntry) -> StoredLane:
    """One signal's lane in house units, or as recorded where its sensor or unit is not settled."""
    try:
        return _in_house_units(opened, stored, signal)
    except (InputError, _UnsettledError):
        return raw_lane(opened, stored, signal.quantity)


class _UnsettledError(Exception):
    """The sensor that a signal names is not there yet."""


def _in_house_units(opened: Opened, stored: Mapping[str, Any], signal: SignalEntry) -> StoredLane:
    probe = opened.probed()
    column = probe.columns[signal.column]
    sensor = next((s for s in opened.job.sensors if s.name == signal.sensor), None)
    calibration: Calibration | None = None
    drawn = _stored_overview(opened.bag, stored["number"])
    if signal.sensor is None:
        factor, offset = unit_scale(probe, signal, column)
    elif sensor is None:
        raise _UnsettledError
    else:
        calibration, _ = calibrate(sensor, SharedErrors())
        if signal.supply_column is not None and calibration.supply_v is not None:
            drawn, factor, offset = _by_supply(opened, signal, sensor, calibration), 1.0, 0.0
        else:
            ends, _, _ = through_sensor(probe, signal, column, sensor, calibration)
            factor, offset = float(ends[1] - ends[0]), float(ends[0])
    return StoredLane(
        label=f"{opened.entry.name}/{signal.column}",
        column=signal.column,
        quantity=signal.quantity,
        reference=reference_of(signal, column, calibration),
        unit=QUANTITIES[signal.quantity].house_unit,
        clock=opened.clock(stored["clock"], len(drawn.samples)),
        drawn=drawn,
        factor=factor,
        offset=offset,
        notes=tuple(note.text for note in notes_from(stored["notes"])),
    )


def raw_lane(opened: Opened, stored: Mapping[str, Any], quantity: str = "") -> StoredLane:
    """A column as the file's own numbers."""
    drawn = _stored_overview(opened.bag, stored["number"])
    return StoredLane(
        label=f"{opened.entry.name}/{stored['asked']}",
        column=stored["asked"],
        quantity=quantity,
        reference=None,
        unit=stored["unit"] or AS_RECORDED,
        clock=opened.clock(stored["clock"], len(drawn.samples)),
        drawn=drawn,
        notes=tuple(note.text for note in notes_from(stored["notes"])),
    )


def _stored_overview(bag: Bag, number: int) -> Overview:
    return Overview(bag.array(f"lane {number}"), bag.array(f"overview {number}"))


def _by_supply(
    opened: Opened, signal: SignalEntry, sensor: Sensor, calibration: Calibration
) -> Overview:
    """A lane whose supply was recorded beside it: each sample has a factor of its own."""
    text = repr((opened.bag.folder.name, signal, sensor))
    place = opened.folder / hashlib.sha256(text.encode()).hexdigest()[:40]
    bag = bags.opened(place)
    if bag is None:
        recorded = load(opened.bag, opened.entry)
        column = recorded.columns[signal.column]
        values: Floats = through_sensor(recorded, signal, column, sensor, calibration)[0]
        small = values.astype(np.float32)
        arrays = {"lane 0": small, "overview 0": overview.build(small).table}
        bag = bags.write(place, arrays, {"of": opened.bag.folder.name})
    return _stored_overview(bag, 0)


def speed_lane(rotation: Rotation) -> StoredLane:
    """The speed of every cycle, at its middle; NaN where a cycle cannot be trusted."""
    middles = 0.5 * (rotation.edges_s[1:] + rotation.edges_s[:-1])
    speed = rotation.speed_rpm
    return StoredLane(
        label=rotation.label,
        column=rotation.label.rpartition("/")[2],
        quantity="engine-speed",
        reference=None,
        unit="rpm",
        clock=Clock(len(middles), None, middles),
        drawn=overview.build(speed),
        notes=tuple(note.text for note in rotation.notes),
    )
