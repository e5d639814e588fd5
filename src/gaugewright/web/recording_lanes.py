"""Which lanes a recording's page shows: all of its visit that ran with it, on its clock."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np

from gaugewright.analysis.lanes import Lanes
from gaugewright.analysis.questions import barometer_of
from gaugewright.evidence.cycles import Sensed
from gaugewright.job.model import RecordingEntry
from gaugewright.quantities.catalogue import PRESSURES, PULSES, QUANTITIES
from gaugewright.report import display
from gaugewright.report.preferences import Preferences
from gaugewright.sensing.conversion import unit_scale
from gaugewright.sensing.types import Signal
from gaugewright.web.lanes import Drawn, drawn
from gaugewright.web.recording_case import Read, extent, shift_s
from gaugewright.web.wording import Words

INKS = {
    "oil-pressure": "oil",
    "crankcase-pressure": "crankcase",
    "manifold-pressure": "manifold",
    "engine-speed": "speed",
    "ignition": "ignition",
    "crank": "ignition",
    "cam": "ignition",
    "oil-temperature": "temperature",
    "coolant-temperature": "temperature",
    "air-flow": "air",
    "fuel-trim-short": "trim",
    "fuel-trim-long": "trim",
}
"""Quantity -> the colour it has on every page; others are drawn in ink."""
DASHES = {"temperature": "dashed", "air": "long-dash", "trim": "dotted"}
SHORTEST_SAMPLES = 12
"""The shortest window that can be looked at, in samples of the quickest lane."""
USUAL_CYCLE_S = 0.15
MOST_CYCLES = 600


@dataclass(frozen=True)
class LaneInfo:
    """What the page is told of a lane; `label` is the signal's, `key` the lane's own."""

    key: str
    label: str
    quantity: str
    reference: str | None
    name: str
    against: str
    unit: str
    ink: str
    dash: str
    signed: bool
    decimals: int
    pulses: bool
    interval: float
    low: float
    high: float
    weight: int

    def as_data(self) -> dict[str, object]:
        """As JSON holds it."""
        return asdict(self)


@dataclass(frozen=True)
class Shown:
    """The lanes of a page with the clock they share."""

    main: Sensed
    infos: tuple[LaneInfo, ...]
    lanes: tuple[Drawn, ...]
    start_s: float
    end_s: float
    cycle_s: float
    cycles: tuple[tuple[float, float], ...]

    @property
    def least_s(self) -> float:
        """The shortest window that can be looked at."""
        quickest = min((info.interval for info in self.infos), default=0.01)
        return max(SHORTEST_SAMPLES * quickest, 0.002)


@dataclass(frozen=True)
class _Frame:
    """What every lane of a page is made with."""

    main: Sensed
    barometer_pa: float | None
    preferences: Preferences
    words: Words


def shown_lanes(read: Read, entry: RecordingEntry, preferences: Preferences, words: Words) -> Shown:
    """The lanes of one recording and of those of its visit that ran at the same time."""
    main = read.sensed(entry)
    start, end = extent(main)
    frame = _Frame(main, barometer_of(read.job)[0], preferences, words)
    found: list[tuple[LaneInfo, Drawn]] = []
    for one in read.of_visit(main.visit):
        begin, finish = (t + shift_s(one, main) for t in extent(one))
        if one is main or min(finish, end) - max(begin, start) > 0.2 * (end - start):
            found += _of_recording(read, one, frame)
    found.sort(key=lambda pair: _rank(pair[0].quantity))
    return Shown(
        main=main,
        infos=tuple(info for info, _ in found),
        lanes=tuple(lane for _, lane in found),
        start_s=start,
        end_s=end,
        cycle_s=_cycle(read.of_visit(main.visit)),
        cycles=_some_cycles(read.of_visit(main.visit), main),
    )


def _rank(quantity: str) -> tuple[int, int]:
    """Pressures first, then speed, pulses, and the rest; within these as the catalogue goes."""
    group = 0 if quantity in PRESSURES else 1 if quantity == "engine-speed" else 3
    return (2 if quantity in PULSES else group), list(QUANTITIES).index(quantity)


def _cycle(recordings: tuple[Sensed, ...]) -> float:
    for one in recordings:
        if one.rotation is not None and one.rotation.good.any():
            return float(np.median(np.diff(one.rotation.edges_s)[one.rotation.good]))
    return USUAL_CYCLE_S


def _some_cycles(recordings: tuple[Sensed, ...], main: Sensed) -> tuple[tuple[float, float], ...]:
    """Start and length of cycles spread over the recording, enough to find one near an instant."""
    for one in recordings:
        if one.rotation is not None and one.rotation.good.any():
            good = np.flatnonzero(one.rotation.good)
            some = good[:: max(len(good) // MOST_CYCLES, 1)]
            edges = one.rotation.edges_s + shift_s(one, main)
            lengths = np.diff(edges)
            return tuple((round(float(edges[k]), 5), round(float(lengths[k]), 5)) for k in some)
    return ()


def _of_recording(read: Read, one: Sensed, frame: _Frame) -> list[tuple[LaneInfo, Drawn]]:
    made = [_signal_lane(signal, one, frame) for signal in one.signals if len(signal.time_s)]
    rotation = one.rotation
    if rotation is not None and rotation.source != "engine-speed" and len(rotation.edges_s) > 2:
        middle = 0.5 * (rotation.edges_s[1:] + rotation.edges_s[:-1])
        lane = drawn(middle, rotation.speed_rpm, 1.0, 0.0, shift_s(one, frame.main))
        cycle = float(np.median(np.diff(rotation.edges_s)))
        made.append((_info(rotation.label, "engine-speed", None, lane, cycle, frame), lane))
    return made + _pulse_lanes(read, one, frame)


def _signal_lane(signal: Signal, one: Sensed, frame: _Frame) -> tuple[LaneInfo, Drawn]:
    kind = QUANTITIES[signal.quantity]
    reference, lift = signal.reference, 0.0
    if signal.quantity == "crankcase-pressure" and reference == "vacuum" and frame.barometer_pa:
        reference, lift = "atmosphere", frame.barometer_pa
    how = display.shown(signal.quantity, kind.findings_unit, frame.preferences, reference=reference)
    factor = kind.findings_factor / how.per_unit
    shift = shift_s(one, frame.main)
    lane = drawn(signal.time_s, signal.values, factor, -factor * lift, shift)
    info = _info(signal.label, signal.quantity, reference, lane, signal.interval_s, frame)
    return info, lane


def _pulse_lanes(read: Read, one: Sensed, frame: _Frame) -> list[tuple[LaneInfo, Drawn]]:
    entry = next(e for e in read.job.recordings if (e.visit, e.name) == (one.visit, one.name))
    recorded = _recorded(read.lanes, one)
    made = []
    for signal in entry.signals:
        column = recorded.columns.get(signal.column) if recorded else None
        if signal.quantity not in PULSES or column is None or not len(column.time_s):
            continue
        factor, offset = unit_scale(recorded, signal, column) if recorded else (1.0, 0.0)
        lane = drawn(column.time_s, column.values, factor, offset, shift_s(one, frame.main))
        label = f"{one.name}/{signal.column}"
        info = _info(label, signal.quantity, None, lane, column.interval_s, frame, signal.cylinder)
        made.append((info, lane))
    return made


def _recorded(lanes: Lanes, one: Sensed):  # type: ignore[no-untyped-def]
    pairs = ((r.visit, r.name, r) for r in lanes.recorded)
    return next((r for visit, name, r in pairs if (visit, name) == (one.visit, one.name)), None)


def _info(
    label: str,
    quantity: str,
    reference: str | None,
    lane: Drawn,
    interval_s: float,
    frame: _Frame,
    cylinder: int | None = None,
) -> LaneInfo:
    kind, words = QUANTITIES[quantity], frame.words
    how = display.shown(quantity, kind.findings_unit, frame.preferences, reference=reference)
    ink = INKS.get(quantity, "ink")
    low, high = lane.range
    kind_word = f"recording.kind.{quantity}"
    against = words(kind_word) if words.has(kind_word) else ""
    if words.has(f"recording.against.{quantity}.{reference}"):
        against = words(f"recording.against.{quantity}.{reference}")
    if cylinder is not None:
        against = words("recording.cylinder", n=cylinder)
    return LaneInfo(
        key=f"{quantity} {label}",
        label=label,
        quantity=quantity,
        reference=reference,
        name=words.of("recording.quantity", quantity),
        against=against,
        unit=words.of("recording.unit", how.unit)
        if words.has(f"recording.unit.{how.unit}")
        else how.unit,
        ink=ink,
        dash=DASHES.get(ink, ""),
        signed=how.signed,
        decimals=how.most_decimals,
        pulses=kind.pulses,
        interval=interval_s,
        low=low,
        high=high,
        weight=_weight(quantity),
    )


def _weight(quantity: str) -> int:
    """How much of the height a lane gets, from 1 to 4."""
    if quantity == "oil-pressure":
        return 4
    return 3 if quantity in PRESSURES else 1 if quantity in PULSES else 2
