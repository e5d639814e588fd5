"""What cannot be understood is refused with one sentence: place, what was found, what would do."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from gaugewright.errors import InputError
from gaugewright.job.model import RecordingEntry
from gaugewright.recording import source
from gaugewright.recording.reading import read

Refusal = Callable[..., str]
Making = Callable[..., RecordingEntry]
ROWS = "t,oil_v\n0.0,1.5\n0.1,1.6\n0.2,1.7\n0.3,1.8\n"


def test_empty_file(refusal: Refusal) -> None:
    assert refusal("", "oil_v") == "run.csv: the file is empty; export the recording again."


def test_only_blank_lines(refusal: Refusal) -> None:
    assert "no row of numbers" in refusal("\n\n\n", "oil_v", time="t")


def test_header_only(refusal: Refusal) -> None:
    assert refusal("t,oil_v\n", "oil_v", time="t") == (
        "run.csv, line 1: 1 line of text and no row of numbers; "
        "export the recording with its samples."
    )
    assert refusal("t,oil_v\ns,V\n", "oil_v", time="t").startswith(
        "run.csv, line 2: 2 lines of text and no row of numbers;"
    )


def test_binary_file(refusal: Refusal) -> None:
    noise = np.random.default_rng(1).bytes(5000)
    assert refusal(b"\x89\x01" + noise, "oil_v", time="t") == (
        "run.csv: this is a binary file, not a table of text; export it as CSV or Parquet."
    )


def test_spreadsheet_and_packed_files(refusal: Refusal) -> None:
    assert "a zip or spreadsheet file; export the sheet as CSV." in refusal(
        b"PK\x03\x04" + b"a" * 99
    )
    assert "a gzip file; unpack it first." in refusal(b"\x1f\x8b\x08" + b"a" * 99)


def test_broken_parquet(refusal: Refusal) -> None:
    text = refusal(b"PAR1" + b"\x00" * 40, "oil_v", time="t", file="run.parquet")
    assert text.startswith("run.parquet: this Parquet file cannot be read (")


def test_missing_columns_are_listed_all_at_once(refusal: Refusal) -> None:
    text = refusal(ROWS, "oil", "map", time="clock")
    assert text.splitlines() == [
        "run.csv, time, column 'clock': no such column; the columns are 't', 'oil_v'.",
        "run.csv, signal 1 of recording 'run', column 'oil': no such column; "
        "the columns are 't', 'oil_v'.",
        "run.csv, signal 2 of recording 'run', column 'map': no such column; "
        "the columns are 't', 'oil_v'.",
    ]


def test_words_among_the_numbers(refusal: Refusal) -> None:
    rows = ROWS + "0.4,high\n0.5,1.9\n0.6,low\n0.7,1.0\n"
    assert refusal(rows, "oil_v", time="t") == (
        "run.csv, line 6, column 'oil_v': 'high' where a number belongs (and at 1 more lines); "
        "mend the line, or write 'high' to the list missing under [recording.text]."
    )


def test_a_needed_column_of_words(refusal: Refusal) -> None:
    rows = "t,state,oil_v\n" + "".join(f"{n / 10},idle,1.5\n" for n in range(5))
    assert refusal(rows, "state", time="t").startswith(
        "run.csv, line 2, column 'state': 'idle' where a number belongs (and at 4 more lines);"
    )


def test_thousands_marks(refusal: Refusal) -> None:
    text = "t;p\n0,0;1.234,5\n0,1;1.235,5\n0,2;1.236,5\n"
    assert refusal(text, "p", time="t") == (
        "run.csv, line 2, column 'p': '1.234,5' is written with thousands marks, which could as "
        "well be decimals (and at 2 more lines); export the numbers without thousands marks."
    )


def test_two_units_glued_on(refusal: Refusal) -> None:
    rows = "t,p\n0.0,12.5V\n0.1,12.6V\n0.2,900mV\n0.3,12.4V\n"
    assert refusal(rows, "p", time="t") == (
        "run.csv, column 'p': numbers with different units glued on (V, mV); "
        "export the column in one unit."
    )


def test_time_that_stands_still(refusal: Refusal) -> None:
    rows = "t,p\n" + "5.0,1.5\n" * 6
    assert refusal(rows, "p", time="t") == (
        "run.csv, column 't': time stays at the same stamp from the first row to the last; "
        "name the column that is the clock."
    )


def test_time_that_runs_backward(refusal: Refusal) -> None:
    rows = "t,p\n" + "".join(f"{9 - n},1.5\n" for n in range(9))
    assert "time runs backward from the first row to the last" in refusal(rows, "p", time="t")


def test_a_signal_named_as_the_clock(refusal: Refusal) -> None:
    noise = np.random.default_rng(2).normal(5, 1, 200)
    rows = "t,p\n" + "".join(f"{n / 10:.1f},{p:.3f}\n" for n, p in enumerate(noise))
    assert "which is no clock" in refusal(rows, "t", time="p")


def test_all_missing_signal(refusal: Refusal) -> None:
    rows = "t,p,q\n" + "".join(f"{n / 10},NaN,1.5\n" for n in range(9))
    assert refusal(rows, "p", "q", time="t") == (
        "run.csv, column 'p': not a single number in it; leave the signal out of the job."
    )


def test_two_columns_called_like_the_clock(refusal: Refusal) -> None:
    rows = "t,p,t\n" + "".join(f"{n / 10},1.5,{n}\n" for n in range(9))
    assert "two columns carry this name, and only one can be the clock" in refusal(
        rows, "p", time="t"
    )


def test_neither_time_nor_rate(refusal: Refusal) -> None:
    rows = "a,p\n" + "".join(f"{n / 10},1.5\n" for n in range(9))
    assert "neither a time column nor a rate is stated" in refusal(rows, "p")


@pytest.mark.parametrize("between", ["", "# cap off\n\n"])
def test_a_stamp_that_is_none(refusal: Refusal, between: str) -> None:
    stamps = ["10:00:00", "10:00:01", "10:00:02", "soon", "10:00:04", "10:00:05"]
    rows = [f"{stamp},1.{n}\n" for n, stamp in enumerate(stamps)]
    text = "t,p\n" + "".join(rows[:2]) + between + "".join(rows[2:])
    line = 5 + between.count("\n")
    assert refusal(text, "p", time="t") == (
        f"run.csv, line {line}, column 't': 'soon' where a stamp of time belongs; "
        "write stamps like 11:53:32.5 or 2031-03-04T11:53:32.5."
    )


def test_stated_time_unit_that_does_not_fit(refusal: Refusal) -> None:
    assert refusal(ROWS, "oil_v", time="t", time_unit="iso").startswith(
        "run.csv, line 2, column 't': '0.0' where a stamp of time belongs"
    )
    stamped = "t,p\n" + "".join(f"10:00:0{n},1.{n}\n" for n in range(6))
    assert 'time_unit = "ms" is stated, but the column holds stamps' in refusal(
        stamped, "p", time="t", time_unit="ms"
    )


@pytest.mark.parametrize(
    ("overrule", "sentence"),
    [
        ({"delimiter": ";", "decimal": ","}, "no row of numbers is found with columns parted by"),
        ({"encoding": "utf-99"}, "'utf-99' is no encoding we know"),
        ({"first_row": 90}, "line 90 is not among the first 5 lines"),
        ({"header_row": 4, "first_row": 2}, "line 4 is not above the first row of numbers"),
    ],
)
def test_overrules_that_do_not_fit(
    refusal: Refusal, overrule: dict[str, object], sentence: str
) -> None:
    assert sentence in refusal(ROWS, "oil_v", time="t", text=overrule)


def test_parquet_column_of_words(tmp_path: Path, making: Making) -> None:
    pl.DataFrame({"t": [0.0, 0.1], "p": ["a", "b"]}).write_parquet(tmp_path / "run.parquet")
    with pytest.raises(InputError, match="column 'p': texts where numbers belong"):
        read(making("run.parquet", "p", time="t"), tmp_path)


def test_file_missing_and_folder_named(tmp_path: Path, making: Making) -> None:
    with pytest.raises(InputError, match=r"gone\.csv: no such file; put it there"):
        read(making("gone.csv", "p", time="t"), tmp_path)
    (tmp_path / "sub").mkdir()
    with pytest.raises(InputError, match="sub: a folder, not a file"):
        read(making("sub", "p", time="t"), tmp_path)


def test_file_removed_while_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, making: Making
) -> None:
    path = tmp_path / "run.csv"
    path.write_text(ROWS)
    found = source.ends

    def removed(path: Path, *rest: int) -> source.Ends:
        ends = found(path, *rest)
        path.unlink()
        return ends

    monkeypatch.setattr(source, "ends", removed)
    with pytest.raises(InputError, match=r"run\.csv: the file was removed while it was read"):
        read(making("run.csv", "oil_v", time="t"), tmp_path)


def test_file_changed_while_reading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, making: Making
) -> None:
    path = tmp_path / "run.csv"
    path.write_text(ROWS)
    found = source.ends

    def grown(path: Path, *rest: int) -> source.Ends:
        ends = found(path, *rest)
        with path.open("a") as file:
            file.write("0.4,1.9\n")
        return ends

    monkeypatch.setattr(source, "ends", grown)
    with pytest.raises(InputError, match="the file changed while it was read"):
        read(making("run.csv", "oil_v", time="t"), tmp_path)


def test_a_remark_among_stamps_with_empty_cells_is_no_stamp(refusal: Refusal) -> None:
    rows = "t,p\n10:00:00,1.5\n10:00:01,1.6\n# cap off\n10:00:02,1.5\n10:00:03,1.7\nlate,1.5\n"
    assert refusal(rows, "p", time="t").startswith("run.csv, line 7, column 't': 'late'")
