"""What the pages draw beside the findings: pictures, instruments, files."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from gaugewright.analysis.lanes import Lanes
from gaugewright.analysis.outcome import FileNote, InstrumentNote, Lane, Picture, Stretch
from gaugewright.analysis.zeros import ZeroNote
from gaugewright.evidence.cycles import Sensed
from gaugewright.evidence.stretch import Kept
from gaugewright.job.model import Instrument, Job, Sensor, SignalEntry
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.said import joined, said
from gaugewright.recording.overview import bins
from gaugewright.recording.types import Recorded
from gaugewright.rotation.types import Rotation
from gaugewright.sensing.calibration import Calibration
from gaugewright.sensing.shared import SharedErrors
from gaugewright.sensing.types import Signal

BINS = 900
AGAINST = {
    "atmosphere": said("the outside air"),
    "vacuum": said("a vacuum (absolute)"),
    "crankcase": said("the crankcase (differential)"),
    None: "-",
}


def pictures(lanes: Lanes, stretches: Iterable[Kept]) -> tuple[Picture, ...]:
    """Every recording with its lanes and conditions, binned for drawing only."""
    kept = list(stretches)
    return tuple(
        _picture(sensed, [k for k in kept if k.recording is sensed]) for sensed in lanes.sensed
    )


def _picture(sensed: Sensed, kept: list[Kept]) -> Picture:
    times = [s.time_s for s in sensed.signals if len(s.time_s)]
    if sensed.rotation is not None and len(sensed.rotation.edges_s) > 1:
        times.append(sensed.rotation.edges_s)
    start = float(min((t[0] for t in times), default=0.0))
    end = float(max((t[-1] for t in times), default=1.0))
    drawn = [_lane(signal, start, end) for signal in sensed.signals]
    rotation = sensed.rotation
    if rotation is not None and rotation.source != "engine-speed":
        drawn.append(_speed_lane(rotation, start, end))
    done = {id(k.span): k.left_out for k in kept}
    stretches = tuple(
        Stretch(s.condition, s.did, s.from_s, s.to_s, done.get(id(s), ())) for s in sensed.spans
    )
    return Picture(sensed.name, sensed.visit, start, end, tuple(drawn), stretches)


def _lane(signal: Signal, start: float, end: float) -> Lane:
    kind = QUANTITIES[signal.quantity]
    factor = kind.findings_factor
    middle, low, mean, high = bins(signal.time_s, signal.values, start, end, BINS)
    return Lane(
        signal.label,
        signal.quantity,
        signal.reference,
        kind.findings_unit,
        middle,
        low * factor,
        mean * factor,
        high * factor,
    )


def _speed_lane(rotation: Rotation, start: float, end: float) -> Lane:
    middle = 0.5 * (rotation.edges_s[1:] + rotation.edges_s[:-1])
    time, low, mean, high = bins(middle, rotation.speed_rpm, start, end, BINS)
    return Lane(rotation.label, "engine-speed", None, "rpm", time, low, mean, high)


def instruments(
    job: Job, lanes: Lanes, book: SharedErrors, zeros: tuple[ZeroNote, ...]
) -> tuple[InstrumentNote, ...]:
    """One line for every sensor, plain column, pulse signal and hand gauge that was used."""
    sensors = {sensor.name: sensor for sensor in job.sensors}
    rows: dict[str, InstrumentNote] = {}
    for entry in job.recordings:
        for signal in entry.signals:
            name = signal.sensor or _plain_name(signal)
            if name in rows:
                continue
            if signal.sensor:
                rows[name] = _sensor_row(
                    sensors[signal.sensor], signal, lanes.calibrations[name], book, zeros, job
                )
            else:
                rows[name] = _plain_row(name, signal)
    for instrument in job.instruments:
        rows[f"hand: {instrument.name}"] = _hand_row(instrument, job)
    return tuple(rows.values())


def _plain_name(signal: SignalEntry) -> str:
    return said("column {column}", column=signal.column)


def _plain_row(name: str, signal: SignalEntry) -> InstrumentNote:
    kind = QUANTITIES[signal.quantity]
    reference = (signal.reference or "atmosphere") if kind.is_pressure else None
    unit = signal.unit or said("its unit")
    how = said("pulses") if kind.pulses else said("in {unit} already", unit=unit)
    return InstrumentNote(
        name, signal.quantity, AGAINST.get(reference, "-"), how, said("none of ours"), "-"
    )


def _sensor_row(
    sensor: Sensor,
    signal: SignalEntry,
    calibration: Calibration,
    book: SharedErrors,
    zeros: tuple[ZeroNote, ...],
    job: Job,
) -> InstrumentNote:
    kind = QUANTITIES[signal.quantity]
    values = [point[1].si for point in sensor.points]
    low, high = min(values), max(values)
    reach = said(
        "{count} points, {low} to {high}",
        count=len(sensor.points),
        low=sensor.points[0][1].text,
        high=sensor.points[-1][1].text,
    )
    labels = {
        f"{entry.name}/{s.column}"
        for entry in job.recordings
        for s in entry.signals
        if s.sensor == sensor.name
    }
    known = joined(
        _at(calibration, book, value, kind.findings_factor, kind.findings_unit)
        for value in (low, 0.5 * (low + high))
    )
    reference = said("sealed gas") if sensor.reference == "sealed" else AGAINST[sensor.reference]
    return InstrumentNote(
        sensor.name, signal.quantity, reference, reach, known, _zero_text(labels, zeros)
    )


def _at(
    calibration: Calibration, book: SharedErrors, value: float, factor: float, unit: str
) -> str:
    gradient = calibration.gradient(value)
    u = float(np.sqrt(max(book.between(gradient, gradient), 0.0)))
    return said("{u:.2g} {unit} at {at:.3g}", u=u * factor, unit=unit, at=float(value * factor))


def _zero_text(labels: set[str], zeros: tuple[ZeroNote, ...]) -> str:
    mine = [zero for zero in zeros if zero.label in labels]
    if not mine:
        return said("not taken")
    used = [zero for zero in mine if not zero.notes]
    if not used:
        return said("at a stop, not used")
    visits = dict.fromkeys(zero.visit for zero in used)
    return said("engine off, visit {visits}", visits=", ".join(visits))


def _hand_row(instrument: Instrument, job: Job) -> InstrumentNote:
    readings = [r for r in job.readings if r.instrument == instrument.name]
    quantity = readings[0].quantity if readings else "oil-pressure"
    reference = (readings[0].reference or "atmosphere") if readings else None
    accuracy = instrument.accuracy.text if instrument.accuracy else said("not stated")
    against = AGAINST.get(reference, "-") if QUANTITIES[quantity].is_pressure else "-"
    return InstrumentNote(instrument.name, quantity, against, said("read by hand"), accuracy, "-")


def files(job: Job, recorded: tuple[Recorded, ...], told: dict[str, str]) -> tuple[FileNote, ...]:
    """Every input file: checksum, guesses, counts."""
    return tuple(
        FileNote(
            numbers.name,
            entry.file,
            numbers.sha256,
            numbers.rows,
            numbers.rate_hz,
            (*numbers.guesses, *([told[numbers.name]] if numbers.name in told else [])),
            tuple(note.text for note in numbers.notes),
        )
        for entry, numbers in zip(job.recordings, recorded, strict=True)
    )
