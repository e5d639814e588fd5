"""Conversions against published factors and the pint library; every refusal by its words."""

import math
import subprocess
import sys
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.quantities import unit_table, units
from gaugewright.quantities.display import convert
from gaugewright.quantities.unit_table import OTHER_SPELLINGS, STATED_REFERENCE, UNITS
from gaugewright.quantities.units import (
    UnitError,
    dimension_of,
    parse,
    scale,
    split,
    stated_reference,
)

PUBLISHED_PA = [
    # NIST SP 811 (2008), appendix B.8, as unit tables quote it: unit, printed Pa, half last digit
    ("psi", 6894.757, 0.0005),  # U1
    ("inHg", 3386.389, 0.0005),  # U2, conventional
    ("inHg_0C", 3386.38, 0.005),  # U3
    ("inHg_60F", 3376.85, 0.005),  # U4
    ("inH2O", 249.0889, 0.00005),  # U5, conventional
    ("inH2O_39F", 249.082, 0.0005),  # U6
    ("inH2O_60F", 248.84, 0.005),  # U6
    ("mmHg", 133.3224, 0.00005),  # U7
    ("mmH2O", 9.80665, 0.0000005),  # U7
    ("torr", 133.3224, 0.00005),  # U7
    # U8: SI Brochure, SP 811, ISO 80000-4; exact
    ("mbar", 100.0, 0.0),
    ("bar", 1e5, 0.0),
    ("atm", 101325.0, 0.0),
    ("kgf/cm2", 98066.5, 0.0),
]


@pytest.mark.parametrize(("unit", "pascal", "half_digit"), PUBLISHED_PA)
def test_pressure_units(unit, pascal, half_digit):
    factor, offset = scale(unit, "pressure")
    assert offset == 0.0
    assert factor == pytest.approx(pascal, abs=half_digit * 1.0001, rel=0)


def test_psi_to_all_its_digits():
    """U1: 6894.757293168 Pa, from pound, inch and standard gravity, exact by definition."""
    assert scale("psi", "pressure")[0] == pytest.approx(6894.757293168, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "unit", "other", "printed", "tolerance"),
    [
        (10, "psi", "kPa", 68.9476, 5e-5),  # U9
        (1, "bar", "psi", 14.50377, 5e-6),  # U9
        (1, "inHg", "psi", 0.491154, 5e-7),  # U10, sensor maker's glossary
        (1, "inHg", "inH2O", 13.5951, 5e-5),  # U10
        (1, "psi", "inHg", 2.0360206576, 1e-6),  # U11, unit-conversion page
        (1, "psi", "inH2O", 27.67990, 1e-5),  # U11
        (101325, "Pa", "inHg", 29.92125, 2e-5),  # U12, US Standard Atmosphere texts
        (20, "inHg", "kPa", 67.728, 0.001),  # U13
        (60.0, "kPa", "inHg", 17.718, 0.0005),  # U14, workshop manual: 17.72 inHg
        (60.0, "kPa", "mmHg", 450.0, 0.1),  # U14, same: 450 mmHg
        (4, "inH2O", "kPa", 0.9964, 5e-5),  # U15, workshop manual rounds to 1.0
        (10, "inH2O", "kPa", 2.4909, 5e-5),  # U15, 2.5
        (12, "inH2O", "kPa", 2.9891, 5e-5),  # U15, 3.0
        (14, "inH2O", "kPa", 3.4872, 5e-5),  # U15, 3.5
    ],
)
def test_conversions(value, unit, other, printed, tolerance):
    assert convert(value, unit, other) == pytest.approx(printed, abs=tolerance)


def test_vacuum_below_the_surroundings():
    """U13: 20 inHg of vacuum at 101.325 kPa leaves 33.597 kPa."""
    left = 101.325 + convert(-20.0, "inHg", "kPa")
    assert left == pytest.approx(33.597, abs=0.001)


def test_the_variants_differ():
    """Conventional and 60 degF inches of mercury by 0.28 %, of water by 0.10 %."""
    hg = scale("inHg", "pressure")[0] / scale("inHg_60F", "pressure")[0] - 1
    water = scale("inH2O", "pressure")[0] / scale("inH2O_60F", "pressure")[0] - 1
    assert hg == pytest.approx(0.0028, abs=5e-5)
    assert water == pytest.approx(0.0010, abs=5e-5)


def test_a_wrong_density_of_mercury_is_caught(monkeypatch):
    """With mercury at 60 degF (13 556.8 kg/m3) in place of the convention U2 is missed."""
    factor = 13556.8 * unit_table.STANDARD_GRAVITY * unit_table.INCH_M
    wrong = unit_table.Unit("inHg", "pressure", factor)
    monkeypatch.setitem(units._spellings(), "inHg", {"pressure": wrong})
    assert abs(scale("inHg", "pressure")[0] - 3386.389) > 0.0005


@pytest.fixture(scope="module")
def registry():
    import pint

    return pint.UnitRegistry()


@pytest.mark.parametrize("unit", [u for u in UNITS if u.pint_name], ids=lambda u: u.name)
def test_the_table_against_pint(unit, registry):
    """Every unit that pint knows, at 0, 1 and 7, in the house unit (60 degF: printed digits)."""
    house = {"K": "delta_degC", "%": "percent", "rpm": "revolution/minute", "m3": "m**3"}
    target = house.get(unit_table.HOUSE[unit.dimension], unit_table.HOUSE[unit.dimension])
    if unit.name == "K" and unit.dimension == "temperature-difference":
        target = "kelvin"
    for number in (0.0, 1.0, 7.0):
        expected = registry.Quantity(number, unit.pint_name).to(target).magnitude
        found = unit.factor * number + unit.offset
        assert found == pytest.approx(expected, rel=1e-6 if "60F" in unit.name else 1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("0.8 V", "voltage", 0.8),
        ("-35 mbar", "pressure", -3500.0),
        ("92 degC", "temperature", 92.0),
        ("92°C", "temperature", 92.0),
        ("200 degF", "temperature", 93.0 + 1 / 3),
        ("365.15 K", "temperature", 92.0),
        ("5 degC", "temperature-difference", 5.0),
        ("5 K", "temperature-difference", 5.0),
        ("9 degF", "temperature-difference", 5.0),
        ("820 rpm", "speed", 820.0),
        ("820 1/min", "speed", 820.0),
        ("10 rev/s", "speed", 600.0),
        ("10 kHz", "frequency", 10000.0),
        ("2.0 L", "volume", 0.002),
        ("148200 km", "distance", 148200.0),
        ("148 200 km", "distance", 148200.0),
        ("100 mi", "distance", 160.9344),
        ("310 m", "length", 310.0),
        ("-2.5 inHg", "pressure", -8465.97),
        ("\u22122.5 inHg", "pressure", -8465.97),
        ("16 psi", "pressure", 110316.1167),
        ("16psig", "pressure", 110316.1167),
        ("1,1 bar", "pressure", 110000.0),
        ("0,350 bar", "pressure", 35000.0),
        ("+.5 bar", "pressure", 50000.0),
        ("1e3 Pa", "pressure", 1000.0),
        ("2 min", "time", 120.0),
        ("3.2 g/s", "mass-flow", 0.0032),
        ("-4.7 %", "ratio", -4.7),
        ("1 ksi", "pressure", 6894757.293),  # not in the table: asked of pint
    ],
)
def test_parse(text, dimension, value):
    found = parse(text, dimension)
    assert found.text == text
    assert found.si == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "dimension", "sentence"),
    [
        (
            "0.8",
            "voltage",
            'found "0.8", a number without its unit; write a number and its unit, such as "0.8 V"',
        ),
        (
            0.8,
            "voltage",
            'found 0.8, a value without its unit; write a number and its unit, such as "0.8 V"',
        ),
        (
            "92 degC",
            "pressure",
            'found "92 degC", a temperature where a pressure is needed; write a number and its '
            'unit, such as "2.0 bar"',
        ),
        (
            "1,013 mbar",
            "pressure",
            'found "1,013 mbar", which can be read as 1.013 or as 1013; write "1013 mbar" or '
            '"1.013 mbar"',
        ),
        (
            "2 furlongs",
            "pressure",
            'found "2 furlongs", whose unit "furlongs" is not one of a pressure; write a number '
            'and its unit, such as "2.0 bar"',
        ),
        (
            "bar",
            "pressure",
            'found "bar", which does not begin with a number; write a number and its unit, such '
            'as "2.0 bar"',
        ),
        (
            "13.7 Hz",
            "speed",
            'found "13.7 Hz", a frequency where an engine speed is needed; write a number and its '
            'unit, such as "820 rpm"',
        ),
        (
            "820 rpm",
            "frequency",
            'found "820 rpm", an engine speed where a frequency is needed; write a number and its '
            'unit, such as "10 kHz"',
        ),
        (
            "-300 degC",
            "temperature",
            'found "-300 degC", which is below absolute zero; write a number and its unit, such '
            'as "92 degC"',
        ),
        (
            "1e999 bar",
            "pressure",
            'found "1e999 bar", a number too large to compute with; write a finite one',
        ),
        (
            "nan bar",
            "pressure",
            'found "nan bar", which does not begin with a number; write a number and its unit, '
            'such as "2.0 bar"',
        ),
    ],
)
def test_refusals(text, dimension, sentence):
    with pytest.raises(UnitError) as caught:
        parse(text, dimension)
    assert str(caught.value) == sentence


def test_speed_does_not_go_through_hertz():
    """820 rpm is 820 rpm, and not the 85.87 Hz that a library gives which drops radians."""
    assert parse("820 rpm", "speed").si == 820.0
    assert scale("rad/s", "speed")[0] == pytest.approx(9.549297, abs=5e-7)


@pytest.mark.parametrize(
    ("found", "dimension", "same_as"),
    [
        ("°C", "temperature", "degC"),
        ("Â°C", "temperature", "degC"),
        ("\ufffdC", "temperature", "degC"),
        ("[°C]", "temperature", "degC"),
        ("(deg C)", "temperature", "degC"),
        ("deg F", "temperature", "degF"),
        ("ºF", "temperature", "degF"),
        ("RPM", "speed", "rpm"),
        ("Rpm", "speed", "rpm"),
        ("1/min", "speed", "rpm"),
        ("min⁻¹", "speed", "rpm"),
        ("KPA", "pressure", "kPa"),
        ("HPA", "pressure", "hPa"),
        ("PSI", "pressure", "psi"),
        ("psig", "pressure", "psi"),
        ("in Hg", "pressure", "inHg"),
        ("INHG", "pressure", "inHg"),
        ("inH₂O", "pressure", "inH2O"),
        ("kgf/cm²", "pressure", "kgf/cm2"),
        ("Volts", "voltage", "V"),
        ("v", "voltage", "V"),
        ("amps", "current", "A"),
        ("percent", "ratio", "%"),
        ("gm/s", "mass-flow", "g/s"),
        ("μs", "time", "us"),
        ("sec", "time", "s"),
    ],
)
def test_spellings_found_in_files(found, dimension, same_as):
    assert scale(found, dimension) == scale(same_as, dimension)


def test_every_spelling_in_the_table_is_read():
    dimensions = {}
    for unit in UNITS:
        dimensions.setdefault(unit.name, []).append(unit.dimension)
    for name, others in OTHER_SPELLINGS.items():
        for spelling in others:
            for dimension in dimensions[name]:
                assert scale(spelling, dimension) == scale(name, dimension), spelling
    for spelling, (name, reference) in STATED_REFERENCE.items():
        assert scale(spelling, "pressure") == scale(name, "pressure")
        assert stated_reference(spelling) == reference


def test_millipascal_is_not_megapascal():
    assert scale("mPa", "pressure")[0] == pytest.approx(1e-3)
    assert scale("MPa", "pressure")[0] == 1e6


@pytest.mark.parametrize(
    ("unit", "dimension", "sentence"),
    [
        (
            "V",
            "pressure",
            'found "V", the unit of a voltage, where a pressure is needed; write a pressure, in '
            "Pa, kPa, bar, mbar, psi, inHg, inH2O or mmHg",
        ),
        (
            "blorps",
            "speed",
            'found "blorps", a unit that is not known; write an engine speed, in a unit such as '
            "rpm",
        ),
        ("", "voltage", "found no unit; write a voltage, in a unit such as V"),
    ],
)
def test_units_that_do_not_fit(unit, dimension, sentence):
    with pytest.raises(UnitError) as caught:
        scale(unit, dimension)
    assert str(caught.value) == sentence


@pytest.mark.parametrize("unit", ["bar**99999999", "10**10**10", "a" * 5000, "__import__('os')"])
def test_no_unit_text_is_worked_out(unit):
    with pytest.raises(UnitError):
        scale(unit, "pressure")


def test_an_unknown_dimension_is_our_own_mistake():
    with pytest.raises(KeyError, match="no dimension 'presure'"):
        scale("bar", "presure")


def test_split_and_dimension():
    assert split("1,1 bar") == (1.1, "bar")
    assert split("5") == (5.0, "")
    assert [dimension_of(u) for u in ("bar", "degC", "mV", "m", "nonsense")] == [
        "pressure",
        "temperature",
        "voltage",
        "length",
        None,
    ]


@given(
    st.floats(-1e6, 1e6, allow_subnormal=False),
    st.sampled_from([u for u in UNITS if u.dimension == "pressure"]),
)
def test_any_pressure_as_written(number, unit):
    found = parse(f"{number!r} {unit.name}", "pressure")
    assert found.si == pytest.approx(number * unit.factor, rel=1e-12, abs=1e-12)


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text):
    with suppress(UnitError):
        assert math.isfinite(parse(text, "pressure").si)


def test_the_usual_units_do_not_load_pint():
    code = (
        "import sys; from gaugewright.quantities.units import parse, scale;"
        "parse('0.8 V', 'voltage'); scale('inHg', 'pressure'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
