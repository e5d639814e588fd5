"""Which stretches a job can hold, and how the engine lives through each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.held import ACTIONS, Held
from gaugewright.engine.ignition import PickUp
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.plan import planned
from gaugewright.engine.run import Run, run
from gaugewright.engine.scene import Fitted
from gaugewright.physics.numbers import Floats

RATE_HZ = 2000.0
STRETCH_S = 15.0
LEAD_S = 3.0
"""Before a manoeuvre: the engine as found."""
SOAKED_K = 2.0
"""By how much the coolant of an engine that has stood is warmer than its oil, just started."""
READ_S = 4.0
"""What is read off by hand in a manoeuvre is read in its last seconds."""
BLOCKED_S, BLOCKED_MOST_PA = 10.0, 3000.0
"""Common practice: blocked for seconds, ended at once above this."""
LANES = (
    "oil_gauge_pa",
    "crankcase_pa",
    "manifold_pa",
    "speed_rpm",
    "oil_degc",
    "coolant_degc",
    "air_kg_s",
    "trim_short",
    "trim_long",
)


@dataclass(frozen=True)
class Kind:
    """One kind of stretch: its condition's name, what was done, and what it is held by."""

    name: str
    did: tuple[str, ...]
    fast: bool = False
    cold: bool = False
    lead: bool = False
    for_s: float = float("inf")
    minutes_on: float = 0.0
    rpm: float = 0.0
    """Where set: held at this speed, whatever the workshop's own."""


KINDS: dict[str, Kind] = {
    "hot-idle": Kind("hot idle", ("nothing",)),
    "fast": Kind("held at speed", ("speed-raised",), fast=True, for_s=10.0),
    "fast-late": Kind("two minutes on", ("speed-raised",), fast=True, for_s=120.0, minutes_on=2.0),
    "cold-idle": Kind("cold idle", ("nothing",), cold=True),
    "cold-fast": Kind("cold, held at speed", ("speed-raised",), fast=True, cold=True, for_s=10.0),
    "cap-off": Kind("cap off", ("filler-cap-off",), lead=True),
    "dipstick-open": Kind("dipstick out", ("dipstick-tube-open",), lead=True),
    "regulator-blocked": Kind("regulator port stopped", ("regulator-port-blocked",), lead=True),
    "vent-blocked": Kind("vent blocked", ("vent-port-blocked",), lead=True),
    "commanded": Kind("valve commanded", ("speed-raised", "valve-commanded"), fast=True),
    "level-corrected": Kind("level corrected", ("level-corrected",)),
    "oil-changed": Kind("new oil", ("oil-changed",)),
    # What advised tests may ask for besides.
    "fresh-blocked": Kind("fresh air blocked", ("fresh-air-blocked",), lead=True),
    "hose-off": Kind("ventilation hose off", ("ventilation-hose-off",), lead=True),
    "cold-2000": Kind("cold, 2000", ("speed-raised",), True, cold=True, for_s=10.0, rpm=2000.0),
    **{
        f"map-{rpm}": Kind(f"held at {rpm}", ("speed-raised",), True, for_s=10.0, rpm=float(rpm))
        for rpm in (1000, 1500, 2000, 3000, 3200)
    },
    "sustained": Kind("3000", ("speed-raised",), True, for_s=10.0, rpm=3000.0),
    "sustained-late": Kind(
        "3000 for two minutes", ("speed-raised",), True, for_s=120.0, minutes_on=2.0, rpm=3000.0
    ),
    "oil-topped-up": Kind("oil topped up", ("oil-topped-up",)),
}
"""What a job can hold; "zero" has no engine that runs."""
_LASTING = ("oil-topped-up", "level-corrected", "oil-changed")
_COLD = tuple(name for name, kind in KINDS.items() if kind.cold)
TAKEN = (
    *_COLD,
    *(name for name in KINDS if name not in (*_LASTING, *_COLD)),
    *_LASTING,
)
"""In the order in which a workshop takes them: cold ones first, what lasts last."""


@dataclass(frozen=True)
class Manner:
    """How this workshop held this engine: speeds in rpm, oil in degC."""

    fast_rpm: float
    commanded_rpm: float
    hot_degc: float
    cold_degc: float
    seed: int


def can_have(item: str, build: Build) -> bool:
    """Whether this kind of engine can be held so."""
    if item in ("vent-blocked", "hose-off", "fresh-blocked"):
        return build.ventilation != "open"
    if item == "regulator-blocked":
        return build.ventilation == "regulator"
    if item == "commanded":
        return build.oil_pump != "fixed"
    return True


@dataclass(frozen=True)
class Lived:
    """One stretch: true lanes on its own clock, and from when to when it is marked."""

    kind: Kind
    time_s: Floats
    lanes: dict[str, Floats]
    from_s: float
    to_s: float

    def mean(self, lane: str) -> float:
        """The true mean over the marked part, of a manoeuvre over its last seconds."""
        from_s = max(self.from_s, self.to_s - READ_S) if self.kind.lead else self.from_s
        inside = (self.time_s >= from_s) & (self.time_s < self.to_s)
        return float(np.mean(self.lanes[lane][inside]))


def live(
    build: Build, sound: Engine, engine: Engine, manner: Manner, item: str, pick_up: PickUp | None
) -> Lived:
    """The engine through one stretch.  Raises ValueError where it doesn't run so."""
    kind = KINDS[item]
    held = _held(kind, manner)
    after = treated(sound, engine, item)
    blocked = "vent-port-blocked" in kind.did
    seconds = BLOCKED_S if blocked else STRETCH_S
    before = Held(oil_degc=held.oil_degc)
    parts = [(LEAD_S, before), (seconds, held)] if kind.lead else [(seconds, held)]
    lanes = (*LANES, "ignition_v") if pick_up else LANES
    fitted = Fitted(pick_up) if pick_up else None
    number = manner.seed + list(KINDS).index(item)
    plan = planned(parts, coolant_degc=manner.cold_degc + SOAKED_K) if kind.cold else planned(parts)
    lived = run(build, after, plan, RATE_HZ, number, lanes=lanes, fitted=fitted)
    from_s = LEAD_S if kind.lead else 0.0
    to_s = from_s + seconds
    if blocked:
        to_s = _ended(lived, float(engine.air.barometer_pa), from_s)
    return _cut(kind, lived, from_s + (0.3 if kind.lead else 0.0), to_s)


def _held(kind: Kind, manner: Manner) -> Held:
    speed = (kind.rpm or manner.fast_rpm) if kind.fast else None
    if "valve-commanded" in kind.did:
        speed = manner.commanded_rpm
    known = frozenset(kind.did) & frozenset(ACTIONS) - {"nothing"}
    degc = manner.cold_degc if kind.cold else manner.hot_degc + (5.0 if kind.fast else 0.0)
    return Held(known, speed, degc, for_s=kind.for_s)


def _ended(lived: Run, outside_pa: float, from_s: float) -> float:
    """When a blocked stretch was ended."""
    over = lived.lanes["crankcase_pa"] - outside_pa
    beyond = np.flatnonzero((over > BLOCKED_MOST_PA) & (lived.time_s > from_s + 1.5))
    return float(lived.time_s[beyond[0]]) if len(beyond) else float(lived.time_s[-1])


def _cut(kind: Kind, lived: Run, from_s: float, to_s: float) -> Lived:
    kept = lived.time_s <= to_s
    lanes = {name: lane[kept] for name, lane in lived.lanes.items()}
    return Lived(kind, lived.time_s[kept], lanes, from_s, to_s - 0.05)


TOPPED_UP_M, MOST_LEVEL_M = 0.03, 0.125
_NEW_OIL = ("oil.fuel_share", "oil.filter_m3", "oil.bypass_pa", "oil.bypass_m3_per_pa_s")
_LEVEL = ("oil.level_m", "oil.air_share", "oil.whip_share_per_krpm")


def treated(sound: Engine, engine: Engine, item: str) -> Engine:
    """The engine after its oil and filter were changed, or its level put right."""
    if item == "oil-changed":
        as_sound = {name: value(sound, name) for name in (*_NEW_OIL, *_LEVEL)}
        return changed(engine, {**as_sound, "oil.thinned": 1.0, "oil.fuel_share": 0.0})
    if item == "oil-topped-up":
        topped = float(np.asarray(engine.oil.level_m)) + TOPPED_UP_M
        return changed(engine, {"oil.level_m": min(topped, MOST_LEVEL_M)})
    if item == "level-corrected":
        return changed(engine, {name: value(sound, name) for name in _LEVEL})
    return engine
