"""From recordings and hand readings to what was held in every condition of the job."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.cycles import Sensed, cycle_table
from gaugewright.evidence.held import Held, held_by_signal
from gaugewright.evidence.lateness import Pace
from gaugewright.evidence.level import HUNTING_SHARE, Level, fit_level
from gaugewright.evidence.pooling import merged
from gaugewright.evidence.sources import HAND_DOF, Source
from gaugewright.evidence.stretch import (
    Kept,
    kept_stretch,
    pace_of,
    settled_stretch,
    votes_on_pace,
)
from gaugewright.job import words
from gaugewright.quantities.catalogue import PULSES

Floats = npt.NDArray[np.float64]

LASTING = frozenset(words.LASTING)


@dataclass(frozen=True)
class HandValue:
    """A reading by hand in house units, its standard uncertainty of reading off apart."""

    visit: str
    condition: str
    quantity: str
    reference: str | None
    value: float
    uncertainty: float
    instrument: str | None
    speed_rpm: float | None
    oil_degc: float | None
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class Gathered:
    """All levels of a job, in the order of the day, and the stretches they came from."""

    sources: tuple[Source, ...]
    stretches: tuple[Kept, ...]
    empty: tuple[tuple[Sensed, str], ...]


def states_of(recordings: Iterable[Sensed]) -> dict[tuple[str, str], int]:
    """The state each (visit, condition) belongs to: a visit, split by lasting actions."""
    day = tuple(recordings)
    order = {id(recording): k for k, recording in enumerate(day)}
    spans = sorted(
        ((r, span) for r in day for span in r.spans),
        key=lambda pair: (pair[0].offset_s, order[id(pair[0])], pair[1].from_s),
    )
    state: dict[str, int] = {}
    found: dict[tuple[str, str], int] = {}
    for recording, span in spans:
        if (recording.visit, span.condition) in found:
            continue
        if LASTING & set(span.did):
            state[recording.visit] = state.get(recording.visit, 0) + 1
        found[recording.visit, span.condition] = state.get(recording.visit, 0)
    return found


def gather(recordings: tuple[Sensed, ...], by_hand: tuple[HandValue, ...]) -> Gathered:
    """Every source's level in every condition, not yet corrected by the shared errors."""
    states = states_of(recordings)
    stretches, empty = _stretches(recordings)
    sources = [s for kept in stretches for s in _of_stretch(kept, states)]
    sources = merged(sources)
    sources = _with_speeds_of_mates(sources, by_hand)
    sources += [_of_hand(value, sources, states) for value in by_hand]
    return Gathered(tuple(sources), tuple(stretches), tuple(empty))


def _stretches(
    recordings: tuple[Sensed, ...],
) -> tuple[list[Kept], list[tuple[Sensed, str]]]:
    """Every marked stretch with its settled cycles, and those that hold no cycle."""
    marked: list[Kept] = []
    empty = []
    for recording in recordings:
        whole = recording.table
        if whole is None and recording.rotation is not None:
            whole = cycle_table(recording)
        for span in recording.spans:
            table = whole or cycle_table(recording, recordings, span)
            kept = kept_stretch(recording, span, table)
            if kept is None:
                empty.append((recording, span.condition))
            else:
                marked.append(kept)
    paces = _paces(marked)
    return [settled_stretch(kept, paces[_source_of(kept)]) for kept in marked], empty


def _source_of(kept: Kept) -> tuple[str, str]:
    """Where the speed comes from and its column's name: one logger's column has one delay."""
    rotation = kept.recording.rotation
    return kept.table.source, "" if rotation is None else rotation.label.rpartition("/")[2]


def _paces(marked: list[Kept]) -> dict[tuple[str, str], Pace]:
    """How each source of speed is to be read, all its stretches voting."""
    votes: dict[tuple[str, str], list[Floats | None]] = {}
    for kept in marked:
        votes.setdefault(_source_of(kept), []).append(votes_on_pace(kept))
    return {source: pace_of(source[0], told) for source, told in votes.items()}


def _of_stretch(kept: Kept, states: dict[tuple[str, str], int]) -> list[Source]:
    state = states[kept.recording.visit, kept.span.condition]
    found = []
    for signal in kept.recording.signals:
        if signal.quantity in PULSES:
            continue
        held = held_by_signal(signal, kept, state)
        if held is not None and signal.quantity == "engine-speed":
            held = replace(held, level=_column_speed(held.level))
        if held is not None:
            found.append(Source(held, kept, signal))
    turned = _speed_from_pulses(kept, state)
    return [*found, *([Source(turned, kept, None)] if turned else [])]


def _speed_from_pulses(kept: Kept, state: int) -> Held | None:
    """The engine speed as a reading of its own, where pulses gave it."""
    rotation = kept.recording.rotation
    speed = kept.table.speed_rpm
    if rotation is None or speed is None or rotation.source == "engine-speed":
        return None
    cycles = kept.cycles
    level = fit_level(
        speed[cycles],
        kept.table.middle_s[cycles],
        (kept.table.end_s - kept.table.start_s)[cycles],
    )
    level = _as_measured(level, speed[cycles])
    return Held(
        visit=kept.recording.visit,
        state=state,
        condition=kept.span.condition,
        did=kept.span.did,
        quantity="engine-speed",
        reference=None,
        labels=(rotation.label,),
        level=level,
        gradient={},
        mid_job_s=level.mid_s + kept.recording.offset_s,
    )


def _column_speed(level: Level) -> Level:
    """The mean of a speed column: measured at its samples, their fresh scatter about the course.

    The slow part of the scatter is the engine's own and belongs to the mean it had.
    """
    fresh = level.residual_sd / np.sqrt(max(level.cycles, 1))
    return replace(level, scale=np.diag([fresh**2, 0.0]), dof=HAND_DOF)


def _as_measured(level: Level, speed: Floats) -> Level:
    """The mean speed that the stretch had: it is measured, not estimated.

    What is open is where the whole cycles begin and end, half a cycle at either end.
    """
    u = np.sqrt(0.5) * float(np.std(speed)) / len(speed)
    low, high = np.nanpercentile(speed, [5.0, 95.0])
    hunting = level.behaviour == "steady" and high - low > HUNTING_SHARE * level.value
    return replace(
        level,
        value=float(len(speed) / np.sum(1.0 / speed)),
        scale=np.diag([u**2, 0.0]),
        dof=HAND_DOF,
        behaviour="hunting" if hunting else level.behaviour,
    )


def _with_speeds_of_mates(sources: list[Source], by_hand: tuple[HandValue, ...]) -> list[Source]:
    """Sources without a speed take that of their condition: recorded elsewhere, or noted."""
    known: dict[tuple[str, str], tuple[float, tuple[float, float], str]] = {}
    for value in by_hand:
        speed = value.value if value.quantity == "engine-speed" else value.speed_rpm
        if speed is not None:
            known[value.visit, value.condition] = (speed, (speed, speed), "speed-by-hand")
    for source in sources:
        level = source.held.level
        if level.speed_rpm is not None and level.support_rpm is not None:
            where = (source.held.visit, source.held.condition)
            known[where] = (level.speed_rpm, level.support_rpm, "speed-of-other-recording")
    return [_at_speed(source, known) for source in sources]


def _at_speed(
    source: Source, known: dict[tuple[str, str], tuple[float, tuple[float, float], str]]
) -> Source:
    held = source.held
    found = known.get((held.visit, held.condition))
    if found is None or held.level.speed_rpm is not None or held.quantity == "engine-speed":
        return source
    speed, support, flag = found
    level = replace(
        held.level,
        speed_rpm=speed,
        support_rpm=support,
        scale=np.diag([float(held.level.scale[0, 0]), np.inf]),
    )
    return replace(source, held=replace(held, level=level, flags=(*held.flags, flag)))


def _of_hand(value: HandValue, sources: list[Source], states: dict[tuple[str, str], int]) -> Source:
    """A hand reading as a level; its speed is its own or the condition's where recorded."""
    mates = [
        s.held
        for s in sources
        if (s.held.visit, s.held.condition) == (value.visit, value.condition)
    ]
    speeds = [mate.level.speed_rpm for mate in mates if mate.level.speed_rpm is not None]
    speed = value.speed_rpm if value.speed_rpm is not None else (speeds[0] if speeds else None)
    mid = mates[0].level.mid_s if mates else 0.0
    held = Held(
        visit=value.visit,
        state=states.get((value.visit, value.condition), 0),
        condition=value.condition,
        did=mates[0].did if mates else ("nothing",),
        quantity=value.quantity,
        reference=value.reference,
        labels=(value.instrument or "by hand",),
        level=_level_read(value, speed, mid),
        gradient=_instrument(value),
        mid_job_s=mates[0].mid_job_s if mates else 0.0,
        flags=value.flags,
        by_hand=True,
    )
    return Source(held, None, None)


def _level_read(value: HandValue, speed: float | None, mid_s: float) -> Level:
    """A value read by hand as a level without a slope of its own."""
    blind = np.diag([value.uncertainty**2, np.inf if speed is not None else 0.0])
    return Level(
        value=value.value,
        slope=0.0,
        scale=blind,
        dof=HAND_DOF,
        speed_rpm=speed,
        support_rpm=None if speed is None else (speed, speed),
        mid_s=mid_s,
        length_s=0.0,
        cycles=0,
        outlying=0,
        inflation=1.0,
        residual_sd=value.uncertainty,
        drift=0.0,
        drift_error=0.0,
        behaviour="steady",
    )


def _instrument(value: HandValue) -> dict[str, Floats]:
    return {f"instrument: {value.instrument}": np.ones(1)} if value.instrument else {}
