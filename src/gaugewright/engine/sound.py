"""A sound engine of a kind: numbers that go with its ventilation, its pump and its oil."""

from __future__ import annotations

from collections.abc import Mapping

from gaugewright.engine.build import Build
from gaugewright.engine.parameters import MM2, Engine, changed
from gaugewright.physics.numbers import Numbers
from gaugewright.physics.oil import grade_line

VENTILATION: Mapping[str, Mapping[str, float]] = {
    "regulator": {"crankcase.fresh_m2": 0.0, "crankcase.vent_m2": 3.2 * MM2},
    "orifice": {"crankcase.fresh_m2": 20.0 * MM2, "crankcase.vent_m2": 1.6 * MM2},
    "valve": {"crankcase.fresh_m2": 14.0 * MM2, "crankcase.vent_m2": 4.5 * MM2},
    "open": {"crankcase.fresh_m2": 0.0, "crankcase.vent_m2": 40.0 * MM2},
}
"""Effective areas usual for each kind of ventilation (judgement)."""

PUMP: Mapping[str, Mapping[str, float]] = {
    "fixed": {},
    "two-stage": {"oil.pump_m3_per_rev": 15.0e-6, "oil.relief_pa": 350e3, "oil.slip_m3": 2.2e-12},
    "variable": {"oil.pump_m3_per_rev": 18.0e-6, "oil.relief_pa": 380e3, "oil.slip_m3": 2.6e-12},
    "controlled": {"oil.pump_m3_per_rev": 18.0e-6, "oil.relief_pa": 380e3, "oil.slip_m3": 2.6e-12},
}
"""What goes with each kind of pump (judgement, within published examples)."""

DIESEL: Mapping[str, float] = {
    "air.compression_ratio": 16.5,
    "air.burning": 0.36,
    "air.exhaust_over_pa": 3000.0,
    "air.friction": 1.25,
    "crankcase.ring_m2": 0.10 * MM2,
    "crankcase.vent_m2": 60.0 * MM2,
}


def sound(build: Build, figures: Mapping[str, Numbers] | None = None) -> Engine:
    """A sound engine of this build.

    Parameters: `figures` are numbers known otherwise, such as {"air.displacement_m3": 1.6e-3}.
    Returns an engine; sizes that go with the displacement (pump, clearances, rings, throttle,
    accessories) follow it.
    Raises ValueError for a name no engine has, or a grade SAE J300 doesn't know.
    """
    line = grade_line(build.oil_grade)
    engine = changed(Engine(), {"oil.kv40_cst": line.at(40.0), "oil.kv100_cst": line.at(100.0)})
    engine = changed(engine, {**VENTILATION[build.ventilation], **PUMP[build.oil_pump]})
    if build.fuel == "diesel":
        engine = changed(engine, DIESEL)
    figures = dict(figures or {})
    size = figures.pop("air.displacement_m3", None)
    return changed(engine if size is None else _scaled(engine, size), figures)


WITH_SIZE = (
    "air.displacement_m3",
    "air.manifold_m3",
    "air.throttle_least_m2",
    "air.throttle_most_m2",
    "air.accessories_nm",
    "crankcase.ring_m2",
    "crankcase.volume_m3",
    "crankcase.vent_m2",
    "crankcase.fresh_m2",
    "oil.pump_m3_per_rev",
    "oil.slip_m3",
    "oil.bearing_m3",
    "oil.jet_m2",
    "oil.relief_m3_per_pa_s",
    "oil.filter_m3",
)
"""Numbers that go with the displacement."""


def _scaled(engine: Engine, displacement_m3: Numbers) -> Engine:
    """The same engine larger or smaller."""
    from gaugewright.engine.parameters import value

    factor = displacement_m3 / Engine().air.displacement_m3
    return changed(engine, {name: factor * value(engine, name) for name in WITH_SIZE})
