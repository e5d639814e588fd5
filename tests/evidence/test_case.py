"""References, two instruments, zeros and one-sided readings: the words of the job format."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made import KPA, Stretch, case_of, hand, recording, signal

from gaugewright.evidence.case import Case
from gaugewright.evidence.cycles import Sensed
from gaugewright.evidence.readings import readings
from gaugewright.evidence.results import Reading
from gaugewright.evidence.sources import BAROMETER
from gaugewright.sensing.shared import SharedErrors

IDLE = Stretch("as found", 95.0, 11.0)


def told(case: Case) -> dict[tuple[str, str | None], Reading]:
    """The last reading of each kind: the combined one where there is one."""
    return {(r.quantity, r.reference): r for r in readings(case)[0]}


def with_signal(run: Sensed, quantity: str, kpa: float, **more: object) -> Sensed:
    first = run.signals[0]
    noise = 300.0 * np.random.default_rng(9).standard_normal(len(first.time_s))
    extra = signal(quantity, first.time_s, KPA * kpa + noise, f"second {quantity}", **more)
    return replace(run, signals=(*run.signals, extra))


def test_gauge_crankcase_and_what_the_bearings_get() -> None:
    found = told(case_of(recording(IDLE)))
    assert found["oil-pressure", "atmosphere"].value == pytest.approx(95, abs=0.3)
    assert found["crankcase-pressure", "atmosphere"].value == pytest.approx(11, abs=0.1)
    assert found["oil-pressure", "crankcase"].value == pytest.approx(84, abs=0.3)
    assert ("oil-pressure", "vacuum") not in found


def test_with_a_barometer_every_pressure_is_also_absolute() -> None:
    found = told(case_of(recording(IDLE), barometer_pa=97_600.0))
    gauge = found["oil-pressure", "atmosphere"]
    absolute = found["oil-pressure", "vacuum"]
    assert absolute.value - gauge.value == pytest.approx(97.6, abs=1e-9)


def test_an_absolute_sensor_without_barometer_is_not_compared_with_the_outside_air() -> None:
    run = recording(replace(IDLE, gauge_kpa=192.6), reference="vacuum", crankcase=False)
    assert ("oil-pressure", "atmosphere") not in told(case_of(run))
    known = told(case_of(run, barometer_pa=97_600.0))
    assert known["oil-pressure", "atmosphere"].value == pytest.approx(95.0, abs=0.3)


def test_a_differential_oil_sensor_and_the_crankcase_give_what_the_gauge_would_see() -> None:
    run = recording(Stretch("as found", 84.0, 11.0), reference="crankcase")
    found = told(case_of(run))
    assert found["oil-pressure", "crankcase"].value == pytest.approx(84.0, abs=0.4)
    assert found["oil-pressure", "atmosphere"].value == pytest.approx(95.0, abs=0.4)


def test_noise_that_gauge_and_crankcase_share_leaves_the_differential() -> None:
    """The differential is formed sample by sample: a common swing of 5 kPa cancels in it."""
    run = recording(IDLE)
    swing = 5 * KPA * np.sin(2 * np.pi * run.signals[0].time_s / 9.0)
    both = tuple(replace(s, values=s.values + swing) for s in run.signals)
    found = told(case_of(replace(run, signals=both)))
    shared = found["oil-pressure", "crankcase"].standard_uncertainty
    assert shared < 0.3 * found["oil-pressure", "atmosphere"].standard_uncertainty


def test_two_instruments_that_agree_are_combined() -> None:
    run = with_signal(recording(IDLE), "oil-pressure", 95.0)
    found, caveats = readings(case_of(run))
    gauges = [r for r in found if (r.quantity, r.reference) == ("oil-pressure", "atmosphere")]
    assert len(gauges) == 3
    assert "instruments-combined" in gauges[-1].flags
    assert not [c for c in caveats if c.code == "instruments-disagree"]


def test_two_instruments_that_disagree_are_not() -> None:
    run = with_signal(recording(IDLE), "oil-pressure", 99.0)
    found, caveats = readings(case_of(run))
    gauges = [r for r in found if (r.quantity, r.reference) == ("oil-pressure", "atmosphere")]
    assert len(gauges) == 2
    assert "instruments-disagree" in {c.code for c in caveats}


def test_their_calibrations_count_in_whether_they_agree() -> None:
    book = SharedErrors().with_block("second sensor", (3 * KPA) ** 2)
    run = with_signal(
        recording(IDLE), "oil-pressure", 99.0, gradient=lambda v: {"second sensor": np.ones(1)}
    )
    assert "instruments-combined" in told(case_of(run, book=book))[
        "oil-pressure", "atmosphere"
    ].flags  # fmt: skip


def test_interval_is_value_plus_minus_t_u() -> None:
    # 97.5 % points of Student's t from a table: 12.706, 4.303, 3.182, ... ; 1.96 for endless.
    from scipy.stats import t

    for reading in told(case_of(recording(IDLE))).values():
        factor = 1.959964 if reading.dof is None else t.ppf(0.975, reading.dof)
        half = factor * reading.standard_uncertainty
        assert reading.high - reading.value == pytest.approx(half, rel=1e-6)
        assert reading.value - reading.low == pytest.approx(half, rel=1e-6)


def test_a_sensors_error_widens_a_reading() -> None:
    book = SharedErrors().with_block("sensor", KPA**2)
    shared = {"gradient": lambda value: {"sensor": np.ones(1)}}
    plain = told(case_of(recording(IDLE)))["oil-pressure", "atmosphere"]
    wide = told(case_of(recording(IDLE, **shared), book=book))["oil-pressure", "atmosphere"]
    assert wide.standard_uncertainty == pytest.approx(
        np.hypot(plain.standard_uncertainty, 1.0), rel=1e-6
    )


def test_what_a_zero_taught_corrects_the_reading() -> None:
    way = {"sensor": np.ones(1)}
    book = SharedErrors().with_block("sensor", KPA**2).observe(way, -2 * KPA, 1.0)
    run = recording(IDLE, gradient=lambda value: way)
    found = told(case_of(run, book=book))["oil-pressure", "atmosphere"]
    assert found.value == pytest.approx(93.0, abs=0.3)


def test_an_unknown_barometers_weather_is_in_the_absolute_reading_only() -> None:
    book = SharedErrors().with_block(BAROMETER, 800.0**2)
    found = told(case_of(recording(IDLE), book=book, barometer_pa=97_600.0))
    gauge = found["oil-pressure", "atmosphere"].standard_uncertainty
    absolute = found["oil-pressure", "vacuum"].standard_uncertainty
    assert absolute == pytest.approx(np.hypot(gauge, 0.8), rel=1e-3)


def stopped(share: float, *, low: bool) -> Sensed:
    run = recording(IDLE)
    count = len(run.signals[0].time_s)
    at = np.arange(count) % 1000 < 1000 * share
    oil = replace(run.signals[0], **({"at_low": at} if low else {"at_high": at}))
    return replace(run, signals=(oil, *run.signals[1:]))


@pytest.mark.parametrize(("low", "bound"), [(True, "at most"), (False, "at least")])
def test_more_than_half_a_percent_at_a_stop_makes_a_reading_one_sided(
    low: bool, bound: str
) -> None:
    found = told(case_of(stopped(0.02, low=low)))["oil-pressure", "atmosphere"]
    assert found.bound == bound
    assert "at-stop" in found.flags
    assert (found.low is None) == low
    assert (found.high is None) == (not low)


def test_a_stop_of_the_crankcase_bounds_the_differential_the_other_way() -> None:
    run = recording(IDLE)
    at = np.ones(len(run.signals[0].time_s), bool)
    beyond = replace(run.signals[1], at_high=at)
    found = told(case_of(replace(run, signals=(run.signals[0], beyond))))
    assert found["crankcase-pressure", "atmosphere"].bound == "at least"
    assert found["oil-pressure", "crankcase"].bound == "at most"


def test_fewer_samples_at_a_stop_leave_it_two_sided() -> None:
    assert told(case_of(stopped(0.003, low=True)))["oil-pressure", "atmosphere"].bound is None


def test_beyond_its_range_is_flagged_and_kept() -> None:
    found = told(case_of(recording(IDLE, range_high=90 * KPA)))["oil-pressure", "atmosphere"]
    assert "out-of-range" in found.flags
    assert found.value == pytest.approx(95.0, abs=0.3)


def test_a_still_signal_in_coarse_steps_is_not_surer_than_its_step() -> None:
    # Rounding leaves step/sqrt(12) when nothing blurs it (Widrow and Kollar, 2008).
    run = recording(IDLE, noise_kpa=0.0, hunt_rpm=0.0, step=2 * KPA)
    oil = replace(run.signals[0], values=np.full(len(run.signals[0].values), 94 * KPA))
    found = told(case_of(replace(run, signals=(oil,))))["oil-pressure", "atmosphere"]
    assert found.standard_uncertainty == pytest.approx(2 / np.sqrt(12), rel=0.05)


def test_the_same_condition_twice_is_one_with_the_spread_between_them() -> None:
    once = told(case_of(recording(IDLE)))["oil-pressure", "atmosphere"]
    twice = recording(IDLE, replace(IDLE, gauge_kpa=99.0))
    found = told(case_of(twice))["oil-pressure", "atmosphere"]
    assert found.value == pytest.approx(97.0, abs=0.5)
    assert "several-stretches" in found.flags
    assert found.standard_uncertainty > 3 * once.standard_uncertainty


def test_a_hand_reading_is_a_reading_with_its_own_and_its_instruments_error() -> None:
    book = SharedErrors().with_block("instrument: dial", 400.0**2)
    noted = hand("crankcase-pressure", 11_000.0, instrument="dial")
    run = recording(IDLE, crankcase=False)
    found = told(case_of(run, hand=(noted,), book=book))
    by_hand = found["crankcase-pressure", "atmosphere"]
    assert by_hand.standard_uncertainty == pytest.approx(0.5)
    assert by_hand.signals == ("dial",)
    assert found["oil-pressure", "crankcase"].value == pytest.approx(84.0, abs=0.3)
    assert found["oil-pressure", "crankcase"].standard_uncertainty > 0.5


def test_a_crankcase_beside_two_oil_gauges_gives_two_differentials() -> None:
    run = with_signal(recording(IDLE), "oil-pressure", 95.0)
    found = [r for r in readings(case_of(run))[0] if r.reference == "crankcase"]
    assert [round(r.value) for r in found[:2]] == [84, 84]
