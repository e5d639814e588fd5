"""From files to quantities: import, sensing and rotation of every recording of a job.

Each stage is a pure function of what it is handed; `Memory` keeps their results under the
hash of their inputs, so that moving a condition's edge redoes none of them.  Where the numbers of
a recording come from is the affair of a `Maker`: the import of its file, or a store of lanes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from gaugewright import METHOD_VERSION
from gaugewright.analysis.progress import Progress, silent
from gaugewright.errors import InputError, Problem
from gaugewright.evidence.cycles import Sensed, Span, cycle_table
from gaugewright.job.model import Condition, Job, RecordingEntry, Sensor, Vehicle
from gaugewright.quantities.catalogue import PULSES
from gaugewright.recording.reading import read
from gaugewright.recording.types import Note, Recorded
from gaugewright.rotation.ripple import rotation_from_ripple
from gaugewright.rotation.rotate import Found, find_rotation
from gaugewright.rotation.types import Rotation
from gaugewright.sensing.calibration import Calibration, calibrate
from gaugewright.sensing.shared import SharedErrors
from gaugewright.sensing.signals import bridged, sense
from gaugewright.sensing.types import Signal

Kept = TypeVar("Kept")
Maker = Callable[[RecordingEntry], Recorded]
"""Gives the numbers of a recording; raises InputError with every problem of it."""
FIRING_RIPPLE = ("crankcase-pressure", "manifold-pressure", "exhaust-pressure")
RIPPLE_INTERVAL_S = 0.01
STANDS_STILL = 0.004
"""An engine's speed spans at least this share of itself over a recording (J)."""


@dataclass
class Memory:
    """Results of stages by the hash of their inputs; empty unless its owner keeps it."""

    known: dict[tuple[str, str], Any] = field(default_factory=dict)

    def recall(self, stage: str, key: str, make: Callable[[], Kept]) -> Kept:
        """The result of a stage kept under this key, made first where it is not there.

        `stage` is "import", "sensing", "rotation" or "cycles".
        """
        if (stage, key) not in self.known:
            self.known[stage, key] = make()
        found: Kept = self.known[stage, key]
        return found


@dataclass(frozen=True)
class Lanes:
    """A job's recordings as quantities, and what was noticed on the way."""

    recorded: tuple[Recorded, ...]
    sensed: tuple[Sensed, ...]
    found: tuple[Found, ...]
    calibrations: dict[str, Calibration]
    book: SharedErrors


def lanes_of(
    job: Job,
    folder: Path,
    memory: Memory | None = None,
    progress: Progress = silent,
    maker: Maker | None = None,
) -> Lanes:
    """Read, sense and turn every recording; all problems of all recordings are told at once.

    `maker` gives the recordings' numbers (None: they are imported from the files in `folder`).
    """
    memory = memory or Memory()
    maker = maker or importing(folder, memory)
    calibrations, book = _calibrations(job.sensors)
    recorded: list[Recorded] = []
    problems: list[Problem] = []
    for entry in job.recordings:
        progress(f"reading {entry.file}")
        try:
            recorded.append(maker(entry))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    _refuse_outside(job, recorded)
    progress("turning volts into quantities")
    found = [
        turned(r, e, job.vehicle, memory) for r, e in zip(recorded, job.recordings, strict=True)
    ]
    sensed = tuple(
        _sensed(r, e, f, job, calibrations, memory)
        for r, e, f in zip(recorded, job.recordings, found, strict=True)
    )
    sensed, found = _with_ripple(sensed, found, job.vehicle)
    progress("making the table of cycles")
    sensed = tuple(
        _with_table(s, r, e, job, memory)
        for s, r, e in zip(sensed, recorded, job.recordings, strict=True)
    )
    return Lanes(tuple(recorded), sensed, tuple(found), calibrations, book)


def _with_ripple(
    sensed: tuple[Sensed, ...], found: list[Found], vehicle: Vehicle
) -> tuple[tuple[Sensed, ...], list[Found]]:
    """Where a visit has no speed signal at all, the firing ripple of a pressure stands in.

    Oil pressure is not asked: its ripple is the pump's as much as the firing's.
    """
    turned = {s.visit for s in sensed if s.rotation is not None}
    whole = list(sensed)
    notes = list(found)
    for place, recording in enumerate(sensed):
        if recording.visit in turned:
            continue
        rotation = _ripple(recording, vehicle)
        if rotation is not None:
            whole[place] = replace(recording, rotation=rotation)
            notes[place] = Found(rotation, (*found[place].notes, *rotation.notes))
    return tuple(whole), notes


def _ripple(recording: Sensed, vehicle: Vehicle) -> Rotation | None:
    for quantity in FIRING_RIPPLE:
        for signal in recording.signals:
            if signal.quantity == quantity and signal.interval_s <= RIPPLE_INTERVAL_S:
                rotation = rotation_from_ripple(
                    signal.time_s, bridged(signal), vehicle, signal.label
                )
                if rotation is not None and wanders(rotation):
                    return rotation
    return None


def wanders(rotation: Rotation) -> bool:
    """Does this speed wander as an engine's does?  A hum of the wiring stands still."""
    speed = rotation.speed_rpm[rotation.good]
    low, high = np.percentile(speed, [5.0, 95.0])
    return bool(high - low > STANDS_STILL * float(np.median(speed)))


def _calibrations(sensors: tuple[Sensor, ...]) -> tuple[dict[str, Calibration], SharedErrors]:
    book = SharedErrors()
    found = {}
    for sensor in sensors:
        found[sensor.name], book = calibrate(sensor, book)
    return found, book


def importing(folder: Path, memory: Memory) -> Maker:
    """The maker that imports the files in a job's folder, each once for a memory."""

    def made(entry: RecordingEntry) -> Recorded:
        path = folder / entry.file
        stamp = ""
        if path.is_file():
            state = path.stat()
            stamp = f"{path.resolve()} {state.st_size} {state.st_mtime_ns}"
        key = _key("import", stamp, _file_side(entry))
        return memory.recall("import", key, lambda: read(entry, folder))

    return made


def _file_side(entry: RecordingEntry) -> str:
    """What the import depends on: all of the entry but its conditions and clock."""
    return repr(entry.model_copy(update={"conditions": (), "clock_offset": None}))


def _read_side(entry: RecordingEntry) -> str:
    """What a recording's later stages depend on beside its file: how it is read, by which name."""
    silent = {"conditions": (), "clock_offset": None, "aligned_with": None, "aligned_by": None}
    return repr(entry.model_copy(update=silent))


def _sensor_side(entry: RecordingEntry, job: Job) -> str:
    """The sensors that a recording's signals name."""
    named = {signal.sensor for signal in entry.signals}
    return repr([sensor for sensor in job.sensors if sensor.name in named])


def _key(*parts: str) -> str:
    text = "\x00".join((str(METHOD_VERSION), *parts))
    return hashlib.sha256(text.encode()).hexdigest()


def turned(recorded: Recorded, entry: RecordingEntry, vehicle: Vehicle, memory: Memory) -> Found:
    """The rotation of one recording: the stage of that name."""
    key = _key("rotation", recorded.sha256, _read_side(entry), repr(vehicle))
    return memory.recall("rotation", key, lambda: find_rotation(recorded, entry.signals, vehicle))


def _sensed(
    recorded: Recorded,
    entry: RecordingEntry,
    found: Found,
    job: Job,
    calibrations: dict[str, Calibration],
    memory: Memory,
) -> Sensed:
    key = _key("sensing", recorded.sha256, _read_side(entry), _sensor_side(entry, job))
    signals = memory.recall("sensing", key, lambda: _signals(recorded, entry, job, calibrations))
    spans = tuple(Span(c.name, c.did, c.from_.si, c.to.si) for c in entry.conditions)
    offset = entry.clock_offset.si if entry.clock_offset else 0.0
    return Sensed(recorded.name, recorded.visit, offset, signals, found.rotation, spans)


def _signals(
    recorded: Recorded, entry: RecordingEntry, job: Job, calibrations: dict[str, Calibration]
) -> tuple[Signal, ...]:
    sensors = {sensor.name: sensor for sensor in job.sensors}
    return tuple(
        sense(
            recorded,
            signal,
            sensors.get(signal.sensor or ""),
            calibrations.get(signal.sensor or ""),
            recorded.visit,
        )
        for signal in entry.signals
        if signal.quantity not in PULSES
    )


def _with_table(
    sensed: Sensed, recorded: Recorded, entry: RecordingEntry, job: Job, memory: Memory
) -> Sensed:
    """The recording with its table of cycles, where it has a rotation of its own."""
    if sensed.rotation is None:
        return sensed
    sides = (_read_side(entry), _sensor_side(entry, job), repr(job.vehicle))
    key = _key("cycles", recorded.sha256, sensed.rotation.source, *sides)
    return replace(sensed, table=memory.recall("cycles", key, lambda: cycle_table(sensed)))


def _refuse_outside(job: Job, recorded: list[Recorded]) -> None:
    """Conditions that lie outside their recording are told, all of them."""
    problems = []
    for entry, numbers in zip(job.recordings, recorded, strict=True):
        times = [c.time_s for c in numbers.columns.values() if len(c.time_s)]
        if not times:
            continue
        begin, finish = min(t[0] for t in times), max(t[-1] for t in times)
        slack = 0.02 * (finish - begin) + 0.1
        problems += [
            _outside(entry, condition, begin, finish)
            for condition in entry.conditions
            if condition.from_.si < begin - slack or condition.to.si > finish + slack
        ]
    if problems:
        raise InputError(problems)


def _outside(entry: RecordingEntry, condition: Condition, begin: float, finish: float) -> Problem:
    return Problem(
        "job.toml",
        f'recording "{entry.name}", condition "{condition.name}"',
        f"it is marked from {condition.from_.text} to {condition.to.text}, but "
        f"{entry.file} runs from {begin:.3g} s to {finish:.6g} s",
        "mark it within the recording",
    )


def with_offset(sensed: Sensed, offset_s: float) -> Sensed:
    """The recording with another place on the job's clock."""
    return replace(sensed, offset_s=offset_s)


def notes_of(lanes: Lanes) -> list[tuple[str, Note]]:
    """All that was noticed, with where: the recording, or the recording and its signal."""
    noted = [(r.name, note) for r in lanes.recorded for note in r.notes]
    noted += [
        (recorded.name, note)
        for recorded, found in zip(lanes.recorded, lanes.found, strict=True)
        for note in found.notes
    ]
    noted += [
        (signal.label, note)
        for sensed in lanes.sensed
        for signal in sensed.signals
        for note in signal.notes
    ]
    return noted
