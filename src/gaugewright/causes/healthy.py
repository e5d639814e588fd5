"""Sound engines of a kind: how far their numbers spread before anything is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.engine.build import Build
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.sound import sound
from gaugewright.physics.numbers import Numbers

Floats = npt.NDArray[np.float64]

SPREAD: Mapping[str, float] = {
    "oil.pump_m3_per_rev": 0.22,
    "oil.slip_m3": 0.35,
    "oil.bearing_m3": 0.38,
    "oil.jet_m2": 0.5,
    "oil.relief_pa": 0.17,
    "oil.low_stage_pa": 0.22,
    "oil.step_rpm": 0.12,
    "oil.filter_m3": 0.5,
    "oil.film_k_per_krpm": 0.4,
    "oil.pick_up_pa_s2_m6": 0.4,
    "oil.kv100_cst": 0.07,
    "air.idle_rpm": 0.08,
    "air.throttle_least_m2": 0.14,
    "air.breathing": 0.07,
    "air.burning": 0.07,
    "air.friction": 0.13,
    "air.accessories_nm": 0.35,
    "air.exhaust_over_pa": 0.5,
    "air.leak_m2": 0.8,
    "crankcase.ring_m2": 0.35,
    "crankcase.vent_m2": 0.35,
    "crankcase.set_pa": 0.3,
    "crankcase.band_pa": 0.3,
    "crankcase.leak_m2": 0.7,
    "crankcase.fresh_m2": 0.9,
    "crankcase.seals_m2_per_pa": 0.6,
    "crankcase.seals_lift_pa": 0.55,
    "crankcase.volume_m3": 0.25,
}
"""Standard deviation of the logarithm of each number among sound engines of a kind (judgement,
wide enough for engines of different makers; of the relief valve so that nine in ten lie in the
published range, see `RELIEF_PA`)."""

ILL_OTHERWISE: tuple[Mapping[str, tuple[float, float]], ...] = (
    {"air.exhaust_over_pa": (5.0, 1.2), "air.breathing": (0.84, 0.16)},
    {"air.burning": (0.80, 0.16)},
    {"air.friction": (1.5, 0.30), "air.accessories_nm": (2.0, 0.6)},
    {
        "air.exhaust_over_pa": (1.0, 2.0),
        "air.breathing": (1.0, 0.21),
        "air.burning": (1.0, 0.21),
        "air.friction": (1.0, 0.39),
        "air.accessories_nm": (1.0, 0.9),
        "air.idle_rpm": (1.0, 0.16),
    },
)
"""Ways in which an engine is ill that no catalogue holds: it hardly breathes, burns badly, drags,
or is off in all of that.  For each number the usual factor to a sound engine's and the spread of
its logarithm (judgement)."""
RELIEF_PA = 4.9e5
"""Where the relief valve of a sound fixed pump gives way: 380 to 670 kPa (published range, makers
left out)."""
SEALS_LIFT_PA = 5.5e3
"""Where a sound crankcase's seals usually begin to let go: 3 to 5 kPa find leaks (from memory)."""
FRESH_SHARE = 0.5
"""Of the virtual engine's way for fresh air, where a valve or an orifice draws on it: engines of
many makers hold 0.5 to 3 kPa of vacuum at idle (published ranges; the usual one from memory)."""
DRAWS_ON_FRESH = ("valve", "orifice")
TRIM_BIAS = 0.025
"""Standard deviation of a sound engine's own trim, a share (judgement)."""
SIZE_SPREAD = 0.28
"""Of the logarithm of the displacement where none is stated (judgement)."""
GRADE_UNKNOWN = 0.22
"""Of the logarithm of the viscosity where no grade is stated (judgement)."""
STEP_TOLD = 0.02
"""Of the logarithm of the speed of a pump's step where it is told (judgement)."""
USUAL_M3 = 1.8e-3
OIL_UNKNOWN_K = 12.0
"""Of the oil temperature where nobody measured it, warm (judgement)."""


@dataclass(frozen=True)
class Healthy:
    """The sound engines of one build as functions of independent standard normal numbers.

    `names` (d,): what each number moves; the last ones are not the engine's own: the oil
    temperature's error, one for all conditions.
    """

    build: Build
    middle: Engine
    names: tuple[str, ...]
    spread: Floats
    oil_u: float

    @property
    def count(self) -> int:
        """How many standard normal numbers make one sound engine."""
        return len(self.names)

    def values(self, z: Floats) -> dict[str, Floats]:
        """The engine's numbers, each (n,), for z (n, d)."""
        found: dict[str, Floats] = {}
        for k, name in enumerate(self.names):
            if name == "size":
                self._resize(found, np.exp(self.spread[k] * z[:, k]))
            elif name == "air.trim_bias":
                found[name] = self.spread[k] * z[:, k]
            elif name != "oil":
                factor = np.exp(self.spread[k] * z[:, k])
                found[name] = found.get(name, np.asarray(value(self.middle, name))) * factor
        if "oil.kv100_cst" in found:
            ratio = found["oil.kv100_cst"] / value(self.middle, "oil.kv100_cst")
            found["oil.kv40_cst"] = value(self.middle, "oil.kv40_cst") * ratio**1.25
        return found

    def _resize(self, found: dict[str, Floats], factor: Floats) -> None:
        from gaugewright.engine.sound import WITH_SIZE

        for name in WITH_SIZE:
            found[name] = np.asarray(value(self.middle, name)) * factor

    def ill_otherwise(self) -> tuple[tuple[Floats, Floats], ...]:
        """Ways to be ill in a way of no catalogue: shift (d,) and stretch (d,) of z for each."""
        return tuple(self._ill(table) for table in ILL_OTHERWISE)

    def _ill(self, table: Mapping[str, tuple[float, float]]) -> tuple[Floats, Floats]:
        shift, stretch = np.zeros(self.count), np.ones(self.count)
        for k, name in enumerate(self.names):
            if name in table:
                factor, spread = table[name]
                shift[k], stretch[k] = np.log(factor) / self.spread[k], spread / self.spread[k]
        return shift, stretch

    def oil_k(self, z: Floats) -> Floats:
        """How much warmer than told the oil was, K, (n,)."""
        return np.asarray(self.oil_u * z[:, self.names.index("oil")])


def healthy_of(
    build: Build,
    displacement_m3: float | None,
    barometer_pa: float | None,
    grade_known: bool,
    oil_u: float | None,
    step_rpm: float | None = None,
) -> Healthy:
    """The sound engines of this build; what is not known spreads wider, what is told narrower.

    `step_rpm`: where a two-stage pump is told to step.
    """
    figures: dict[str, Numbers] = {"air.displacement_m3": displacement_m3 or USUAL_M3}
    if barometer_pa is not None:
        figures["air.barometer_pa"] = barometer_pa
    if step_rpm is not None:
        figures["oil.step_rpm"] = step_rpm
    figures["crankcase.seals_lift_pa"] = SEALS_LIFT_PA
    if build.oil_pump == "fixed":
        figures["oil.relief_pa"] = RELIEF_PA
    middle = sound(build, figures)
    if build.ventilation in DRAWS_ON_FRESH:
        fresh = FRESH_SHARE * np.asarray(value(middle, "crankcase.fresh_m2"))
        middle = changed(middle, {"crankcase.fresh_m2": fresh})
    names = [name for name in SPREAD if np.all(np.asarray(value(middle, name)) != 0.0)]
    spread = [SPREAD[name] for name in names]
    if not grade_known:
        spread[names.index("oil.kv100_cst")] = GRADE_UNKNOWN
    if step_rpm is not None and "oil.step_rpm" in names:
        spread[names.index("oil.step_rpm")] = STEP_TOLD
    if displacement_m3 is None:
        names, spread = ["size", *names], [SIZE_SPREAD, *spread]
    names, spread = [*names, "air.trim_bias", "oil"], [*spread, TRIM_BIAS, 1.0]
    known = OIL_UNKNOWN_K if oil_u is None else max(oil_u, 0.5)
    return Healthy(build, middle, tuple(names), np.array(spread), known)
