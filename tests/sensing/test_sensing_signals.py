"""Columns to quantities: units, sensors, supplies, references, and what is said."""

from __future__ import annotations

import numpy as np
import pytest
from made_sensors import codes, column, entry, recorded, sensor, stepped

from gaugewright.errors import InputError
from gaugewright.quantities.units import parse
from gaugewright.sensing.calibration import calibrate
from gaugewright.sensing.shared import SharedErrors
from gaugewright.sensing.signals import bridged, sense

RNG = np.random.default_rng(11)
NOISY = 1.5 + RNG.normal(0.0, 0.01, 5000)


def through(stated, columns, **more):
    calibration, _ = calibrate(stated, SharedErrors())
    return sense(recorded(*columns), entry(**more), stated, calibration, "first")


@pytest.mark.parametrize(
    ("unit", "house"),
    # check values U1, U2, U9 (NIST SP 811:2008, B.8): 1 psi 6894.757, 1 inHg 3386.389 Pa
    [("kPa", 1e3), ("psi", 6894.757293168), ("inHg", 3386.38864), ("bar", 1e5)],
)
def test_a_column_in_a_unit_is_in_house_units_and_carries_no_error(unit, house):
    signal = sense(recorded(column([1.0, 2.0, 3.0], unit=None)), entry(unit=unit), None, None, "v")
    assert signal.values == pytest.approx([house, 2.0 * house, 3.0 * house], rel=1e-7)
    assert signal.gradient(2.0 * house) == {}
    assert signal.reference == "atmosphere"
    assert signal.range_low is None


def test_the_files_own_unit_serves_and_says_its_reference():
    signal = sense(recorded(column([14.0], unit="psia")), entry(), None, None, "v")
    assert signal.reference == "vacuum"
    assert signal.values == pytest.approx([14.0 * 6894.757], rel=1e-6)
    stated = sense(
        recorded(column([1.0])), entry(unit="kPa", reference="crankcase"), None, None, "v"
    )
    assert stated.reference == "crankcase"


def test_other_quantities_have_no_reference():
    signal = sense(
        recorded(column([212.0], unit="degF")), entry("oil-temperature"), None, None, "v"
    )
    assert signal.values == pytest.approx([100.0])
    assert signal.reference is None


def test_a_sensors_column_goes_through_its_line():
    signal = through(
        sensor(range=("0 bar", "10 bar"), accuracy="1 mbar"), [column([0.5, 2.5, 4.5])]
    )
    assert signal.values == pytest.approx([0.0, 5e5, 1e6])
    assert (signal.range_low, signal.range_high) == (0.0, 1e6)
    assert set(signal.gradient(1e5)) == {"oil transducer: curve"}
    assert signal.label == "run/p"


def test_millivolts_are_read_as_such():
    signal = through(sensor(), [column([500.0, 2500.0], unit="mV", step=1.0)])
    assert signal.values == pytest.approx([0.0, 5e5])
    assert signal.step == pytest.approx(250.0)


def test_a_ratiometric_sensor_at_another_supply():
    # computed in the trade notes: at 4.90 V a true 100 kPa of a 1000 kPa sensor shows 95.5
    stated = sensor(supply="5 V")
    true_volts = 4.90 * (0.5 + 4.0 * 0.1) / 5.0
    uncorrected = through(stated, [column([true_volts])])
    assert uncorrected.values == pytest.approx([95.5e3], abs=50.0)
    assert codes(uncorrected.notes)["supply-unknown"] == 0
    corrected = through(stated, [column([true_volts])], supply=parse("4.90 V", "voltage"))
    assert corrected.values == pytest.approx([100e3])


def test_a_supply_that_was_recorded_is_followed():
    t = np.arange(20_000) / 1000.0
    supply = 5.0 - 0.02 * t + np.random.default_rng(3).normal(0.0, 0.005, len(t))
    output = (5.0 - 0.02 * t) * 0.9 / 5.0
    signal = through(
        sensor(supply="5 V"), [column(output), column(supply, name="u")], supply_column="u"
    )
    assert signal.values == pytest.approx(np.full(len(t), 1e5), abs=400.0)


def test_a_supply_nobody_can_use_is_said():
    signal = through(sensor(), [column([1.0])], supply=parse("4.9 V", "voltage"))
    assert "supply-unused" in codes(signal.notes)


def test_a_falling_sensor_keeps_low_and_high_apart():
    values = stepped(np.minimum(NOISY, 1.5), 0.001)
    rising = through(sensor(), [column(values, step=0.001)])
    falling = through(
        sensor((("4.5 V", "0 bar"), ("0.5 V", "10 bar"))), [column(values, step=0.001)]
    )
    assert rising.at_low is None
    assert falling.at_high is None
    assert np.array_equal(rising.at_high, falling.at_low)
    assert np.count_nonzero(rising.at_high) == np.count_nonzero(values == values.max())


def test_samples_outside_the_range_are_counted_and_kept():
    signal = through(sensor(range=("0 bar", "2 bar"), accuracy="1 mbar"), [column(NOISY)])
    assert codes(signal.notes)["out-of-range"] == 5000
    assert np.isfinite(signal.values).all()


@pytest.mark.parametrize(("value", "end"), [(0.5, "at_low"), (4.5, "at_high"), (4.9, "at_high")])
def test_a_signal_that_stands_on_its_ranges_end_rests_on_a_stop(value, end):
    stated = sensor(range=("0 bar", "10 bar"), accuracy="1 mbar")
    signal = through(stated, [column(np.full(1000, value))])
    assert getattr(signal, end).all()
    inside = through(stated, [column(np.full(1000, 2.0))])
    assert inside.at_low is None
    assert inside.at_high is None


def test_without_a_range_the_points_ends_serve_to_a_step():
    signal = through(sensor(), [column(np.full(1000, 0.5096), step=0.0196)])
    assert signal.at_low.all()
    assert through(sensor(), [column(np.full(1000, 0.5096))]).at_low is None


def test_bridging_replaces_bad_and_missing_samples_by_lines():
    values = NOISY.copy()
    values[1000] = 4.0
    values[2000:2010] = np.nan
    signal = through(sensor(accuracy="1 mbar"), [column(values)])
    whole = bridged(signal)
    assert whole[1000] == pytest.approx(2.5e5, abs=1.2e4)
    assert np.isfinite(whole).all()
    assert codes(signal.notes)["missing-samples"] == 10
    assert bridged(through(sensor(), [column(NOISY)])) is not None


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (
            {"name": "q", "unit": "kPa"},
            'job.toml, signal "q": no column "q" in run.csv; name one of its columns: p.',
        ),
        (
            {},
            'job.toml, signal "p": run.csv states no unit for it and the job neither; '
            'add sensor = "…" or unit = "…".',
        ),
        (
            {"unit": "degC"},
            'job.toml, signal "p", unit: found "degC", the unit of a temperature, where a pressure '
            "is needed; write a pressure, in Pa, kPa, bar, mbar, psi, inHg, inH2O or mmHg.",
        ),
    ],
)
def test_bad_entries_get_one_sentence(more, sentence):
    with pytest.raises(InputError) as refused:
        sense(recorded(column([1.0], unit=None)), entry(**more), None, None, "v")
    assert refused.value.text == sentence


def test_a_supply_column_without_a_supply_is_refused():
    with pytest.raises(InputError, match="holds no supply voltage"):
        through(
            sensor(supply="5 V"), [column([1.0]), column([np.nan], name="u")], supply_column="u"
        )


def test_a_column_of_nothing_but_gaps_is_sensed_and_said():
    signal = through(sensor(), [column(np.full(100, np.nan))])
    assert codes(signal.notes)["missing-samples"] == 100
    assert signal.bad is None
