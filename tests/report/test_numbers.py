"""Figures as the pages print them: units, digits, signs, and how they stand in a column."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_sample import preferences

from gaugewright.report import display
from gaugewright.report.display import MINUS, NARROW, NO_BREAK

# NIST SP 811 (2008), appendix B.8, as printed: factor to Pa.  The tolerance is half the last
# printed digit.
PSI_PA = 6.894757e3
INHG_CONVENTIONAL_PA = 3.386389e3
INHG_60F_PA = 3.37685e3


def per_unit(quantity: str, **changes: str) -> float:
    return display.shown(quantity, "kPa", preferences(**changes)).per_unit


def test_psi_as_nist_sp_811_prints_it() -> None:
    assert per_unit("oil-pressure", pressure_unit="psi") * 1e3 == pytest.approx(PSI_PA, abs=5e-4)


def test_inch_of_mercury_as_nist_sp_811_prints_it() -> None:
    shown = per_unit("crankcase-pressure", vacuum_unit="inHg") * 1e3
    assert shown == pytest.approx(INHG_CONVENTIONAL_PA, abs=5e-4)


def test_the_inch_of_mercury_at_60_degf_would_be_caught() -> None:
    shown = per_unit("crankcase-pressure", vacuum_unit="inHg") * 1e3
    assert shown != pytest.approx(INHG_60F_PA, abs=5e-4)


def test_bar_and_mbar_are_exact() -> None:
    assert per_unit("oil-pressure", pressure_unit="bar") == 100.0
    assert per_unit("manifold-pressure", vacuum_unit="mbar") == pytest.approx(0.1, rel=1e-12)


def test_the_vacuum_unit_is_for_crankcase_and_manifold_only() -> None:
    both = preferences(pressure_unit="psi", vacuum_unit="inHg")
    units = {
        name: display.shown(name, "kPa", both).unit
        for name in ("oil-pressure", "fuel-pressure", "crankcase-pressure", "manifold-pressure")
    }
    assert list(units.values()) == ["psi", "psi", "inHg", "inHg"]


@pytest.mark.parametrize(
    ("value", "places", "signed", "said"),
    [
        (-5.84, 1, False, f"{MINUS}5.8"),
        (6.2, 1, True, "+6.2"),
        (-0.04, 1, True, "0.0"),
        (0.25, 1, False, "0.3"),
        (2.675, 2, False, "2.68"),
        (1850.0, 0, False, "1850"),
        (148200.0, 0, False, f"148{NARROW}200"),
        (3000000.0, 0, False, f"3{NARROW}000{NARROW}000"),
    ],
)
def test_digits(value: float, places: int, signed: bool, said: str) -> None:
    assert display.digits(value, places, signed) == said


@pytest.mark.parametrize(
    ("expanded", "most", "places"),
    [(1.8, 1, 1), (0.26, 2, 2), (12.4, 1, 0), (0.0, 1, 1), (None, 2, 2), (157.0, 1, 0)],
)
def test_two_digits_of_the_uncertainty_never_more_than_sensible(
    expanded: float | None, most: int, places: int
) -> None:
    assert display.decimals(expanded, most) == places


def test_a_spread_never_reads_as_zero() -> None:
    how = display.shown("engine-speed", "rpm", preferences())
    fine = display.number(838.04, 0.24, how)
    finer = display.number(838.04, 0.004, how)
    assert fine.whole + fine.fraction + fine.after == f"838.0\u00b1{NO_BREAK}0.2{NO_BREAK}rpm"
    assert finer.after.startswith(f"\u00b1{NO_BREAK}<0.1")


@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e3))
def test_a_printed_figure_lies_within_half_its_last_digit(value: float, spread: float) -> None:
    how = display.shown("oil-pressure", "kPa", preferences(pressure_unit="psi"))
    figure = display.number(value, spread, how)
    said = (figure.whole + figure.fraction).replace(MINUS, "-").replace(NARROW, "")
    places = len(figure.fraction.lstrip("."))
    assert math.isclose(float(said), how.of(value), abs_tol=0.5000001 * 10.0**-places)


def test_a_plain_figure_never_reads_like_the_limit_it_misses() -> None:
    how = display.shown("oil-pressure", "kPa", preferences())
    assert display.plain(89.6, how, 1.8, 90.0) == f"89.6{NO_BREAK}kPa"
    assert display.plain(84.2, how, 1.8, 90.0) == f"84{NO_BREAK}kPa"


def test_a_limit_is_given_back_with_the_digits_it_takes() -> None:
    bar = display.shown("oil-pressure", "kPa", preferences(pressure_unit="bar"))
    assert display.stated(90.0, bar) == f"0.9{NO_BREAK}bar"
    psi = display.shown("oil-pressure", "kPa", preferences(pressure_unit="psi"))
    assert display.stated(90.0, psi) == f"13.05{NO_BREAK}psi"


def test_an_absolute_pressure_has_no_plus_sign() -> None:
    gauge = display.shown("crankcase-pressure", "kPa", preferences())
    absolute = display.shown("crankcase-pressure", "kPa", preferences(), reference="vacuum")
    assert (gauge.signed, absolute.signed) == (True, False)


def test_decimal_marks_stand_under_each_other() -> None:
    how = display.shown("oil-pressure", "kPa", preferences())
    figures = display.aligned([display.number(v, 1.8, how) for v in (64.0, 187.5, -5.8)])
    assert {f.lead for f in figures} == {3.0}
    assert {f.tail for f in figures} == {1.5}
