"""The usual units, each with its factor to the house unit: the one table of conversions.

House value = factor * number + offset.  Column and mercury units are the conventional ones
(mercury 13 595.1 kg/m3, water 1000 kg/m3, both under 9.80665 m/s2); their 0 degC and 60 degF
variants have names of their own, because they differ by up to 0.28 %.

Source of the factors: NIST Special Publication 811 (2008), appendix B.8, and the SI Brochure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Unit:
    """One unit: its dimension and how a number in it becomes a house value.

    `pint_name` is how the pint library spells it, for the test that compares both.
    """

    name: str
    dimension: str
    factor: float
    offset: float = 0.0
    pint_name: str = ""


STANDARD_GRAVITY = 9.80665
"""m/s2, exact by definition (SI Brochure)."""
INCH_M = 0.0254
POUND_FORCE_N = 0.45359237 * STANDARD_GRAVITY
MERCURY_KG_M3 = 13595.1
"""Conventional density of mercury (SP 811, B.8, footnote on conventional columns)."""
WATER_KG_M3 = 1000.0
"""Conventional density of water (same footnote)."""

HOUSE = {
    "pressure": "Pa",
    "speed": "rpm",
    "temperature": "degC",
    "temperature-difference": "K",
    "voltage": "V",
    "current": "A",
    "resistance": "ohm",
    "time": "s",
    "frequency": "Hz",
    "length": "m",
    "distance": "km",
    "volume": "m3",
    "mass-flow": "kg/s",
    "ratio": "%",
}
"""Dimension -> the unit the house computes in."""

EXAMPLES = {
    "pressure": '"2.0 bar"',
    "speed": '"820 rpm"',
    "temperature": '"92 degC"',
    "temperature-difference": '"5 K"',
    "voltage": '"0.8 V"',
    "current": '"12 A"',
    "resistance": '"120 ohm"',
    "time": '"5 s"',
    "frequency": '"10 kHz"',
    "length": '"310 m"',
    "distance": '"148200 km"',
    "volume": '"2.0 L"',
    "mass-flow": '"3.2 g/s"',
    "ratio": '"4.5 %"',
}
"""Dimension -> a value as it should be written, for messages."""

UNITS = (
    Unit("Pa", "pressure", 1.0, pint_name="pascal"),
    Unit("hPa", "pressure", 100.0, pint_name="hectopascal"),
    Unit("kPa", "pressure", 1000.0, pint_name="kilopascal"),
    Unit("MPa", "pressure", 1e6, pint_name="megapascal"),
    Unit("mbar", "pressure", 100.0, pint_name="millibar"),
    Unit("bar", "pressure", 1e5, pint_name="bar"),
    Unit("psi", "pressure", POUND_FORCE_N / INCH_M**2, pint_name="psi"),
    Unit("inHg", "pressure", MERCURY_KG_M3 * STANDARD_GRAVITY * INCH_M, pint_name="inHg"),
    Unit("inHg_0C", "pressure", 3386.38),
    Unit("inHg_60F", "pressure", 3376.85, pint_name="inch_Hg_60F"),
    Unit("mmHg", "pressure", MERCURY_KG_M3 * STANDARD_GRAVITY * 1e-3, pint_name="mmHg"),
    Unit("cmHg", "pressure", MERCURY_KG_M3 * STANDARD_GRAVITY * 1e-2, pint_name="cmHg"),
    Unit("torr", "pressure", 101325.0 / 760.0, pint_name="torr"),
    Unit("inH2O", "pressure", WATER_KG_M3 * STANDARD_GRAVITY * INCH_M, pint_name="inH2O"),
    Unit("inH2O_39F", "pressure", 249.082),
    Unit("inH2O_60F", "pressure", 248.84, pint_name="inch_H2O_60F"),
    Unit("mmH2O", "pressure", WATER_KG_M3 * STANDARD_GRAVITY * 1e-3, pint_name="mmH2O"),
    Unit("cmH2O", "pressure", WATER_KG_M3 * STANDARD_GRAVITY * 1e-2, pint_name="cmH2O"),
    Unit("atm", "pressure", 101325.0, pint_name="atm"),
    Unit("kgf/cm2", "pressure", 98066.5, pint_name="kgf/cm**2"),
    Unit("rpm", "speed", 1.0, pint_name="revolution/minute"),
    Unit("rev/s", "speed", 60.0, pint_name="revolution/second"),
    Unit("rad/s", "speed", 30.0 / math.pi, pint_name="radian/second"),
    Unit("degC", "temperature", 1.0, 0.0, pint_name="degC"),
    Unit("degF", "temperature", 5.0 / 9.0, -160.0 / 9.0, pint_name="degF"),
    Unit("K", "temperature", 1.0, -273.15, pint_name="kelvin"),
    Unit("degC", "temperature-difference", 1.0, pint_name="delta_degC"),
    Unit("degF", "temperature-difference", 5.0 / 9.0, pint_name="delta_degF"),
    Unit("K", "temperature-difference", 1.0, pint_name="kelvin"),
    Unit("V", "voltage", 1.0, pint_name="volt"),
    Unit("mV", "voltage", 1e-3, pint_name="millivolt"),
    Unit("uV", "voltage", 1e-6, pint_name="microvolt"),
    Unit("kV", "voltage", 1e3, pint_name="kilovolt"),
    Unit("A", "current", 1.0, pint_name="ampere"),
    Unit("mA", "current", 1e-3, pint_name="milliampere"),
    Unit("uA", "current", 1e-6, pint_name="microampere"),
    Unit("kA", "current", 1e3, pint_name="kiloampere"),
    Unit("ohm", "resistance", 1.0, pint_name="ohm"),
    Unit("kohm", "resistance", 1e3, pint_name="kiloohm"),
    Unit("s", "time", 1.0, pint_name="second"),
    Unit("ms", "time", 1e-3, pint_name="millisecond"),
    Unit("us", "time", 1e-6, pint_name="microsecond"),
    Unit("ns", "time", 1e-9, pint_name="nanosecond"),
    Unit("min", "time", 60.0, pint_name="minute"),
    Unit("h", "time", 3600.0, pint_name="hour"),
    Unit("d", "time", 86400.0, pint_name="day"),
    Unit("Hz", "frequency", 1.0, pint_name="hertz"),
    Unit("kHz", "frequency", 1e3, pint_name="kilohertz"),
    Unit("MHz", "frequency", 1e6, pint_name="megahertz"),
    Unit("m", "length", 1.0, pint_name="meter"),
    Unit("mm", "length", 1e-3, pint_name="millimeter"),
    Unit("um", "length", 1e-6, pint_name="micrometer"),
    Unit("cm", "length", 1e-2, pint_name="centimeter"),
    Unit("km", "length", 1e3, pint_name="kilometer"),
    Unit("in", "length", INCH_M, pint_name="inch"),
    Unit("ft", "length", 12 * INCH_M, pint_name="foot"),
    Unit("yd", "length", 36 * INCH_M, pint_name="yard"),
    Unit("mi", "length", 63360 * INCH_M, pint_name="mile"),
    Unit("km", "distance", 1.0, pint_name="kilometer"),
    Unit("m", "distance", 1e-3, pint_name="meter"),
    Unit("mi", "distance", 63.36 * INCH_M, pint_name="mile"),
    Unit("m3", "volume", 1.0, pint_name="meter**3"),
    Unit("L", "volume", 1e-3, pint_name="liter"),
    Unit("mL", "volume", 1e-6, pint_name="milliliter"),
    Unit("cm3", "volume", 1e-6, pint_name="centimeter**3"),
    Unit("in3", "volume", INCH_M**3, pint_name="inch**3"),
    Unit("kg/s", "mass-flow", 1.0, pint_name="kilogram/second"),
    Unit("g/s", "mass-flow", 1e-3, pint_name="gram/second"),
    Unit("mg/s", "mass-flow", 1e-6, pint_name="milligram/second"),
    Unit("kg/h", "mass-flow", 1.0 / 3600.0, pint_name="kilogram/hour"),
    Unit("g/min", "mass-flow", 1e-3 / 60.0, pint_name="gram/minute"),
    Unit("lb/min", "mass-flow", 0.45359237 / 60.0, pint_name="pound/minute"),
    Unit("%", "ratio", 1.0, pint_name="percent"),
    Unit("ratio", "ratio", 100.0, pint_name="dimensionless"),
)

OTHER_SPELLINGS = {
    "Pa": ("pascal", "pascals"),
    "kPa": ("kilopascal", "kilopascals"),
    "mbar": ("millibar", "mb", "mBar"),
    "bar": ("bars",),
    "psi": ("lbf/in2", "lb/in2", "lbs/in2", "PSI", "psid"),
    "inHg": ("in Hg", "in. Hg", "inchHg", "inches Hg", '"Hg', "in_Hg", "in-Hg", "inHg_conv"),
    "mmHg": ("mm Hg", "mm_Hg"),
    "inH2O": ("in H2O", "in. H2O", "inches H2O", "inWC", "inW.C.", "in WC", '"H2O', "inH20"),
    "mmH2O": ("mm H2O", "mmWC"),
    "cmH2O": ("cm H2O", "cmWC"),
    "torr": ("Torr",),
    "kgf/cm2": ("kgf/cm^2", "kp/cm2", "kg/cm2", "kg/cm^2", "at"),
    "rpm": ("1/min", "/min", "min-1", "min^-1", "r/min", "rev/min", "revs/min", "U/min", "RPM"),
    "rev/s": ("rps", "r/s", "revs/s"),
    "rad/s": ("radian/s",),
    "degC": ("°C", "deg C", "deg_C", "C", "celsius", "degrees C", "degree_Celsius", "deg. C"),
    "degF": ("°F", "deg F", "deg_F", "F", "fahrenheit", "degrees F", "deg. F"),
    "K": ("kelvin", "°K", "degK"),
    "V": ("volt", "volts", "Volts", "VDC"),
    "mV": ("millivolt", "millivolts"),
    "uV": ("µV",),
    "A": ("amp", "amps", "ampere", "amperes"),
    "mA": ("milliamp", "milliamps"),
    "uA": ("µA",),
    "ohm": ("ohms", "Ω"),
    "kohm": ("kΩ",),
    "s": ("sec", "secs", "second", "seconds"),
    "ms": ("msec", "millisecond", "milliseconds"),
    "us": ("µs", "usec", "microsecond", "microseconds"),
    "min": ("minute", "minutes", "mins"),
    "h": ("hr", "hrs", "hour", "hours"),
    "d": ("day", "days"),
    "Hz": ("hertz", "1/s", "S/s", "Sa/s"),
    "kHz": ("kS/s", "kSa/s"),
    "MHz": ("MS/s", "MSa/s"),
    "m": ("metre", "metres", "meter", "meters"),
    "um": ("µm",),
    "km": ("kilometre", "kilometres", "kilometer", "kilometers"),
    "in": ("inch", "inches"),
    "ft": ("foot", "feet"),
    "mi": ("mile", "miles"),
    "L": ("l", "litre", "litres", "liter", "liters"),
    "mL": ("ml",),
    "cm3": ("cc", "ccm", "cm^3"),
    "m3": ("m^3",),
    "in3": ("cu in", "in^3", "cui"),
    "g/s": ("gm/s", "g/sec", "gps", "grams/sec"),
    "kg/h": ("kg/hr",),
    "lb/min": ("lbs/min", "lb/m"),
    "%": ("percent", "pct", "per cent"),
}
"""Unit -> the other ways it is found written, in job files and in recordings' headers."""

STATED_REFERENCE = {
    "psig": ("psi", "atmosphere"),
    "psi g": ("psi", "atmosphere"),
    "psi(g)": ("psi", "atmosphere"),
    "barg": ("bar", "atmosphere"),
    "bar(g)": ("bar", "atmosphere"),
    "kPag": ("kPa", "atmosphere"),
    "kPa(g)": ("kPa", "atmosphere"),
    "psia": ("psi", "vacuum"),
    "psi a": ("psi", "vacuum"),
    "psi(a)": ("psi", "vacuum"),
    "bara": ("bar", "vacuum"),
    "bar(a)": ("bar", "vacuum"),
    "kPaa": ("kPa", "vacuum"),
    "kPa(a)": ("kPa", "vacuum"),
    "kPa abs": ("kPa", "vacuum"),
    "mbar abs": ("mbar", "vacuum"),
    "inHgA": ("inHg", "vacuum"),
}
"""Spelling that also says what the pressure is measured against -> (unit, reference)."""
