"""Conformance probabilities and guard bands, against JCGM 106 and published decision risks."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from gaugewright.evidence.case import combined
from gaugewright.evidence.conformity import (
    chance_below,
    chance_of_meeting,
    guard_band,
    verdict_of,
)


def global_risks(prior: object, limits: tuple[float, float], u: float) -> tuple[float, float]:
    """False accept and false reject over all items, by integrating our chances over the truth."""
    low, high = limits

    def part(weigh: object, begin: float, end: float) -> float:
        return integrate.quad(
            lambda x: prior.pdf(x) * weigh(x), begin, end, epsabs=1e-12, limit=400
        )[0]

    def accepted(x: float) -> float:
        return chance_of_meeting(x, u, None, low, high)

    edge = 12.0 * u
    accept = part(accepted, low - edge, low) + part(accepted, high, high + edge)
    reject = part(lambda x: 1 - accepted(x), low, high)
    return accept, reject


def test_one_sided_example() -> None:
    # JCGM 106:2012, chapter 7 (from memory; computed .9192): limit -5.40, y -5.47, u 0.05.
    assert chance_of_meeting(-5.47, 0.05, None, None, -5.40) == pytest.approx(0.92, abs=0.005)


def test_two_sided_example() -> None:
    # JCGM 106:2012, 7.4 (from memory; computed .6626): SAE 40 oil, 12.5 to 16.3, y 13.6, u 1.8.
    chance = chance_of_meeting(13.6, 1.8, None, 12.5, 16.3)
    assert chance == pytest.approx(0.66, abs=0.005)


def test_speed_that_exceeds_its_limit_for_sure() -> None:
    # JCGM 106:2012, 8.3.3 (from memory; computed 106.59): 100 km/h, 2 %, 99.9 %.
    def short(v: float) -> float:
        return 1 - chance_below(100.0, v, 0.02 * v, None) - 0.999

    assert optimize.brentq(short, 100, 120) == pytest.approx(107, abs=0.5)


@pytest.mark.parametrize(
    ("chance", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_table_of_z(chance: float, z: float) -> None:
    # JCGM 106:2012, table 1 (from memory).
    assert chance_below(z, 0.0, 1.0, None) == pytest.approx(chance, abs=0.0015)


@pytest.mark.parametrize(("mean", "risk"), [(10, 0.01242), (10.5, 0.10574), (12, 0.99379)])
def test_specific_risk(mean: float, risk: float) -> None:
    # An open metrology test suite: limits 9 to 11, standard deviation 0.4.
    assert 1 - chance_of_meeting(mean, 0.4, None, 9, 11) == pytest.approx(risk, abs=1e-5)


def test_bearing_wobble_consumers_risk() -> None:
    # JCGM 106:2012, 9.5.4: Gamma(4, 0.25) um, limit 2 um, u 0.25 um; .042, .008, limit 1.67.
    wobble = stats.gamma(4, scale=0.25)

    def risk(accept_below: float) -> float:
        return integrate.quad(
            lambda x: wobble.pdf(x) * chance_below(accept_below, x, 0.25, None), 2.0, 8.0
        )[0]

    assert wobble.sf(2.0) == pytest.approx(0.042, abs=1e-3)
    assert risk(2.0) == pytest.approx(0.008, abs=2e-4)
    limit = optimize.brentq(lambda at: risk(at) - 0.001, 1.0, 2.0)
    assert limit == pytest.approx(1.67, abs=0.01)


@pytest.mark.parametrize(
    ("inside", "accept"), [(0.80, 2.8558), (0.90, 1.6000), (0.95, 0.8710), (0.99, 0.1999)]
)
def test_global_false_accept(inside: float, accept: float) -> None:
    # Draft NCSLI RP-19 table, as in open tests: percent; the items' spread is 4 times the
    # measurement's.
    limit = float(stats.norm.ppf(0.5 + inside / 2))
    found, _ = global_risks(stats.norm, (-limit, limit), 0.25)
    assert 100 * found == pytest.approx(accept, abs=1e-4)


def test_global_risks_at_two_deviations() -> None:
    # A guard-band paper, as in open tests: FA .0080, FR .0149 at ratio 4.
    accept, reject = global_risks(stats.norm, (-2.0, 2.0), 0.25)
    assert (accept, reject) == pytest.approx((0.0080, 0.0149), abs=5e-4)


def test_a_wrong_uncertainty_misses_the_published_risks() -> None:
    accept, reject = global_risks(stats.norm, (-2.0, 2.0), 0.33)
    assert accept != pytest.approx(0.0080, abs=5e-4)
    assert reject != pytest.approx(0.0149, abs=5e-4)


def test_guard_band_is_one_sided() -> None:
    # 1.65 u (ISO 14253-1:2017, from memory; z at .95 is 1.6449); U with k = 2 wrongly accepts
    # less than 2.5 % (ILAC-G8:09/2019).
    assert guard_band(2.0, None) == pytest.approx(2 * 1.6449, abs=1e-3)
    assert chance_below(0.0, 2.0, 1.0, None) < 0.025


def test_guard_band_of_few_values_is_wider() -> None:
    # Student's t at 95 %, 5 degrees of freedom: 2.015 (any table).
    assert guard_band(1.0, 5.0) == pytest.approx(2.015, abs=5e-4)


@pytest.mark.parametrize("dof", [None, 4.0, 30.0])
def test_a_value_one_guard_band_inside_just_meets(dof: float | None) -> None:
    band = guard_band(3.0, dof)
    assert verdict_of(90 + band * 1.001, 3.0, dof, 90, None) == "meets"
    assert verdict_of(90 + band * 0.99, 3.0, dof, 90, None) == "too close to call"
    assert verdict_of(90 - band * 1.001, 3.0, dof, 90, None) == "falls short"
    assert verdict_of(350 + band * 1.001, 3.0, dof, None, 350) == "exceeds"


def test_no_uncertainty_known_is_no_verdict() -> None:
    assert verdict_of(500.0, np.inf, 1.0, 90, None) == "too close to call"


def test_without_uncertainty_the_value_decides() -> None:
    assert verdict_of(90.1, 0.0, None, 90, None) == "meets"
    assert verdict_of(89.9, 0.0, None, 90, None) == "falls short"


def test_both_ends_count() -> None:
    # Between limits one u apart on either side: 68.27 % lie within (any table of the normal).
    assert chance_of_meeting(10, 1, None, 9, 11) == pytest.approx(0.6827, abs=5e-5)


def test_effective_degrees_of_freedom() -> None:
    # JCGM 100:2008, G.4.1: .57 with 9 degrees of freedom and .25 with endless ones give 12.8
    # (a course's example, as in an open test suite).
    u, dof = combined(0.57**2, 0.25**2, 9)
    assert dof == pytest.approx(12.8, abs=0.1)
    assert u == pytest.approx(np.hypot(0.57, 0.25))


def test_hardly_any_noise_of_its_own_has_endless_degrees_of_freedom() -> None:
    assert combined(1e-6, 1.0, 3)[1] is None
    assert combined(0.0, 4.0, 3) == (2.0, None)
