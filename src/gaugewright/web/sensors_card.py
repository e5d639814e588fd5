"""What a sensor's card shows: its line, its residuals, how sure it is where it matters."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from gaugewright.analysis.questions import barometer_of, with_instruments
from gaugewright.analysis.zeros import ZeroNote, with_zeros
from gaugewright.errors import InputError
from gaugewright.evidence.level import coverage_factor
from gaugewright.evidence.weigh import with_common_blocks
from gaugewright.job.model import Job, Sensor
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.units import split
from gaugewright.sensing.calibration import Calibration, calibrate
from gaugewright.sensing.shared import Gradient, SharedErrors, plus
from gaugewright.web.recording_case import Read, weighed

Floats = npt.NDArray[np.float64]

TELLING_PA = {
    "oil-pressure": 5000.0,
    "crankcase-pressure": 500.0,
    "manifold-pressure": 2000.0,
    "fuel-pressure": 10000.0,
}
"""A 95 % half width above this leaves open what the quantity is read for (our judgement)."""
LINE_PLACES = 61
REACH, EDGE = 0.15, 0.05
"""How far the picture goes beyond the points, and beyond that, as shares of their span."""


@dataclass(frozen=True)
class Use:
    """A pressure at which the sensor has to be trusted, house units: what it is, and how sure."""

    kind: str
    name: str
    value: float
    half: float


@dataclass(frozen=True)
class Card:
    """A sensor's card, house units.

    `outputs`, `values`, `off` (n,) are the points and their distance from the line.  `places`,
    `halves` (m,) say over the range how far the true value may lie from the line, 95 %.
    `step` is what one step of the recorder is worth, 0 where none is seen.  `calibration` is None
    while the points hold no line; `why` then says so.
    """

    sensor: Sensor
    quantity: str | None
    unit: str
    outputs: Floats
    values: Floats
    off: Floats
    calibration: Calibration | None
    why: str = ""
    places: Floats = field(default_factory=lambda: np.zeros(0))
    halves: Floats = field(default_factory=lambda: np.zeros(0))
    uses: tuple[Use, ...] = ()
    difference: tuple[str, str, float] | None = None
    zeros: tuple[ZeroNote, ...] = ()
    step: float = 0.0

    @property
    def span(self) -> tuple[float, float]:
        """The pressures that the points reach from and to."""
        return float(np.min(self.values)), float(np.max(self.values))


def card_of(job: Job, sensor: Sensor, read: Read | None) -> Card:
    """The card of one sensor of a job; readings and zeros are there once it was `read`."""
    outputs = np.array([point[0].si for point in sensor.points])
    values = np.array([point[1].si for point in sensor.points])
    quantity = quantity_of(job, sensor.name)
    unit = split(sensor.points[0][0].text)[1] if sensor.points else "V"
    base = Card(sensor, quantity, unit, outputs, values, np.zeros(len(values)), None)
    try:
        calibration, book = calibrate(sensor, SharedErrors())
    except InputError as error:
        return _with(base, why=error.problems[0].found)
    zeros: tuple[ZeroNote, ...] = ()
    step = 0.0
    uses = _limits(job, quantity, calibration.reference)
    if read is not None:
        book, zeros = _book(job, read)
        labels = _labels(job, sensor.name)
        zeros = tuple(zero for zero in zeros if zero.label in labels)
        step = _step(read, labels)
        uses = (*_conditions(read, calibration, labels), *uses)
    shift = sensor.sealed_at.si if sensor.reference == "sealed" and sensor.sealed_at else 0.0
    values = values + shift
    places = _places(values, calibration)
    return _with(
        base,
        values=values,
        off=values - calibration.pressure(outputs),
        calibration=calibration,
        places=places,
        halves=np.array([half(book, calibration.gradient(float(p))) for p in places]),
        uses=tuple(Use(*use, half(book, calibration.gradient(use[2]))) for use in uses),
        difference=_difference(book, calibration, uses),
        zeros=zeros,
        step=step,
    )


def _with(card: Card, **changes: object) -> Card:
    from dataclasses import replace

    return replace(card, **changes)  # type: ignore[arg-type]


def half(book: SharedErrors, gradient: Gradient) -> float:
    """Half the width of the 95 % interval that these shared errors leave."""
    return coverage_factor(None) * float(np.sqrt(max(book.between(gradient, gradient), 0.0)))


def quantity_of(job: Job, name: str) -> str | None:
    """What the sensor of this name measures, from the first signal that goes through it."""
    return next(
        (s.quantity for entry in job.recordings for s in entry.signals if s.sensor == name), None
    )


def _labels(job: Job, name: str) -> set[str]:
    return {
        f"{entry.name}/{signal.column}"
        for entry in job.recordings
        for signal in entry.signals
        if signal.sensor == name
    }


def _book(job: Job, read: Read) -> tuple[SharedErrors, tuple[ZeroNote, ...]]:
    """The job's shared errors after all its zeros."""
    barometer_pa, error = barometer_of(job)
    visits = tuple(visit.name for visit in job.visits)
    book = with_common_blocks(with_instruments(read.lanes.book, job), visits, error)
    return with_zeros(book, read.lanes.sensed, barometer_pa)


def _step(read: Read, labels: set[str]) -> float:
    steps = [s.step for one in read.lanes.sensed for s in one.signals if s.label in labels]
    return max(steps, default=0.0)


def _places(values: Floats, calibration: Calibration) -> Floats:
    """Where the picture shows the line: over its points and the range, as far as they go."""
    span = float(np.ptp(values))
    high = min(max(values.max(), calibration.ends[1]), values.max() + REACH * span)
    low = max(min(values.min(), calibration.ends[0]), values.min() - REACH * span)
    return np.linspace(low - EDGE * span, high + EDGE * span, LINE_PLACES)


def _limits(job: Job, quantity: str | None, reference: str) -> tuple[tuple[str, str, float], ...]:
    """The limits stated for the gauge, as this sensor would read them; none where it cannot."""
    lift = {"atmosphere": 0.0, "vacuum": barometer_of(job)[0]}.get(reference)
    if lift is None:
        return ()
    found = []
    for limit in job.limits:
        if limit.quantity == quantity and limit.reference in (None, "atmosphere"):
            ends = (limit.min, limit.max) if limit.min is None else (limit.min,)
            found += [("limit", limit.name, end.si + lift) for end in ends if end is not None]
    return tuple(found)


def _conditions(
    read: Read, calibration: Calibration, labels: set[str]
) -> tuple[tuple[str, str, float], ...]:
    """What the sensor read in the conditions of the first visit that it took part in."""
    sensed = [s for s in read.lanes.sensed if any(x.label in labels for x in s.signals)]
    if not sensed:
        return ()
    findings, _ = weighed(read, sensed[0])
    found: dict[str, float] = {}
    for reading in findings.readings:
        mine = len(reading.signals) == 1 and reading.signals[0] in labels
        if mine and reading.reference == calibration.reference:
            factor = QUANTITIES[reading.quantity].findings_factor
            found.setdefault(reading.condition, reading.value / factor)
    return tuple(("condition", name, value) for name, value in found.items())


def _difference(
    book: SharedErrors, calibration: Calibration, uses: tuple[tuple[str, str, float], ...]
) -> tuple[str, str, float] | None:
    """How sure a difference of two conditions is as far as the sensor goes."""
    held = [use for use in uses if use[0] == "condition"]
    running = sorted(held, key=lambda use: use[2])
    if len(running) < 2 or running[0][2] == running[-1][2]:
        return None
    low, high = running[0], running[-1]
    gradient = plus(calibration.gradient(high[2]), calibration.gradient(low[2]), -1.0)
    return low[1], high[1], half(book, gradient)
