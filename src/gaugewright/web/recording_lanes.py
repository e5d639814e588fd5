"""Which lanes a recording's page shows: all of its visit that ran with it, on its clock."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np

from gaugewright.analysis.questions import barometer_of
from gaugewright.job.model import Job
from gaugewright.quantities.catalogue import PRESSURES, PULSES, QUANTITIES
from gaugewright.report import display
from gaugewright.report.preferences import Preferences
from gaugewright.store.lane import StoredLane
from gaugewright.web.lanes import Drawn
from gaugewright.web.recording_tracks import Track
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
RAN_WITH = 0.2
"""A recording that shares this much of the page's time is shown on it."""
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
    """The lanes of a page with the clock they share, and cycles spread over it (start, length)."""

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

    main: Track
    barometer_pa: float | None
    preferences: Preferences
    words: Words


def shown_lanes(
    job: Job, main: Track, tracks: tuple[Track, ...], preferences: Preferences, words: Words
) -> Shown:
    """The lanes of one recording and of those of its visit that ran at the same time."""
    start, end = main.begin_s, main.end_s
    frame = _Frame(main, barometer_of(job)[0], preferences, words)
    found: list[tuple[LaneInfo, Drawn]] = []
    for track in tracks:
        if track is main or track.shared(main, start, end) > RAN_WITH * (end - start):
            found += _of_track(track, frame)
    found.sort(key=lambda pair: _rank(pair[0].quantity))
    cycles = _cycles(tracks, main)
    lengths = [length for _, length in cycles]
    return Shown(
        infos=tuple(info for info, _ in found),
        lanes=tuple(lane for _, lane in found),
        start_s=start,
        end_s=end,
        cycle_s=float(np.median(lengths)) if lengths else USUAL_CYCLE_S,
        cycles=cycles,
    )


def _rank(quantity: str) -> tuple[int, int]:
    """Pressures first, then speed, pulses, and the rest; within these as the catalogue goes."""
    group = 0 if quantity in PRESSURES else 1 if quantity == "engine-speed" else 3
    return (2 if quantity in PULSES else group), list(QUANTITIES).index(quantity)


def _cycles(tracks: tuple[Track, ...], main: Track) -> tuple[tuple[float, float], ...]:
    """Start and length of cycles spread over the recording, enough to find one near an instant."""
    for track in tracks:
        lane = track.speed
        if lane is None or lane.count < 2:
            continue
        time = lane.clock.at(0, lane.count) + track.shift_to(main)
        length = np.diff(time)
        some = range(0, lane.count - 1, max((lane.count - 1) // MOST_CYCLES, 1))
        return tuple(
            (round(float(time[k] - 0.5 * length[k]), 5), round(float(length[k]), 5)) for k in some
        )
    return ()


def _of_track(track: Track, frame: _Frame) -> list[tuple[LaneInfo, Drawn]]:
    """The lanes of one recording: its signals, and the speed that its pulses tell."""
    entry = track.entry
    by_label = {lane.label: lane for lane in track.stored.lanes}
    made = []
    for signal in entry.signals:
        lane = by_label.get(f"{entry.name}/{signal.column}")
        if lane is not None and lane.count:
            made.append(_lane(signal.quantity, lane, track, frame, signal.cylinder))
    tells = any(signal.quantity == "engine-speed" for signal in entry.signals)
    if track.speed is not None and track.speed.count and not tells:
        made.append(_lane("engine-speed", track.speed, track, frame, None))
    return made


def _lane(
    quantity: str, lane: StoredLane, track: Track, frame: _Frame, cylinder: int | None
) -> tuple[LaneInfo, Drawn]:
    kind = QUANTITIES[quantity]
    shift = track.shift_to(frame.main)
    if lane.unit != kind.house_unit:
        drawn = Drawn(lane, shift_s=shift)
        return _info(quantity, None, drawn, frame, cylinder, lane.unit), drawn
    reference, lift = lane.reference, 0.0
    if quantity == "crankcase-pressure" and reference == "vacuum" and frame.barometer_pa:
        reference, lift = "atmosphere", frame.barometer_pa
    how = display.shown(quantity, kind.findings_unit, frame.preferences, reference=reference)
    factor = kind.findings_factor / how.per_unit
    drawn = Drawn(lane, factor, -factor * lift, shift)
    return _info(quantity, reference, drawn, frame, cylinder), drawn


def _info(
    quantity: str,
    reference: str | None,
    lane: Drawn,
    frame: _Frame,
    cylinder: int | None = None,
    unit: str | None = None,
) -> LaneInfo:
    kind, words = QUANTITIES[quantity], frame.words
    how = display.shown(quantity, kind.findings_unit, frame.preferences, reference=reference)
    ink = INKS.get(quantity, "ink")
    label = lane.lane.label
    low, high = lane.range
    against = ""
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
        unit=unit or _unit(words, how.unit),
        ink=ink,
        dash=DASHES.get(ink, ""),
        signed=how.signed,
        decimals=how.most_decimals,
        pulses=kind.pulses,
        interval=lane.interval_s,
        low=low,
        high=high,
        weight=_weight(quantity),
    )


def _weight(quantity: str) -> int:
    """How much of the height a lane gets, from 1 to 4."""
    if quantity == "oil-pressure":
        return 4
    return 3 if quantity in PRESSURES else 1 if quantity in PULSES else 2


def _unit(words: Words, unit: str) -> str:
    key = f"recording.unit.{unit}"
    return words(key) if words.has(key) else unit
