"""From recordings and hand readings to what was held in every condition of the job."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.cycles import Sensed, cycle_table
from gaugewright.evidence.held import (
    PULSES,
    Held,
    Kept,
    difference_level,
    held_by_signal,
    kept_stretch,
    settled_stretch,
    subtracted,
    votes_on_delay,
)
from gaugewright.evidence.lateness import delay_of
from gaugewright.evidence.level import HUNTING_SHARE, Level, fit_level
from gaugewright.sensing.shared import SharedErrors, plus
from gaugewright.sensing.types import Signal

Floats = npt.NDArray[np.float64]

LASTING = frozenset({"oil-changed", "oil-topped-up", "level-corrected", "repaired"})
BAROMETER = "barometer"
HAND_DOF = 1e9


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
class Source:
    """A level together with the stretch and the signal it came from, None when by hand."""

    held: Held
    kept: Kept | None
    signal: Signal | None


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
    sources = _merged(sources)
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
        whole = cycle_table(recording) if recording.rotation is not None else None
        for span in recording.spans:
            table = whole or cycle_table(recording, recordings, span)
            kept = kept_stretch(recording, span, table)
            if kept is None:
                empty.append((recording, span.condition))
            else:
                marked.append(kept)
    delays = _delays(marked)
    return [settled_stretch(kept, *delays[_column_of(kept)]) for kept in marked], empty


def _column_of(kept: Kept) -> str:
    """The name of the column the speed comes from: one logger's column is late by one delay."""
    rotation = kept.recording.rotation
    return "" if rotation is None else rotation.label.rpartition("/")[2]


def _delays(marked: list[Kept]) -> dict[str, tuple[float, bool]]:
    """How late each sampled speed column is, all its stretches voting."""
    votes: dict[str, list[Floats | None]] = {}
    for kept in marked:
        votes.setdefault(_column_of(kept), []).append(votes_on_delay(kept))
    return {column: delay_of(told) for column, told in votes.items()}


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


def _merged(sources: list[Source]) -> list[Source]:
    """One condition in two stretches of a recording becomes one level with their spread."""
    groups: dict[tuple[object, ...], list[Source]] = {}
    for source in sources:
        h = source.held
        key = (h.visit, h.state, h.condition, h.quantity, h.reference, h.labels)
        groups.setdefault(key, []).append(source)
    return [group[0] if len(group) == 1 else _pooled(group) for group in groups.values()]


def _pooled(group: list[Source]) -> Source:
    levels = [source.held.level for source in group]
    longest = max(group, key=lambda source: source.held.level.cycles)
    merged = pooled_level(levels)
    flags = tuple(dict.fromkeys(flag for s in group for flag in s.held.flags))
    held = replace(longest.held, level=merged, flags=(*flags, "several-stretches"))
    return replace(longest, held=held)


def pooled_level(levels: list[Level]) -> Level:
    """The mean of several stretches at their common mean speed, their spread included.

    Weights are durations; a spread beyond the stretches' own uncertainties is added by the
    method of moments (R. DerSimonian and N. Laird, Controlled Clinical Trials 7 (1986) 177).
    """
    speeds = [level.speed_rpm for level in levels]
    weight = np.array([max(level.length_s, 1e-9) for level in levels])
    weight /= weight.sum()
    known = [s for s in speeds if s is not None]
    speed = float(weight @ np.array(known)) if len(known) == len(levels) else None
    at = [level.at(speed) if _sloped(level) else level.at(None) for level in levels]
    values, variances = np.array([a[0] for a in at]), np.array([a[1] for a in at])
    mean = float(weight @ values)
    between = float(np.sum((values - values.mean()) ** 2)) / (len(levels) - 1)
    extra = max(0.0, between - float(np.mean(variances)))
    variance = float(weight**2 @ (variances + extra))
    best = max(levels, key=lambda level: level.cycles)
    scale = best.scale.copy()
    scale[0, :] = scale[:, 0] = 0.0
    scale[0, 0] = variance
    own = float(weight**2 @ variances)
    dof = variance**2 / (own**2 / max(best.dof, 1.0) + (variance - own) ** 2 / (len(levels) - 1))
    return replace(
        best,
        value=mean,
        speed_rpm=speed,
        scale=scale,
        dof=dof,
        cycles=sum(level.cycles for level in levels),
        support_rpm=_joint_support(levels),
    )


def _sloped(level: Level) -> bool:
    return level.speed_rpm is not None and bool(np.isfinite(level.scale[1, 1]))


def _joint_support(levels: list[Level]) -> tuple[float, float] | None:
    known = [level.support_rpm for level in levels if level.support_rpm is not None]
    return (min(s[0] for s in known), max(s[1] for s in known)) if known else None


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
    blind = np.diag([value.uncertainty**2, np.inf if speed is not None else 0.0])
    level = Level(
        value=value.value,
        slope=0.0,
        scale=blind,
        dof=HAND_DOF,
        speed_rpm=speed,
        support_rpm=None if speed is None else (speed, speed),
        mid_s=mates[0].level.mid_s if mates else 0.0,
        length_s=0.0,
        cycles=0,
        outlying=0,
        inflation=1.0,
        residual_sd=value.uncertainty,
        drift=0.0,
        drift_error=0.0,
        behaviour="steady",
    )
    held = Held(
        visit=value.visit,
        state=states.get((value.visit, value.condition), 0),
        condition=value.condition,
        did=mates[0].did if mates else ("nothing",),
        quantity=value.quantity,
        reference=value.reference,
        labels=(value.instrument or "by hand",),
        level=level,
        gradient=_instrument(value),
        mid_job_s=mates[0].mid_job_s if mates else 0.0,
        flags=value.flags,
        by_hand=True,
    )
    return Source(held, None, None)


def _instrument(value: HandValue) -> dict[str, Floats]:
    return {f"instrument: {value.instrument}": np.ones(1)} if value.instrument else {}


def against(held: Held, reference: str, barometer_pa: float | None) -> Held | None:
    """The same level against the outside air or a vacuum; None where no barometer is known."""
    if held.reference == reference:
        return held
    if barometer_pa is None or {held.reference, reference} != {"atmosphere", "vacuum"}:
        return None
    sign = 1.0 if reference == "vacuum" else -1.0
    level = replace(held.level, value=held.level.value + sign * barometer_pa)
    gradient = plus(held.gradient, {BAROMETER: np.ones(1)}, sign)
    return replace(held, reference=reference, level=level, gradient=gradient)


def differential(oil: Source, crankcase: Source, barometer_pa: float | None) -> Source | None:
    """Gauge less crankcase: cycle by cycle where both ran together, else from their levels."""
    one, other = oil.held, crankcase.held
    if one.reference != other.reference:
        moved = against(other, str(one.reference), barometer_pa)
        if moved is None:
            return None
        other = moved
    lift = other.level.value - crankcase.held.level.value
    together = _together(oil, crankcase)
    if together is not None:
        level = replace(together, value=together.value - lift)
        return replace(oil, held=subtracted(one, other, level))
    return replace(oil, held=subtracted(one, other, _level_difference(one.level, other.level)))


def _together(oil: Source, crankcase: Source) -> Level | None:
    """The row-by-row difference where both stretches overlap on the job's clock."""
    if oil.kept is None or oil.signal is None:
        return None
    if crankcase.kept is None or crankcase.signal is None:
        return None
    shift = crankcase.kept.recording.offset_s - oil.kept.recording.offset_s
    begin = max(oil.kept.from_s, crankcase.kept.from_s + shift)
    finish = min(oil.kept.to_s, crankcase.kept.to_s + shift)
    if finish - begin < 0.5 * (oil.kept.to_s - oil.kept.from_s):
        return None
    table = oil.kept.table
    first = int(np.searchsorted(table.start_s, begin - 1e-9))
    last = int(np.searchsorted(table.end_s, finish + 1e-9, side="right"))
    if last - first < 3:
        return None
    shared = replace(oil.kept, first=first, last=last)
    try:
        level = difference_level(oil.signal, crankcase.signal, shift, shared)
    except ValueError:
        return None
    return level if "several-stretches" not in oil.held.flags else None


def _level_difference(one: Level, other: Level) -> Level:
    """One level less another, brought to the first's speed; their noises are independent."""
    speed = one.speed_rpm if np.isfinite(other.scale[1, 1]) else None
    value, variance = other.at(speed)
    scale = one.scale.copy()
    own = scale[0, 0]
    scale[0, 0] = own + variance
    total = scale[0, 0] ** 2
    dof = total / (own**2 / one.dof + variance**2 / other.dof) if total else HAND_DOF
    return replace(one, value=one.value - value, scale=scale, dof=dof, cycles=one.cycles)


def corrected(held: Held, book: SharedErrors) -> Held:
    """The level after the book's zeros have had their say."""
    level = replace(held.level, value=held.level.value + book.correction(held.gradient))
    return replace(held, level=level)
