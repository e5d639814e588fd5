"""The causes as changed numbers of the engine, each at any severity.

A severity goes from 0, just noticeable, to 1, gross.  Between them a size goes from its mild to
its gross value in equal ratios, a share in equal steps.  The sizes are judgement, set so that the
signatures agree with the trade's table of causes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.parameters import MM2, Engine, changed, value
from gaugewright.physics.gas_flow import hole_diameter
from gaugewright.physics.numbers import Numbers
from gaugewright.quantities.said import Said, said

How = Literal["times", "plus", "to"]


@dataclass(frozen=True)
class Change:
    """One number of the engine and what becomes of it from mild to gross.

    `how`: the sound number is multiplied by it, added to it, or replaced by it.  `even`: equal
    steps rather than equal ratios.
    """

    name: str
    how: How
    mild: float
    gross: float
    even: bool = False

    def of(self, engine: Engine, severity: Numbers) -> Numbers:
        """The changed number of this engine."""
        sound = value(engine, self.name)
        if self.even or self.mild <= 0.0 or self.gross <= 0.0:
            amount = self.mild + (self.gross - self.mild) * np.asarray(severity)
        else:
            amount = self.mild * (self.gross / self.mild) ** np.asarray(severity)
        if self.how == "times":
            return sound * amount
        return sound + amount if self.how == "plus" else amount + 0.0 * np.asarray(sound)


def _always(_build: Build) -> bool:
    return True


@dataclass(frozen=True)
class Fault:
    """One cause: what it changes, which engines can have it, and how its size is told.

    `size(sound, faulty)` gives the size in `unit` for numbers or (n,) arrays, None where there is
    nothing to tell; `words` say it, with a place for the figure.
    """

    name: str
    changes: tuple[Change, ...]
    size: Callable[[Engine, Engine], Numbers] | None
    words: str
    unit: str = ""
    suits: Callable[[Build], bool] = _always

    def applied(self, build: Build, engine: Engine, severity: Numbers) -> Engine:
        """This engine with the fault at this severity, from 0 to 1, a number or (n,).

        Raises ValueError for a severity outside 0 to 1, or a build that cannot have the fault.
        """
        if not self.suits(build):
            raise ValueError(f'found "{self.name}" for an engine that cannot have it')
        if np.any((np.asarray(severity) < 0.0) | (np.asarray(severity) > 1.0)):
            raise ValueError(f"found the severity {severity}; it goes from 0 to 1")
        return changed(engine, {one.name: one.of(engine, severity) for one in self.changes})

    def tells(self, sound: Engine, faulty: Engine) -> Said:
        """The fault's size in the trade's terms."""
        if self.size is None:
            return said(self.words)
        return said(self.words, size=float(np.mean(self.size(sound, faulty))))


def _ratio(name: str, power: float = 1.0) -> Callable[[Engine, Engine], Numbers]:
    def size(sound: Engine, faulty: Engine) -> Numbers:
        return np.divide(value(faulty, name), value(sound, name)) ** power

    return size


def _number(name: str, factor: float = 1.0) -> Callable[[Engine, Engine], Numbers]:
    def size(_sound: Engine, faulty: Engine) -> Numbers:
        return factor * np.asarray(value(faulty, name))

    return size


def _hole_mm(name: str) -> Callable[[Engine, Engine], Numbers]:
    def size(sound: Engine, faulty: Engine) -> Numbers:
        area = np.subtract(value(faulty, name), value(sound, name))
        return 1e3 * np.asarray(hole_diameter(area))

    return size


FAULTS: dict[str, Fault] = {
    one.name: one
    for one in (
        Fault(
            "oil-level-low",
            (Change("oil.level_m", "to", 0.034, 0.006, even=True),),
            _number("oil.level_m", 1e3),
            "oil {size:.0f} mm above the pick-up",
            "mm",
        ),
        Fault(
            "oil-aerated",
            (
                Change("oil.level_m", "to", 0.105, 0.135, even=True),
                Change("oil.air_share", "plus", 0.06, 0.22),
                Change("oil.whip_share_per_krpm", "plus", 0.02, 0.10),
                Change("crankcase.breathes", "times", 0.9, 0.6),
            ),
            _number("oil.air_share", 100.0),
            "{size:.0f} % of free air in the oil",
            "%",
        ),
        Fault(
            "oil-thin",
            (Change("oil.thinned", "times", 0.85, 0.50),),
            _ratio("oil.thinned"),
            "oil {size:.2f} times as thick as its grade",
            "times",
        ),
        Fault(
            "fuel-in-oil",
            (Change("oil.fuel_share", "plus", 0.02, 0.12),),
            _number("oil.fuel_share", 100.0),
            "{size:.1f} % of fuel in the oil",
            "%",
        ),
        Fault(
            "pickup-restricted",
            (
                Change("oil.pick_up_pa_s2_m6", "times", 12.0, 110.0),
                Change("oil.pick_up_per_m3", "times", 9.0, 34.0),
                Change("oil.debris", "plus", 0.05, 0.35),
            ),
            _ratio("oil.pick_up_pa_s2_m6", -0.5),
            "pick-up narrowed to {size:.2f} of its area",
            "times",
        ),
        Fault(
            "pickup-sucks-air",
            (Change("oil.seal_m2", "plus", 0.4 * MM2, 3.0 * MM2),),
            _hole_mm("oil.seal_m2"),
            "a hole of {size:.1f} mm at the pick-up's seal",
            "mm",
        ),
        Fault(
            "filter-restricted",
            (
                Change("oil.filter_m3", "times", 0.12, 0.012),
                Change("oil.bypass_pa", "times", 1.1, 2.0),
                Change("oil.bypass_m3_per_pa_s", "times", 0.5, 0.12),
            ),
            _ratio("oil.filter_m3", -1.0),
            "filter {size:.0f} times as tight",
            "times",
        ),
        Fault(
            "relief-valve-open",
            (
                Change("oil.relief_pa", "times", 0.80, 0.18),
                Change("oil.low_stage_pa", "times", 0.9, 0.45),
                Change("oil.relief_stuck_m2", "plus", 0.6 * MM2, 7.0 * MM2),
            ),
            _number("oil.relief_pa", 1e-3),
            "relief valve gives way at {size:.0f} kPa",
            "kPa",
        ),
        Fault(
            "relief-valve-shut",
            (
                Change("oil.relief_pa", "times", 1.35, 3.0),
                Change("oil.low_stage_pa", "times", 1.35, 3.0),
                Change("oil.relief_seep_m3", "times", 0.3, 0.02),
                Change("oil.slip_m3", "times", 0.7, 0.35),
            ),
            _number("oil.relief_pa", 1e-3),
            "relief valve holds up to {size:.0f} kPa",
            "kPa",
        ),
        Fault(
            "worn-pump",
            (Change("oil.slip_m3", "times", 2.2, 7.0),),
            _ratio("oil.slip_m3", 1.0 / 3.0),
            "pump clearances {size:.1f} times as large",
            "times",
        ),
        Fault(
            "pump-control-stuck",
            (Change("oil.stage_works", "to", 0.45, 0.0, even=True),),
            _number("oil.stage_works", 100.0),
            "{size:.0f} % of the step still made",
            "%",
            suits=lambda build: build.oil_pump != "fixed",
        ),
        Fault(
            "worn-bearings",
            (Change("oil.bearing_m3", "times", 1.15, 3.5),),
            _ratio("oil.bearing_m3", 1.0 / 3.0),
            "bearing clearance {size:.2f} times nominal",
            "times",
        ),
        Fault(
            "internal-leak",
            (Change("oil.leak_m2", "plus", 1.5 * MM2, 9.0 * MM2),),
            _hole_mm("oil.leak_m2"),
            "a hole of {size:.1f} mm inside the engine",
            "mm",
        ),
        Fault(
            "indication-fault",
            (
                Change("indication.switch_pa", "times", 1.6, 6.0),
                Change("indication.lamp_forced", "plus", 0.15, 0.9),
            ),
            _number("indication.switch_pa", 1e-3),
            "switch closes below {size:.0f} kPa",
            "kPa",
        ),
        Fault(
            "ventilation-regulator-torn",
            (
                Change("crankcase.tear_m2", "plus", 1.4 * MM2, 4.5 * MM2),
                Change("crankcase.regulating", "to", 0.85, 0.0, even=True),
                Change("air.governor_gain", "times", 1.3, 3.5),
            ),
            _hole_mm("crankcase.tear_m2"),
            "a hole of {size:.1f} mm in the diaphragm",
            "mm",
            suits=lambda build: build.ventilation == "regulator",
        ),
        Fault(
            "breather-blocked",
            (Change("crankcase.breathes", "times", 0.08, 0.001),),
            _number("crankcase.breathes", 100.0),
            "{size:.1f} % of the breather's way is free",
            "%",
        ),
        Fault(
            "crankcase-open",
            (Change("crankcase.leak_m2", "plus", 12.0 * MM2, 250.0 * MM2),),
            _hole_mm("crankcase.leak_m2"),
            "a hole of {size:.1f} mm into the crankcase",
            "mm",
        ),
        Fault(
            "intake-leak",
            (Change("air.leak_m2", "plus", 1.0 * MM2, 7.5 * MM2),),
            _hole_mm("air.leak_m2"),
            "a hole of {size:.1f} mm into the manifold",
            "mm",
            suits=lambda build: build.throttled,
        ),
        Fault(
            "worn-rings",
            (
                Change("crankcase.ring_m2", "times", 3.0, 11.0),
                Change("air.burning", "times", 0.97, 0.86),
                Change("air.restless", "times", 1.3, 3.0),
            ),
            _ratio("crankcase.ring_m2"),
            "{size:.1f} times the blow-by of sound rings",
            "times",
        ),
        Fault(
            "test-fault",
            (
                Change("indication.zero_pa", "plus", -8e3, -45e3),
                Change("indication.gain", "times", 0.97, 0.85),
            ),
            _number("indication.zero_pa", 1e-3),
            "the gauge's zero {size:.0f} kPa off",
            "kPa",
        ),
        Fault("nothing-wrong", (), None, "nothing is wrong"),
    )
}
"""Every cause of the job format but none-of-these, which is no engine."""
