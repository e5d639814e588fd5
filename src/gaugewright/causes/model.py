"""What the virtual engine predicts of every reading, for n engines at once."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.causes.catalogue import mended
from gaugewright.causes.healthy import Healthy
from gaugewright.causes.observation import ALL, MARGIN, TRIM, ZERO, Held, Observed, Seen
from gaugewright.engine import held as engine_held
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.steady import Solved, solve_each
from gaugewright.job.words import BLOCKING
from gaugewright.physics.gas_flow import AIR_GAS_CONSTANT
from gaugewright.physics.numbers import Numbers

Floats = npt.NDArray[np.float64]
Which = npt.NDArray[np.intp]

WARM_DEGC = 90.0
"""The oil where nobody measured it."""
SPEED_POWER = 0.9
"""Below the relief valve oil pressure goes with speed to about this power (judgement); it brings
a prediction over the few rpm from the predicted to the read idle."""
SETTLE_S = 1.0
"""What is usually left out at the beginning of a stretch."""
LIKELY_GONE = 0.5
"""A lasting action that takes a cause away more often than not is taken to have done so."""


LOGGED = frozenset({"oil-pressure", "manifold-pressure", "engine-speed", "air-flow"})
"""Quantities weighed by their logarithm: they go with the engine's numbers as products do, so that
the logarithm is nearly straight in the logarithms of the numbers."""
LEAST = {"oil-pressure": 2e3, "manifold-pressure": 2e3, "engine-speed": 50.0, "air-flow": 1e-5}
"""What a logarithm is taken of at least: Pa, rpm, kg/s."""


def logged(item: Seen) -> bool:
    """Is this reading weighed by its logarithm?"""
    by_itself = item.quantity in LOGGED and not item.straight
    return by_itself and item.value > 2.0 * LEAST[item.quantity]


@dataclass(frozen=True)
class Asked:
    """The conditions to solve: one for each reading's place, and one for each course's start.

    `starts[place]` is the condition a blocked crankcase came from, None for a mean.
    """

    observed: Observed
    healthy: Healthy
    starts: tuple[int | None, ...]
    extra: tuple[Held, ...]

    @property
    def holds(self) -> tuple[Held, ...]:
        """Every condition to solve."""
        return (*self.observed.holds, *self.extra)

    @property
    def values(self) -> Floats:
        """The readings on the scale they are weighed on, (m,)."""
        return on_scale(self.observed, self.observed.values)


def on_scale(observed: Observed, values: Floats) -> Floats:
    """Readings or predictions, (..., m), on the scale they are weighed on."""
    found = np.array(values, dtype=np.float64)
    for k, item in enumerate(observed.items):
        if logged(item):
            found[..., k] = np.log(np.maximum(found[..., k], LEAST[item.quantity]))
    return found


def steepness(observed: Observed) -> Floats:
    """How far a reading moves on that scale for each unit of its own, (m,)."""
    return np.array([1.0 / item.value if logged(item) else 1.0 for item in observed.items])


def asked(observed: Observed, healthy: Healthy) -> Asked:
    """What has to be solved for these readings."""
    extra: list[Held] = []
    starts: list[int | None] = []
    for held in observed.holds:
        blocked = held.did & frozenset(BLOCKING)
        if not blocked:
            starts.append(None)
            continue
        extra.append(replace(held, did=held.did - blocked))
        starts.append(len(observed.holds) + len(extra) - 1)
    return Asked(observed, healthy, tuple(starts), tuple(extra))


@dataclass(frozen=True)
class Variants:
    """n engines: which causes they have, how grave each is, and their sound numbers.

    `causes` is common to all; `severity` (n, k), one column for each; `z` (n, d).  `near` (n,):
    which of them each differs little from, itself for one that stands by itself; None: all do.
    """

    causes: tuple[str, ...]
    severity: Floats
    z: Floats
    near: Which | None = None

    @property
    def count(self) -> int:
        """n."""
        return len(self.z)


def _near(blocks: Sequence[Variants]) -> Which | None:
    """Which each is near to among the variants of all blocks."""
    if all(block.near is None for block in blocks):
        return None
    starts = np.cumsum([0, *(block.count for block in blocks)])
    own = [np.arange(b.count) if b.near is None else b.near for b in blocks]
    return np.concatenate([start + one for start, one in zip(starts, own, strict=False)])


def engine_of(healthy: Healthy, variants: Variants, gone: tuple[str, ...] = ()) -> Engine:
    """These engines, with the causes that lasting actions have taken away left out."""
    engine = changed(healthy.middle, healthy.values(variants.z))
    left = [cause for cause in variants.causes if not _gone(cause, gone)]
    return _with_faults(healthy, engine, variants, left)


def _with_faults(
    healthy: Healthy, engine: Engine, variants: Variants, left: Collection[str]
) -> Engine:
    for k, cause in enumerate(variants.causes):
        fault = FAULTS[cause]
        if fault.changes and cause in left:
            engine = fault.applied(healthy.build, engine, variants.severity[:, k])
    return engine


def _gone(cause: str, actions: tuple[str, ...]) -> bool:
    return any(a == ALL or mended(cause, a) > LIKELY_GONE for a in actions)


def predictions(question: Asked, blocks: list[Variants]) -> list[Floats]:
    """What each block of variants predicts of every reading, each (n, m).

    Values are in the readings' own units, NaN where the engine would not run.
    """
    if not blocks:
        return []
    counts = [block.count for block in blocks]
    z = np.concatenate([block.z for block in blocks])
    solved = _solved(question, blocks, z)
    columns = [_of_item(question, solved, item) for item in question.observed.items]
    whole = np.stack(columns, axis=1) if columns else np.zeros((len(z), 0))
    return np.split(whole, np.cumsum(counts)[:-1])


def scaled_predictions(question: Asked, blocks: list[Variants]) -> list[Floats]:
    """`predictions` on the scale the readings are weighed on."""
    found = predictions(question, blocks)
    if not found:
        return []
    whole = on_scale(question.observed, np.concatenate(found))
    return np.split(whole, np.cumsum([len(block) for block in found])[:-1])


@dataclass(frozen=True)
class _Place:
    """One condition solved: the steady state (n,) and the engines it was solved for."""

    solved: Solved
    engine: Engine


def _solved(question: Asked, blocks: list[Variants], z: Floats) -> list[_Place]:
    """Every condition in one go, each with what lasting actions have left of the causes."""
    if not question.holds:
        return []
    warmer = question.healthy.oil_k(z)
    causes = sorted({cause for block in blocks for cause in block.causes})
    left = [tuple(c for c in causes if not _gone(c, held.gone)) for held in question.holds]
    engines = {some: _joined(question.healthy, blocks, some) for some in dict.fromkeys(left)}
    mine = [engines[some] for some in left]
    holds = [_engine_held(held, warmer) for held in question.holds]
    pairs = list(zip(mine, holds, strict=True))
    whole = solve_each(question.healthy.build, pairs, _near(blocks))
    return [_Place(_row(whole, row), engine) for row, engine in enumerate(mine)]


def _row(solved: Solved, row: int) -> Solved:
    from dataclasses import fields

    return Solved(**{one.name: getattr(solved, one.name)[row] for one in fields(Solved)})


def _joined(healthy: Healthy, blocks: list[Variants], left: Collection[str]) -> Engine:
    """All blocks' engines as one, with those of their causes that are left: numbers that differ
    between them as arrays."""
    whole = np.concatenate([block.z for block in blocks])
    values = {name: np.asarray(v) for name, v in healthy.values(whole).items()}
    base = changed(healthy.middle, values)
    edges = np.cumsum([0, *(block.count for block in blocks)])
    for block, low, high in zip(blocks, edges, edges[1:], strict=False):
        for name, new in _faulty(healthy, values, block, slice(low, high), left).items():
            if name not in values or not values[name].flags.writeable or values[name].ndim == 0:
                values[name] = np.broadcast_to(value(base, name), len(whole)).copy()
            values[name][low:high] = new
    return changed(healthy.middle, values)


def _faulty(
    healthy: Healthy,
    sound: dict[str, Floats],
    block: Variants,
    part: slice,
    left: Collection[str],
) -> dict[str, Numbers]:
    """The numbers that this block's causes change."""
    names = {c.name for cause in block.causes if cause in left for c in FAULTS[cause].changes}
    if not names:
        return {}
    mine = {name: sound[name][part] for name in names if name in sound}
    engine = _with_faults(healthy, changed(healthy.middle, mine), block, left)
    return {name: value(engine, name) for name in names}


def _engine_held(held: Held, warmer_k: Floats) -> engine_held.Held:
    degc = WARM_DEGC if held.oil_degc is None else held.oil_degc
    did = held.did | {"speed-raised"} if held.at_speed else held.did
    return engine_held.Held(
        did=did,
        speed_rpm=held.speed_rpm if held.at_speed else None,
        oil_degc=np.clip(degc + warmer_k, -30.0, 150.0),
        for_s=max(held.length_s, 5.0) if held.raised else np.inf,
    )


def _of_item(question: Asked, places: list[_Place], item: Seen) -> Floats:
    held = question.observed.holds[item.place]
    place = places[item.place]
    start = question.starts[item.place]
    crankcase = place.solved.crankcase_over_pa
    if start is not None:
        crankcase = _on_course(place, places[start], held)
    return _VALUES[item.quantity](place, held, item, crankcase)


def _on_course(place: _Place, before: _Place, held: Held) -> Floats:
    """The crankcase at the middle of a stretch in which its way out, or its way in, is shut.

    It goes from where it stood towards where it would settle, at first as fast as what was shut
    off used to flow: its way out shut, it fills; its fresh air shut, it empties.
    """
    case = place.engine.crankcase
    end, start = place.solved.crankcase_over_pa, before.solved.crankcase_over_pa
    flowed = before.solved.vent_kg_s
    if "vent-port-blocked" not in held.did:
        flowed = flowed - before.solved.blow_by_kg_s
    shut = np.maximum(np.abs(flowed), place.solved.blow_by_kg_s)
    rate = shut * AIR_GAS_CONSTANT * case.gas_k / case.volume_m3
    constant = np.maximum(np.abs(end - start), 50.0) / np.maximum(rate, 1.0)
    past = SETTLE_S + 0.5 * held.length_s
    return np.asarray(start + (end - start) * (1.0 - np.exp(-past / constant)))


def _oil(place: _Place, held: Held, item: Seen, crankcase: Floats) -> Floats:
    gallery = place.solved.gallery_pa
    if held.speed_rpm is not None and not held.at_speed:
        gallery = gallery * (held.speed_rpm / place.solved.speed_rpm) ** SPEED_POWER
    told = {
        "atmosphere": gallery + crankcase,
        "vacuum": gallery + crankcase + place.engine.air.barometer_pa,
        "crankcase": gallery,
    }[item.reference or "atmosphere"]
    if item.beside:
        return np.asarray(told)
    indication = place.engine.indication
    zero_pa = 0.0 if item.zeroed else indication.zero_pa
    return np.asarray(indication.gain * told + zero_pa)


def _crankcase(place: _Place, _held: Held, item: Seen, crankcase: Floats) -> Floats:
    absolute = place.engine.air.barometer_pa if item.reference == "vacuum" else 0.0
    return np.asarray(crankcase + absolute)


def _manifold(place: _Place, _held: Held, item: Seen, _crankcase: Floats) -> Floats:
    outside = place.engine.air.barometer_pa if item.reference == "atmosphere" else 0.0
    return np.asarray(place.solved.manifold_pa - outside)


def _speed(place: _Place, _held: Held, _item: Seen, _crankcase: Floats) -> Floats:
    return np.asarray(place.solved.speed_rpm)


def _flow(place: _Place, _held: Held, _item: Seen, _crankcase: Floats) -> Floats:
    return np.asarray(place.solved.metered_kg_s)


def _trim(place: _Place, _held: Held, _item: Seen, _crankcase: Floats) -> Floats:
    return np.asarray(100.0 * place.solved.trim)


def _margin(place: _Place, _held: Held, item: Seen, _crankcase: Floats) -> Floats:
    """How far a sound engine would lie above its maker's limit, as a logarithm."""
    return np.asarray(np.log(np.maximum(place.solved.gauge_pa, 1e3) / item.scale))


def _zero(place: _Place, _held: Held, _item: Seen, _crankcase: Floats) -> Floats:
    zero_pa = np.asarray(place.engine.indication.zero_pa)
    return np.broadcast_to(zero_pa, place.solved.gallery_pa.shape).astype(np.float64)


_VALUES = {
    MARGIN: _margin,
    ZERO: _zero,
    "oil-pressure": _oil,
    "crankcase-pressure": _crankcase,
    "manifold-pressure": _manifold,
    "engine-speed": _speed,
    "air-flow": _flow,
    TRIM: _trim,
}
