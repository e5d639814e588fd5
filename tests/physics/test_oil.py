"""Oil viscosity, index, blends and density against published values."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.physics import blend, oil, oil_properties, viscosity_index
from gaugewright.physics.oil import grade_line, viscosity_line, viscosity_ratio
from gaugewright.physics.viscosity_index import basic_values, kv40_of
from gaugewright.physics.viscosity_index import viscosity_index as index_of

WORKED_INDICES = [(73.30, 8.86, 92.43, 0.05), (22.83, 5.05, 156.37, 0.1), (53.47, 7.80, 111, 0.5)]
"""V1 to V3: ASTM D2270 (93R98), worked examples 5.1.4 and 6.1.4 (1) and (2)."""


@pytest.mark.parametrize(("kv40", "kv100", "index", "tolerance"), WORKED_INDICES)
def test_viscosity_index(kv40, kv100, index, tolerance):
    assert index_of(kv40, kv100) == pytest.approx(index, abs=tolerance)


def test_basic_values_of_the_standard():
    """ASTM D2270, 5.1.4: L 119.94 and H 69.48; 6.1.4 (1): H 28.97."""
    assert basic_values(8.86) == pytest.approx((119.94, 69.48), abs=0.005)
    assert basic_values(5.05)[1] == pytest.approx(28.97, abs=0.006)


def test_basic_values_above_seventy():
    """V4: ASTM D2270, 5.1.2; both forms meet at 70 mm2/s to the table's last digit."""
    low, high = basic_values(80.0)
    assert low == 0.8353 * 6400 + 14.67 * 80 - 216
    assert high == pytest.approx(0.1684 * 6400 + 11.85 * 80 - 97, rel=1e-15)
    assert basic_values(70.0) == pytest.approx(basic_values(70.0000001), rel=3e-4)


@given(st.floats(-50, 300), st.floats(2.0, 100.0))
def test_index_and_its_inverse(index, kv100):
    assert index_of(kv40_of(index, kv100), kv100) == pytest.approx(index, abs=1e-6)


def test_index_below_two():
    with pytest.raises(ValueError, match="below 2, where the index is defined"):
        index_of(5.0, 1.9)


def test_two_point_line_in_the_worksheets_kelvin(monkeypatch):
    """V5: public worksheet of the D341 equation, T = C + 273: A 9.5259, B 3.7449, 8.5 cSt."""
    monkeypatch.setattr(oil, "KELVIN", 273.0)
    line = viscosity_line(32.0, 40.0, 5.4, 100.0)
    assert (line.a, line.b) == pytest.approx((9.5259, 3.7449), abs=1e-4)
    assert line.at(80.0) == pytest.approx(8.5, abs=0.05)


@pytest.mark.parametrize(
    ("kv40", "kv100", "a", "b", "points"),
    [
        # V6, V7: computed from the D341 equation apart from this package
        (32, 5.4, 9.53082, 3.74658, {20: 86.278, 60: 15.186, 80: 8.533, 120: 3.724, 150: 2.392}),
        (100, 14, 7.98909, 3.08019, {0: 1125.0, 20: 284.11, 80: 23.465, 120: 9.161, 150: 5.501}),
    ],
)
def test_two_point_line(kv40, kv100, a, b, points):
    line = viscosity_line(kv40, 40.0, kv100, 100.0)
    assert (line.a, line.b) == pytest.approx((a, b), abs=1e-5)
    for degc, viscosity in points.items():
        assert line.at(degc) == pytest.approx(viscosity, rel=1e-4, abs=5e-4)


def test_low_viscosity_form():
    """V8: D341 as a pipeline help page quotes it; its inverse comes back within 0.1 %."""
    assert oil.z_of(1.0) == pytest.approx(1.7 + math.exp(-1.47 - 1.84 - 0.51), rel=1e-12)
    for viscosity in (0.5, 0.8, 1.0, 1.5, 1.99, 2.0, 5.0):
        assert oil.viscosity_of(oil.z_of(viscosity)) == pytest.approx(viscosity, rel=1e-3)
    fuel = viscosity_line(3.0, 40.0, 1.1, 100.0)
    assert fuel.at(100.0) == pytest.approx(1.1, rel=1e-3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: viscosity_line(32, 40, 5.4, 40), "two are needed"),
        (lambda: viscosity_line(5.4, 40, 32, 100), "thinner at the higher temperature"),
        (lambda: viscosity_line(32, 40, 0.1, 100), "below 0.21"),
        (lambda: viscosity_line(32, 40, 5.4, 100).at(400), "beyond -70 to 370 degC"),
    ],
)
def test_lines_that_cannot_be(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_a_wrong_exponent_is_caught(monkeypatch):
    """With 0.6 in place of D341's 0.7 the worksheet's coefficients are missed."""
    monkeypatch.setattr(oil, "z_of", lambda viscosity: viscosity + 0.6)
    line = viscosity_line(32.0, 40.0, 5.4, 100.0)
    assert abs(line.a - 9.53082) > 1e-4


def test_a_wrong_index_coefficient_is_caught(monkeypatch):
    monkeypatch.setattr(viscosity_index, "HIGH_INDEX", 0.00725)
    kv40, kv100, index, tolerance = WORKED_INDICES[1]
    assert abs(index_of(kv40, kv100) - index) > tolerance


def test_typical_5w30():
    """1.78 times as thick at 60 and 0.63 at 100 degC as at 80 (common practice, no source)."""
    line = grade_line("5W-30")
    assert viscosity_ratio(line, 60, 80) == pytest.approx(1.78, abs=0.005)
    assert viscosity_ratio(line, 100, 80) == pytest.approx(0.63, abs=0.005)


@pytest.mark.parametrize("grade", ["0W-16", "5W-20", "10W-40", "15W40", "SAE 30", "50", "5W"])
def test_typical_lines_stay_in_their_band(grade):
    from gaugewright.physics.grades import find_grade

    winter, hot = find_grade(grade)
    kv100 = grade_line(grade).at(100.0)
    if hot is None:
        assert kv100 >= winter.kv100_min
    else:
        assert hot.kv100_min <= kv100 < hot.kv100_max


def test_wider_grades_thin_less():
    ratios = [viscosity_ratio(grade_line(g), 40, 100) for g in ("0W-40", "10W-40", "20W-40", "40")]
    assert ratios == sorted(ratios)


def test_unknown_grade():
    with pytest.raises(ValueError, match='found "5W-35", which is no grade of SAE J300; write one'):
        grade_line("5W-35")


@pytest.mark.parametrize(
    ("grade", "mpa_s"),
    [("10", 4.727), ("20", 5.901), ("30", 8.159), ("40", 10.164), ("50", 16.014), ("60", 21.031)],
)
def test_plain_grades_at_100(grade, mpa_s):
    """V10: constants from an open bearing code and a machine-design solutions manual."""
    found = oil_properties.plain_grade_viscosity(grade, 100.0)
    assert 1000 * found == pytest.approx(mpa_s, rel=1e-3)


def test_plain_grade_30_at_79():
    """V9: solutions manual of a machine-design textbook, problem 12-20: 15.2 mPa s."""
    found = oil_properties.plain_grade_viscosity("30", 79.0)
    assert 1000 * found == pytest.approx(15.2, abs=0.05)


def test_blending_number():
    """V11: blend calculator page, 2.234 mm2/s has 12.49."""
    assert blend.blending_number(2.234) == pytest.approx(12.49, abs=0.003)


def test_blend_of_two():
    """V12: inputs of the blend page; 8.109 mm2/s computed apart from this package."""
    assert blend.blended((0.6, 0.4), (5.0, 20.0)) == pytest.approx(8.109, rel=1e-3)


def test_fuel_in_thick_oil():
    """V13: a field-viscometer maker's chart shows 137 mm2/s; the index model is 5 % below it."""
    found = blend.blended((0.97, 0.03), (160.0, 3.0))
    assert found == pytest.approx(130.9, abs=0.05)
    assert found == pytest.approx(137.0, rel=blend.MODEL_SPREAD)


def test_five_per_cent_of_fuel_drops_a_grade():
    """V14: oil-laboratory page: 5 % fuel brings an SAE 30 down to about an SAE 20."""
    from gaugewright.physics.grades import grades_at

    thinned = blend.blended((0.95, 0.05), (11.0, 0.6))
    assert thinned == pytest.approx(8.54, abs=0.005)
    assert grades_at(11.0) == ("30",)
    assert "20" in grades_at(thinned)
    assert blend.blended((0.95, 0.05), (11.0, 1.1)) == pytest.approx(9.25, abs=0.005)


def test_a_wrong_blending_slope_changes_nothing_but_the_shift_does(monkeypatch):
    """Slope and offset cancel in a blend, the 0.8 does not: each check can fail on its own."""
    monkeypatch.setattr(blend, "SLOPE", 14.6)
    assert abs(blend.blending_number(2.234) - 12.49) > 0.003
    monkeypatch.setattr(blend, "SHIFT", 0.3)
    assert abs(blend.blended((0.6, 0.4), (5.0, 20.0)) - 8.109) > 0.0081


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: blend.blending_number(0.2), "not above 0.2"),
        (lambda: blend.blended((0.6, 0.3), (5.0, 20.0)), "not parts of one whole"),
    ],
)
def test_blends_that_cannot_be(call, words):
    with pytest.raises(ValueError, match=words):
        call()


DENSITIES = {40: 854.22, 60: 841.49, 80: 828.68, 100: 815.78, 120: 802.82, 150: 783.28}
"""V15: ASTM D1250-04 lubricating-oil group, 870 kg/m3 at 15 degC, computed apart."""


@pytest.mark.parametrize(("degc", "kg_m3"), DENSITIES.items())
def test_density(degc, kg_m3):
    assert oil_properties.density(870.0, degc) == pytest.approx(kg_m3, abs=0.05)


@pytest.mark.parametrize(("at_15", "at_100"), [(850.0, 795.76), (890.0, 835.80)])
def test_density_of_other_oils(at_15, at_100):
    """V16, as V15."""
    assert oil_properties.density(at_15, 100.0) == pytest.approx(at_100, abs=0.05)


def test_density_in_the_fahrenheit_form():
    """The published form is in degF with K1 = 0.34878 about 60 degF: same within 0.05 kg/m3."""
    for degc in DENSITIES:
        span = 1.8 * degc + 32 - 59.0
        alpha = 0.34878 / 870.0
        published = 870.0 * math.exp(-alpha * span * (1 + 0.8 * alpha * span))
        assert oil_properties.density(870.0, degc) == pytest.approx(published, abs=0.05)


def test_a_wrong_expansion_is_caught(monkeypatch):
    monkeypatch.setattr(oil_properties, "LUBE_K1", 0.6278 * 1.01)
    assert abs(oil_properties.density(870.0, 100.0) - DENSITIES[100]) > 0.05


def test_many_oils_at_many_temperatures_are_one_by_one():
    """The array form gives each oil what its own line gives, below 2 mm2/s as well."""
    kv40, kv100 = np.array([32.0, 100.0, 3.0]), np.array([5.4, 14.0, 1.1])
    temperatures = np.array([20.0, 80.0, 150.0])
    a, b = oil.line_coefficients(kv40, 40.0, kv100, 100.0)
    found = oil.viscosity_at(a, b, temperatures[:, None])
    for i, (v40, v100) in enumerate(zip(kv40, kv100, strict=True)):
        line = viscosity_line(v40, 40.0, v100, 100.0)
        assert found[:, i] == pytest.approx([line.at(t) for t in temperatures], rel=1e-12)
        assert line.at(temperatures) == pytest.approx(found[:, i], rel=1e-12)
    # V6 and V7 at 20, 80 and 150 degC
    assert found[:, 0] == pytest.approx([86.278, 8.533, 2.392], abs=5e-4)
    assert found[:2, 1] == pytest.approx([284.11, 23.465], abs=5e-3)


def test_one_temperature_of_many_beyond_the_chart():
    with pytest.raises(ValueError, match="beyond -70 to 370 degC"):
        viscosity_line(32, 40, 5.4, 100).at(np.array([20.0, math.nan]))
    with pytest.raises(ValueError, match=r"below 0\.21"):
        oil.z_of(np.array([5.0, 0.1]))


def test_a_number_gives_a_plain_number():
    line = viscosity_line(32, 40, 5.4, 100)
    assert type(line.at(80.0)) is float
    assert type(viscosity_line(3.0, 40.0, 1.1, 100.0).at(100.0)) is float


def test_diluted_lines():
    """V14 on lines: an oil of 11 mm2/s has 8.54 with 5 % fuel; without fuel it is itself."""
    shares = np.array([0.0, 0.05, 1.0])
    a, b = blend.diluted_line(70.0, 11.0, shares)
    found = oil.viscosity_at(a, b, 100.0)
    assert found[:2] == pytest.approx([11.0, 8.54], abs=0.005)
    assert found[2] == pytest.approx(blend.FUEL_KV100, rel=1e-3)
    plain = viscosity_line(70.0, 40.0, 11.0, 100.0)
    assert (a[0], b[0]) == pytest.approx((plain.a, plain.b), rel=1e-12)


def test_a_wrong_fuel_is_caught(monkeypatch):
    monkeypatch.setattr(blend, "FUEL_KV100", 0.65)
    assert abs(oil.viscosity_at(*blend.diluted_line(70.0, 11.0, 0.05), 100.0) - 8.54) > 0.005


@given(st.floats(0.0, 0.3), st.floats(0.001, 0.2), st.floats(0.0, 150.0))
def test_fuel_thins_at_every_temperature(share, more, degc):
    lines = [blend.diluted_line(70.0, 11.0, s) for s in (share, share + more)]
    less, yet_less = (oil.viscosity_at(*line, degc) for line in lines)
    assert yet_less < less


@pytest.mark.parametrize("share", [-0.01, 1.01])
def test_no_share_of_fuel(share):
    with pytest.raises(ValueError, match="not parts of one whole"):
        blend.diluted_line(70.0, 11.0, share)


def test_dynamic_viscosity():
    """By definition: 17.88 mm2/s at 850 kg/m3 are 15.2 mPa s."""
    assert oil_properties.dynamic_viscosity(17.88, 850.0) == pytest.approx(0.0152, abs=5e-6)
    many = oil_properties.dynamic_viscosity(
        np.array([12.0, 24.0]), oil_properties.density(870.0, 100.0)
    )
    assert many == pytest.approx([0.0097894, 0.0195787], abs=5e-7)
