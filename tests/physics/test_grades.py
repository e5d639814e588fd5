"""SAE J300 (2015 table, limits unchanged in J300_202405; read in secondary tables)."""

import pytest

from gaugewright.physics import grades
from gaugewright.physics.grades import GRADES, WINTERS, find_grade, grades_at, high_shear_min

TABLE = {
    "8": (4.0, 6.1, 1.7),
    "12": (5.0, 7.1, 2.0),
    "16": (6.1, 8.2, 2.3),
    "20": (6.9, 9.3, 2.6),
    "30": (9.3, 12.5, 2.9),
    "40": (12.5, 16.3, 3.7),
    "50": (16.3, 21.9, 3.7),
    "60": (21.9, 26.1, 3.7),
}
WINTER_TABLE = {
    "0W": (3.8, 6200, -35, 60000, -40),
    "5W": (3.8, 6600, -30, 60000, -35),
    "10W": (4.1, 7000, -25, 60000, -30),
    "15W": (5.6, 7000, -20, 60000, -25),
    "20W": (5.6, 9500, -15, 60000, -20),
    "25W": (9.3, 13000, -10, 60000, -15),
}


def test_the_table():
    rows = {g.name: (g.kv100_min, g.kv100_max, g.high_shear_min) for g in GRADES.values()}
    assert rows == TABLE


def test_the_winter_table():
    rows = {
        w.name: (w.kv100_min, w.cranking_max, w.cranking_degc, w.pumping_max, w.pumping_degc)
        for w in WINTERS.values()
    }
    assert rows == WINTER_TABLE


@pytest.mark.parametrize(
    ("kv100", "names"),
    [
        (9.3, ("30",)),
        (9.2999, ("20",)),
        (8.19, ("16", "20")),
        (8.2, ("20",)),
        (6.9, ("12", "16", "20")),
        (6.1, ("12", "16")),
        (6.0, ("8", "12")),
        (12.5, ("40",)),
        (26.1, ()),
        (3.9, ()),
    ],
)
def test_edges(kv100, names):
    """Bands overlap below 20; the upper end is exclusive, so 9.3 is a 30 and not a 20."""
    assert grades_at(kv100) == names


@pytest.mark.parametrize(
    ("grade", "least"), [("5W-40", 3.5), ("15W-40", 3.7), ("40", 3.7), ("5W-30", 2.9), ("5W", None)]
)
def test_high_shear(grade, least):
    assert high_shear_min(grade) == least


@pytest.mark.parametrize("text", ["5W-30", "5w-30", "SAE 5W-30", "5W30", "5W/30", "5 W 30"])
def test_spellings(text):
    winter, hot = find_grade(text)
    assert (winter.name, hot.name) == ("5W", "30")


@pytest.mark.parametrize("text", ["", "W", "7W-30", "5W-35", "thick", "530", "5-30", "30W"])
def test_no_grade(text):
    with pytest.raises(ValueError, match="is no grade of SAE J300"):
        find_grade(text)


def test_an_inclusive_upper_end_is_caught(monkeypatch):
    """A table whose 20 reached past 9.3, as the one of 1999 did below, would fail the edges."""
    wide = grades.Grade("20", 5.6, 9.31, 2.6)
    monkeypatch.setitem(grades.GRADES, "20", wide)
    assert grades_at(9.3) != ("30",)
