"""Every dialect of delimited text met in real files, each written here and read back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from gaugewright.recording.types import Recorded

Reader = Callable[..., Recorded]

TIME = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5]
OIL = [1.25, 1.5, 1.375, 1.25, -1.5, 1.75]
SPEED = [820.0, 821.0, 819.0, 820.5, 822.0, 818.0]


@pytest.fixture(params=["fast", "careful"], autouse=True)
def path_taken(request: Any, monkeypatch: pytest.MonkeyPatch) -> str:
    """Every dialect is read both ways: as it comes, and by the careful reader alone."""
    if request.param == "careful":
        monkeypatch.setenv("GAUGEWRIGHT_CSV", "numpy")
    return str(request.param)


def table(
    delimiter: str = ",",
    decimal: str = ".",
    header: str | None = "t,oil_v,rpm",
    end: str = "\n",
    trail: str = "",
) -> str:
    lines = [header.replace(",", delimiter) + trail] if header is not None else []
    lines += [
        delimiter.join(f"{x:g}".replace(".", decimal) for x in row) + trail
        for row in zip(TIME, OIL, SPEED, strict=True)
    ]
    return end.join(lines) + end


def expect(recorded: Recorded, oil: str = "oil_v", speed: str = "rpm") -> None:
    column = recorded.columns[oil]
    assert_allclose(column.time_s, TIME, rtol=0, atol=1e-12)
    assert_array_equal(column.values, OIL)
    assert_array_equal(recorded.columns[speed].values, SPEED)
    assert recorded.rows == len(TIME)


@pytest.mark.parametrize(
    ("delimiter", "decimal", "words"),
    [
        (",", ".", "parted by commas, decimals by a point"),
        (";", ".", "parted by semicolons, decimals by a point"),
        (";", ",", "parted by semicolons, decimals by a comma"),
        ("\t", ".", "parted by tabs, decimals by a point"),
        ("\t", ",", "parted by tabs, decimals by a comma"),
        (" ", ".", "parted by blanks, decimals by a point"),
        (" ", ",", "parted by blanks, decimals by a comma"),
        ("   ", ".", "parted by blanks, decimals by a point"),
        (", ", ".", "parted by commas, decimals by a point"),
        (" ; ", ",", "parted by semicolons, decimals by a comma"),
        ("|", ".", "parted by upright strokes, decimals by a point"),
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiters_decimals_line_ends(
    reading: Reader, delimiter: str, decimal: str, words: str, end: str
) -> None:
    recorded = reading(table(delimiter, decimal, end=end), "oil_v", "rpm", time="t")
    expect(recorded)
    assert any(words in guess for guess in recorded.guesses)
    assert recorded.rate_hz == pytest.approx(10)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_encodings(reading: Reader, encoding: str) -> None:
    text = table(header="t,oil_v,öl [°C]")
    if encoding in ("utf-16-le", "utf-16-be"):
        text = "\ufeff" + text
    recorded = reading(text, "oil_v", "öl [°C]", time="t", encoding=encoding)
    expect(recorded, speed="öl [°C]")
    assert recorded.columns["öl [°C]"].unit == "°C"


@pytest.mark.parametrize(
    "degree", [b"\xb0", b"\xc2\xb0", b"\xc3\x82\xc2\xb0", b"\xef\xbf\xbd", b"?"]
)
def test_a_damaged_degree_sign_is_mended(reading: Reader, degree: bytes) -> None:
    raw = table(header="t,oil_v,coolant [@C]").encode().replace(b"@", degree)
    expect(reading(raw, "oil_v", "coolant [°C]", time="t"), speed="coolant [°C]")
    expect(reading(raw, "oil_v", "coolant", time="t"), speed="coolant")


def test_preamble_of_many_free_lines(reading: Reader) -> None:
    preamble = "".join(
        f"Remark {n}: a free text, with commas; and 3.5 numbers\n" for n in range(60)
    )
    preamble += "Start: 04.03.2031\n\nOperator\n\n"
    recorded = reading(preamble + table(";", ","), "oil_v", "rpm", time="t")
    expect(recorded)
    assert "the columns are named in line 65" in recorded.guesses
    assert "the numbers begin in line 66" in recorded.guesses


def test_units_row_and_units_in_cells(reading: Reader) -> None:
    below = table().replace("t,oil_v,rpm\n", "t,oil_v,rpm\ns,V,rpm\n")
    recorded = reading(below, "oil_v", "rpm", time="t")
    expect(recorded)
    assert recorded.columns["oil_v"].unit == "V"
    assert "their units stand in line 2" in recorded.guesses
    inside = table(header="Time [s],Oil (V),Speed [rpm]")
    recorded = reading(inside, "Oil", "Speed [rpm]", time="time")
    expect(recorded, "Oil", "Speed [rpm]")
    assert recorded.columns["Oil"].unit == "V"
    assert recorded.columns["Oil"].name == "Oil"
    assert recorded.columns["Speed [rpm]"].unit == "rpm"


def test_several_header_rows_of_which_most_are_not_names(reading: Reader) -> None:
    head = "1,2,3\nbench one,bench one,bench two\nt,oil_v,rpm\ns,V,rpm\nfloat,float,float\n"
    head += "10 Hz,10 Hz,10 Hz\n"
    recorded = reading(table(header=None).join([head, ""]), "oil_v", "rpm", time="t")
    expect(recorded)
    assert recorded.columns["oil_v"].unit == "V"
    assert "the columns are named in line 3" in recorded.guesses
    assert any("line 6 is taken as numbers, rates" in guess for guess in recorded.guesses)


def test_header_repeated_in_mid_file(reading: Reader) -> None:
    lines = table().splitlines()
    text = "\n".join([*lines[:4], lines[0], *lines[4:]]) + "\n"
    recorded = reading(text, "oil_v", "rpm", time="t")
    expect(recorded)
    assert [(n.code, n.count) for n in recorded.notes] == [("header-repeated", 1)]


@pytest.mark.parametrize("at", [2, 3, 4, 6])
def test_a_header_repeated_among_the_first_rows_loses_none(reading: Reader, at: int) -> None:
    lines = table().splitlines()
    text = "\n".join([*lines[:at], lines[0], *lines[at:]]) + "\n"
    expect(reading(text, "oil_v", "rpm", time="t"))


def test_duplicate_names(reading: Reader) -> None:
    recorded = reading(table(header="t,oil_v,oil_v"), "oil_v", "oil_v (2)", time="t")
    expect(recorded, "oil_v", "oil_v (2)")
    assert [n.code for n in recorded.notes] == ["names-repeated"]
    assert "'oil_v'" in recorded.notes[0].text


def test_no_header(reading: Reader) -> None:
    recorded = reading(table(header=None), "2", "3", time="1")
    expect(recorded, "2", "3")
    assert any("no line names the columns" in guess for guess in recorded.guesses)


def test_cycles_as_columns_of_a_headerless_matrix(reading: Reader) -> None:
    matrix = np.round(np.random.default_rng(5).normal(5, 1, (720, 40)), 3)
    text = "\n".join(" ".join(f"{x:.3f}" for x in row) for row in matrix)
    recorded = reading(text, "1", "17", "40", rate_hz=1000)
    for name, index in (("1", 0), ("17", 16), ("40", 39)):
        assert_array_equal(recorded.columns[name].values, matrix[:, index])
    assert recorded.columns["17"].time_s[-1] == pytest.approx(0.719)
    assert recorded.rate_hz == 1000


def test_a_line_that_numbers_the_columns(reading: Reader) -> None:
    recorded = reading("1,2,3\n" + table(header=None), "2", "3", time="1")
    expect(recorded, "2", "3")


def test_trailing_delimiter(reading: Reader) -> None:
    recorded = reading(table(";", ",", trail=";"), "oil_v", "rpm", time="t")
    expect(recorded)
    assert "each line ends with one delimiter too many" in recorded.guesses
    headless = "\n".join(["t;oil_v;rpm", *table(";", ",", None, trail=";").splitlines()])
    expect(reading(headless, "oil_v", "rpm", time="t"))


@pytest.mark.parametrize("ending", ["", "\n", "\n\n\n", "\r\n", "\n   \n"])
def test_ends_of_file(reading: Reader, ending: str) -> None:
    recorded = reading(table().rstrip("\n") + ending, "oil_v", "rpm", time="t")
    expect(recorded)
    assert not recorded.notes


@pytest.mark.parametrize("rest", ["0.6", "0.6,1.", "0.6,1.25", "0.6,", "0.6,\n", "0"])
def test_last_row_cut_in_the_middle(reading: Reader, rest: str) -> None:
    recorded = reading(table() + rest, "oil_v", "rpm", time="t")
    expect(recorded)
    assert [(n.code, n.count) for n in recorded.notes] == [("last-row-cut", 1)]


def test_last_number_cut_in_the_middle(reading: Reader) -> None:
    text = "t,p\n" + "".join(f"{t:.1f},{p:.3f}\n" for t, p in zip(TIME, OIL, strict=True))
    recorded = reading(text + "0.6,12.", "p", time="t")
    assert_array_equal(recorded.columns["p"].values, OIL)
    assert [n.code for n in recorded.notes] == ["last-row-cut"]
    whole = reading(text + "0.6,12.500", "p", time="t")
    assert whole.columns["p"].values[-1] == 12.5


@pytest.mark.parametrize("word", ["NaN", "nan", "", "N/A", "-", "---", "null", "NAN"])
def test_words_for_no_value(reading: Reader, word: str) -> None:
    recorded = reading(table().replace("1.375", word), "oil_v", "rpm", time="t")
    values = recorded.columns["oil_v"].values
    assert_array_equal(np.isnan(values), [False, False, True, False, False, False])
    assert [(n.code, n.count) for n in recorded.columns["oil_v"].notes] == [("values-missing", 1)]


@pytest.mark.parametrize(("mark", "written"), [("-99", "-99"), ("-99", "-99.0"), ("OL", "OL")])
def test_marks_for_no_value_that_the_job_names(reading: Reader, mark: str, written: str) -> None:
    text = table().replace("1.375", written)
    recorded = reading(text, "oil_v", "rpm", time="t", text={"missing": [mark]})
    assert np.isnan(recorded.columns["oil_v"].values[2])
    assert np.isfinite(recorded.columns["rpm"].values).all()


def test_infinite_values_count_as_missing(reading: Reader) -> None:
    recorded = reading(table().replace("1.375", "inf"), "oil_v", "rpm", time="t")
    assert np.isnan(recorded.columns["oil_v"].values[2])
    codes = [n.code for n in recorded.columns["oil_v"].notes]
    assert codes == ["values-missing", "values-not-finite"]


def test_units_glued_to_numbers(reading: Reader) -> None:
    rows = [f"{t},{o}V,{s} rpm" for t, o, s in zip(TIME, OIL, SPEED, strict=True)]
    recorded = reading("t,oil_v,rpm\n" + "\n".join(rows) + "\n", "oil_v", "rpm", time="t")
    expect(recorded)
    assert recorded.columns["oil_v"].unit == "V"
    assert recorded.columns["rpm"].unit == "rpm"


def test_exponents_mixed_with_plain_numbers(reading: Reader) -> None:
    text = table().replace("1.375", "1.375E+00").replace("821", "8.21e2")
    expect(reading(text, "oil_v", "rpm", time="t"))


def test_quoted_cells(reading: Reader) -> None:
    rows = [
        ",".join(f'"{x:g}"'.replace(".", ",") for x in row)
        for row in zip(TIME, OIL, SPEED, strict=True)
    ]
    recorded = reading(
        "\n".join(['"t","oil_v","rpm, left"', *rows]), "oil_v", "rpm, left", time="t"
    )
    expect(recorded, speed="rpm, left")


def test_a_column_of_words_beside_the_numbers(reading: Reader) -> None:
    rows = [f"{t},idle,{o},{s}" for t, o, s in zip(TIME, OIL, SPEED, strict=True)]
    expect(reading("t,state,oil_v,rpm\n" + "\n".join(rows), "oil_v", "rpm", time="t"))


def test_remarks_and_blank_lines_between_rows(reading: Reader) -> None:
    lines = table().splitlines()
    text = "\n".join([*lines[:3], "", "# cap off", *lines[3:]])
    recorded = reading(text, "oil_v", "rpm", time="t")
    expect(recorded)
    assert [(n.code, n.count) for n in recorded.notes] == [("remarks", 1)]


def test_a_blank_line_is_no_sample_at_a_stated_rate(reading: Reader) -> None:
    text = "p\n1.5\n2.5\n\n3.5\n4.5\n"
    recorded = reading(text, "p", rate_hz=10)
    assert_array_equal(recorded.columns["p"].values, [1.5, 2.5, 3.5, 4.5])


def test_rows_with_too_many_fields_are_counted(reading: Reader) -> None:
    text = table() + "0.6,1.5,8200.7,1.5,820\n0.8,1.5,820\n"
    recorded = reading(text, "oil_v", "rpm", time="t")
    assert recorded.rows == len(TIME) + 1
    assert [(n.code, n.count) for n in recorded.notes] == [("rows-damaged", 1)]


def test_one_column_and_a_rate(reading: Reader) -> None:
    recorded = reading("oil\n1,5\n2,5\n3,25\n", "oil", rate_hz=4)
    assert_array_equal(recorded.columns["oil"].values, [1.5, 2.5, 3.25])
    assert_array_equal(recorded.columns["oil"].time_s, [0, 0.25, 0.5])
    assert "there is one column, decimals by a comma" in recorded.guesses


def test_more_names_than_columns(reading: Reader) -> None:
    recorded = reading(table(header="t,oil_v,rpm,rest"), "oil_v", "rpm", time="t")
    expect(recorded)
    assert "4 names stand above 3 columns; they are taken from the left" in recorded.guesses


def test_zero_bytes_at_the_end_of_a_file_that_was_laid_out_ahead(reading: Reader) -> None:
    recorded = reading(table().encode() + bytes(300), "oil_v", "rpm", time="t")
    expect(recorded)
    assert not recorded.notes


def test_all_numeric_columns_when_the_job_names_none(reading: Reader) -> None:
    recorded = reading(table(), time="t")
    assert list(recorded.columns) == ["oil_v", "rpm"]


def test_overrules_come_before_guesses(reading: Reader) -> None:
    head = "first,second,third\nt,oil_v,rpm\nx,y,z\nmV,V,kV\n"
    overrules = {"header_row": 1, "units_row": 4, "first_row": 6, "delimiter": ",", "decimal": "."}
    text = head + table(header=None)
    recorded = reading(text, "second", "third", time="first", text=overrules)
    assert recorded.rows == len(TIME) - 1
    assert recorded.columns["second"].unit == "V"
    assert recorded.guesses == ("time is taken to be in seconds: rows then come every 0.1 s",)


def test_own_time_column_for_each_channel(reading: Reader) -> None:
    text = "t1,oil_v,t2,rpm\n0.00,1.5,0.05,820\n0.10,1.6,0.15,821\n0.20,1.7,0.25,822\n0.30,1.8,,\n"
    signals = [
        {"column": "oil_v", "quantity": "oil-pressure", "time": "t1"},
        {"column": "rpm", "quantity": "engine-speed", "time": "t2"},
    ]
    recorded = reading(text, signal=signals)
    assert_allclose(recorded.columns["oil_v"].time_s, [0, 0.1, 0.2, 0.3])
    assert_allclose(recorded.columns["rpm"].time_s, [0.05, 0.15, 0.25])
    assert_array_equal(recorded.columns["rpm"].values, [820, 821, 822])
    assert recorded.columns["rpm"].notes == ()


def test_checksum_is_that_of_the_bytes(reading: Reader) -> None:
    # FIPS 180-4: the SHA-256 of "abc" is ba7816bf...; here of a table, by another program's rule
    import hashlib

    raw = table().encode()
    assert reading(raw, "oil_v", time="t").sha256 == hashlib.sha256(raw).hexdigest()


def test_a_mark_for_no_value_never_takes_a_time(reading: Reader) -> None:
    text = table().replace("1.375", "0")
    recorded = reading(text, "oil_v", "rpm", time="t", text={"missing": ["0"]})
    assert recorded.rows == len(TIME)
    assert_array_equal(np.isnan(recorded.columns["oil_v"].values).nonzero()[0], [2])
    assert recorded.columns["oil_v"].time_s[0] == 0
    assert not recorded.notes
