"""Questions made up for these tests: conditions, readings the virtual engine would give, a race."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaugewright.causes.builds import Kind
from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.glance import glance_at
from gaugewright.causes.healthy import Healthy, healthy_of
from gaugewright.causes.judging import Race
from gaugewright.causes.model import Variants, asked, predictions
from gaugewright.causes.observation import TRIM, Held, Observed, Seen
from gaugewright.causes.odds import odds_of
from gaugewright.causes.odds_file import shipped
from gaugewright.causes.symptoms import Told
from gaugewright.causes.view import JobView
from gaugewright.causes.weighing import Weighed, weighed
from gaugewright.engine.build import Build

Floats = npt.NDArray[np.float64]

OUTSIDE_PA = 101325.0
BUILD = Build()
VIEW = JobView(
    fuel="petrol",
    metering="air-mass",
    oil_pump="fixed",
    ventilation="regulator",
    ignition="coil-on-plug",
)
OIL, CRANKCASE, MANIFOLD, SPEED = (
    "oil-pressure",
    "crankcase-pressure",
    "manifold-pressure",
    "engine-speed",
)
REFERENCE = {OIL: "atmosphere", CRANKCASE: "atmosphere", MANIFOLD: "vacuum"}
OWN = {OIL: 1000.0, CRANKCASE: 60.0, MANIFOLD: 300.0, SPEED: 2.0, TRIM: 0.5, "air-flow": 5e-5}
"""Standard uncertainty of a reading: Pa, rpm, points of trim, kg/s."""


def held(*did: str, rpm: float | None = None, degc: float | None = 90.0, **more: object) -> Held:
    """One condition; with `rpm` held by foot."""
    usual = Held(
        visit="first",
        condition=" ".join(did) or ("idle" if rpm is None else f"{rpm:.0f} rpm"),
        did=frozenset(did),
        speed_rpm=rpm,
        raised=rpm is not None,
        oil_degc=degc,
        oil_u=2.0,
        length_s=15.0,
        gone=(),
    )
    return replace(usual, **more)  # type: ignore[arg-type]


IDLE, FAST, COLD = held(), held(rpm=2500.0), held(degc=20.0)
CAP_OFF, BLOCKED = held("filler-cap-off"), held("vent-port-blocked", length_s=8.0)


def seen(where: int, quantity: str, value: float = 0.0, own: float | None = None) -> Seen:
    """One reading in the condition of this place, with its standard uncertainty."""
    spread = OWN[quantity] if own is None else own
    return Seen(where, quantity, REFERENCE.get(quantity), value, spread**2, np.zeros(0), ())


def question(rows: Sequence[tuple[Held, Sequence[str]]]) -> Observed:
    """Readings still without a value, of these quantities in these conditions."""
    items = tuple(seen(k, q) for k, (_, names) in enumerate(rows) for q in names)
    covariance = np.diag([item.own for item in items])
    return Observed(tuple(h for h, _ in rows), items, covariance)


def valued(observed: Observed, values: Floats) -> Observed:
    """The same with these values."""
    rows = zip(observed.items, values, strict=True)
    return replace(observed, items=tuple(replace(item, value=float(v)) for item, v in rows))


def sound_engines(build: Build = BUILD) -> Healthy:
    """Sound two-litre engines of this build, its grade known."""
    return healthy_of(build, 2.0e-3, OUTSIDE_PA, True, 2.0)


def read_of(
    observed: Observed,
    faults: Mapping[str, float],
    build: Build = BUILD,
    seed: int | None = None,
    spread: float = 0.4,
) -> Observed:
    """What an engine with these faults at these severities gives to read.

    With a `seed` a sound engine other than the middle one (`spread` standard deviations), and
    readings off by their own uncertainty.
    """
    healthy = sound_engines(build)
    rng = np.random.default_rng(seed)
    z = np.zeros((1, healthy.count))
    noise = np.zeros(len(observed.items))
    if seed is not None:
        z = spread * rng.standard_normal(z.shape)
        noise = rng.multivariate_normal(noise, observed.covariance)
    severity = np.array([list(faults.values())], dtype=np.float64)
    block = Variants(tuple(faults), severity, z)
    [values] = predictions(asked(observed, healthy), [block])
    return valued(observed, values[0] + noise)


def weighed_of(
    observed: Observed,
    build: Build = BUILD,
    view: JobView = VIEW,
    told: Mapping[Hypothesis, float] | None = None,
    among: Sequence[Hypothesis] = (),
) -> Weighed:
    """Every hypothesis, or those named, weighed against these readings alone."""
    odds = odds_of(shipped(), view)
    if among:
        total = sum(odds[h] for h in among)
        odds = {h: odds[h] / total for h in among}
    return weighed(glance_at(observed, sound_engines(build), odds, told or {}, OUTSIDE_PA))


def race_from(
    observed: Observed,
    build: Build = BUILD,
    view: JobView = VIEW,
    told: Sequence[Told] = (),
    among: Sequence[Hypothesis] = (),
) -> Race:
    """The race as a job with these readings and symptoms would start it."""
    odds = odds_of(shipped(), view)
    names = tuple(among or odds)
    odds = {h: odds[h] for h in names}
    sums = np.sum([t.log_likelihoods for t in told], axis=0) if told else np.zeros(len(names))
    one = weighed_of(observed, build, view, dict(zip(names, sums, strict=True)), among)
    probability = {h.causes: h.probability for h in one.hypotheses}
    kinds = ((Kind(build, 1.0), one),)
    return Race(view, observed, names, odds, tuple(told), kinds, probability)


def sums_of(one: Weighed) -> dict[str, float]:
    """For each cause the sum over the hypotheses that hold it."""
    found: dict[str, float] = {}
    for h in one.hypotheses:
        for cause in h.causes:
            found[cause] = found.get(cause, 0.0) + h.probability
    return found
