"""The catalogue of quantities, and values as readers see them."""

import pytest

from gaugewright.quantities.catalogue import QUANTITIES, difference_of
from gaugewright.quantities.display import convert, decimals, house_to, shown
from gaugewright.quantities.units import UnitError, scale

NAMES = [
    "oil-pressure",
    "crankcase-pressure",
    "manifold-pressure",
    "cylinder-pressure",
    "exhaust-pressure",
    "fuel-pressure",
    "coolant-pressure",
    "ignition",
    "crank",
    "cam",
    "engine-speed",
    "oil-temperature",
    "coolant-temperature",
    "air-flow",
    "fuel-trim-short",
    "fuel-trim-long",
    "battery-voltage",
    "starter-current",
]


def test_every_quantity_of_the_format_is_there():
    assert list(QUANTITIES) == NAMES


def test_findings_units_follow_from_the_house_units():
    for kind in QUANTITIES.values():
        factor, offset = scale(kind.findings_unit, kind.dimension)
        assert kind.findings_factor == pytest.approx(1 / factor)
        assert offset == 0.0


def test_the_findings_contract():
    """Pressures in kPa, speeds in rpm, temperatures in degC."""
    units = {kind.dimension: kind.findings_unit for kind in QUANTITIES.values()}
    assert (units["pressure"], units["speed"], units["temperature"]) == ("kPa", "rpm", "degC")
    assert QUANTITIES["oil-pressure"].house_unit == "Pa"
    assert QUANTITIES["oil-pressure"].word == "oil pressure"


def test_pulses_and_pressures():
    assert [k.name for k in QUANTITIES.values() if k.pulses] == ["ignition", "crank", "cam"]
    assert sum(kind.is_pressure for kind in QUANTITIES.values()) == 7


def test_differences_of_temperatures_have_no_offset():
    assert QUANTITIES["oil-temperature"].difference == "temperature-difference"
    assert difference_of("pressure") == "pressure"


@pytest.mark.parametrize(
    ("pascal", "unit", "text"),
    [
        (103400.0, "kPa", "103.4 kPa"),
        (103400.0, "bar", "1.03 bar"),
        (103400.0, "psi", "15.0 psi"),
        (-8465.97, "inHg", "\u22122.5 inHg"),
        (-3500.0, "mbar", "\u221235 mbar"),
        (-1.0, "kPa", "0.0 kPa"),
    ],
)
def test_shown(pascal, unit, text):
    assert shown(pascal, unit) == text


def test_shown_with_the_digits_of_its_uncertainty():
    assert shown(103456.0, "kPa", uncertainty=1600.0) == "103.5 kPa"
    assert shown(103456.0, "kPa", uncertainty=6000.0) == "103 kPa"
    assert shown(93.6, "degF", "temperature", uncertainty=1.0) == "200.5 °F"
    assert shown(88.0, "degC", "temperature") == "88 °C"


@pytest.mark.parametrize(
    ("spread", "places"),
    [(1.6, 1), (6.0, 0), (0.09, 2), (0.2, 2), (25.0, 0), (0.0, 1), (None, 1), (1e-9, 6)],
)
def test_decimals(spread, places):
    assert decimals("kPa", spread) == places


def test_house_to_and_back():
    factor, offset = house_to("degF", "temperature")
    assert factor * 100.0 + offset == pytest.approx(212.0)
    assert convert(9.0, "degF", "K", "temperature-difference") == pytest.approx(5.0)
    with pytest.raises(UnitError):
        house_to("V")
