"""How a recording runs within its stretches: densities, what is measured, and what stays unsaid."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from gaugewright.causes import traces
from gaugewright.causes.catalogue import NAMES
from gaugewright.causes.traces import Trace, trace_likelihoods

SOUND, AIR, RINGS = ("nothing-wrong",), ("oil-aerated",), ("worn-rings",)
HYPOTHESES = [SOUND, AIR, RINGS, ("oil-aerated", "worn-rings")]


@pytest.mark.parametrize("name", traces.traces())
def test_every_density_is_one(name: str) -> None:
    """Integrated over its scale it comes to 1, whatever the causes (the part that does something
    else altogether lies within a stretch that is nearly covered)."""
    trace = traces.traces()[name]
    assert set(trace.shows) <= set(NAMES)
    for h in (SOUND, AIR, ("oil-aerated", "pickup-restricted")):
        quiet = Trace(**{**vars(trace), "anything": 0.0, "least": -1e9 if not trace.log else 1e-12})

        def at(x: float, quiet: Trace = quiet, h: tuple[str, ...] = h) -> float:
            return quiet.density(float(np.exp(x)) if quiet.log else x, h)

        low, high = (-14.0, 4.0) if trace.log else (-1.0, 1.0)
        whole, _ = quad(
            at, low, high, limit=400, points=[np.log(trace.usual)] if trace.log else [0]
        )
        assert whole == pytest.approx(1.0, abs=2e-3), (name, h)


def stretch(
    values: Any, did: tuple[str, ...] = (), speed: Any = None, name: str = "hot idle"
) -> SimpleNamespace:
    """A kept stretch of one gauge and one speed, a cycle each 0.15 s."""
    signal = SimpleNamespace(
        quantity="oil-pressure", label="oil", reference="atmosphere", interval_s=0.001
    )
    count = len(values)
    table = SimpleNamespace(
        means={"oil": np.asarray(values)}, speed_rpm=None if speed is None else np.asarray(speed)
    )
    return SimpleNamespace(
        recording=SimpleNamespace(visit="first", signals=(signal,)),
        span=SimpleNamespace(did=did, condition=name),
        table=table,
        first=0,
        last=count,
        cycles=slice(0, count),
        from_s=0.0,
        to_s=0.15 * count,
    )


def said(*stretches: SimpleNamespace) -> dict[str, dict[tuple[str, ...], float]]:
    case: Any = SimpleNamespace(gathered=SimpleNamespace(stretches=stretches), situations=())
    found = trace_likelihoods(case, ("first",), HYPOTHESES)
    return {t.what: dict(zip(HYPOTHESES, t.log_likelihoods, strict=True)) for t in found}


RNG = np.random.default_rng(4)
EVEN = 150e3 + 400.0 * RNG.standard_normal(120)
FOAMY = 150e3 * (1.0 + 0.06 * RNG.standard_normal(120))


def test_foam_speaks_for_air_in_the_oil_and_a_smooth_trace_against_it() -> None:
    ripple = "ripple of the oil pressure"
    foamy, even = said(stretch(FOAMY))[ripple], said(stretch(EVEN))[ripple]
    assert foamy[AIR] - foamy[SOUND] > 2.0
    assert even[AIR] - even[SOUND] < -1.0
    assert foamy[RINGS] == pytest.approx(foamy[SOUND])
    assert foamy[HYPOTHESES[3]] == pytest.approx(foamy[AIR])


def test_a_pressure_that_falls_at_speed_sags_and_one_that_holds_does_not() -> None:
    fall = "fall of the oil pressure at speed"
    falling = EVEN * np.linspace(1.06, 0.94, 120)
    sagging = said(stretch(falling, ("speed-raised",)))[fall]
    holding = said(stretch(EVEN, ("speed-raised",)))[fall]
    assert sagging[AIR] - sagging[SOUND] > 2.0
    assert holding[AIR] < holding[SOUND]
    assert fall not in said(stretch(falling))


def test_a_hunting_idle_speaks_for_leaks_of_air_and_says_nothing_at_speed() -> None:
    hunting = "hunting of the idle"
    speed = 800.0 + 40.0 * np.sin(np.arange(120) / 6.0)
    case: Any = SimpleNamespace(
        gathered=SimpleNamespace(stretches=(stretch(EVEN, (), speed),)), situations=()
    )
    torn = ("ventilation-regulator-torn",)
    [told] = [t for t in trace_likelihoods(case, ("first",), [SOUND, torn]) if t.what == hunting]
    assert told.log_likelihoods[1] - told.log_likelihoods[0] > 2.0
    assert hunting not in said(stretch(EVEN, ("speed-raised",), speed))


def test_nothing_is_said_of_manoeuvres_cold_oil_other_visits_and_short_stretches() -> None:
    assert said(stretch(FOAMY, ("filler-cap-off",))) == {}
    assert said(stretch(FOAMY, name="cold idle")) == {}
    assert said(stretch(FOAMY[:10])) == {}
    other = stretch(FOAMY)
    other.recording.visit = "second"
    assert said(other) == {}
