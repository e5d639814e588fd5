"""Random tables in random dialects come back as they were written, by both readers."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugewright.errors import InputError
from gaugewright.job.model import RecordingEntry
from gaugewright.quantities.physical import Physical
from gaugewright.recording.reading import read

MARKS = st.sampled_from(
    [
        (",", "."),
        (";", "."),
        (";", ","),
        ("\t", "."),
        ("\t", ","),
        (" ", "."),
        (", ", "."),
        ("|", "."),
    ]
)
FORMS = st.sampled_from(["{:.3f}", "{:.6e}", "{!r}", "{:g}"])
NUMBER = st.floats(-1e6, 1e6, allow_nan=False).map(lambda x: round(x, 6))


@st.composite
def tables(draw: Any) -> dict[str, Any]:
    columns = draw(st.integers(1, 5))
    rows = draw(st.integers(4, 30))
    return {
        "values": [draw(st.lists(NUMBER, min_size=rows, max_size=rows)) for _ in range(columns)],
        "marks": draw(MARKS),
        "form": draw(FORMS),
        "end": draw(st.sampled_from(["\n", "\r\n", "\r"])),
        "last": draw(st.booleans()),
        "trail": draw(st.booleans()),
        "encoding": draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"])),
        "preamble": draw(st.integers(0, 5)),
        "units": draw(st.booleans()),
        "holes": draw(st.sampled_from([None, "", "NaN"])),
    }


def written(table: dict[str, Any]) -> tuple[bytes, np.ndarray]:
    delimiter, decimal = table["marks"]
    trail = delimiter.strip(" ") if table["trail"] else ""
    names = ["t"] + [f"lane{n}" for n in range(len(table["values"]))]
    lines = [f"remark {n} on this öil run" for n in range(table["preamble"])]
    lines.append(delimiter.join(names) + trail)
    if table["units"]:
        lines.append(delimiter.join(["s"] + ["°C"] * (len(names) - 1)) + trail)
    expected = np.array(table["values"], dtype=float)
    for row in range(expected.shape[1]):
        cells = [f"{row / 8:.3f}".replace(".", decimal)]
        for lane in range(expected.shape[0]):
            text = table["form"].format(float(expected[lane, row]))
            expected[lane, row] = float(text)
            hole = table["holes"] if (row + lane) % 5 == 3 else None
            if hole is not None and (delimiter != " " or hole):
                text, expected[lane, row] = hole, np.nan
            cells.append(text.replace(".", decimal))
        lines.append(delimiter.join(cells) + trail)
    text = table["end"].join(lines) + (table["end"] if table["last"] else "")
    return text.encode(table["encoding"]), expected


@pytest.mark.parametrize("switch", ["", "numpy"])
@settings(max_examples=150, deadline=None)
@given(table=tables())
def test_tables_come_back_exactly(switch: str, table: dict[str, Any]) -> None:
    raw, expected = written(table)
    names = [f"lane{n}" for n in range(len(expected))]
    signals = [{"column": n, "quantity": "ignition"} for n in names]
    keys: dict[str, Any] = {"signal": signals, "time": "t"}
    with (
        tempfile.TemporaryDirectory() as place,
        mock.patch.dict(os.environ, {"GAUGEWRIGHT_CSV": switch}),
    ):
        (Path(place) / "run.csv").write_bytes(raw)
        recorded = read(RecordingEntry(name="run", file="run.csv", **keys), Path(place))
    for name, values in zip(names, expected, strict=True):
        np.testing.assert_array_equal(recorded.columns[name].values, values)
        np.testing.assert_allclose(recorded.columns[name].time_s, np.arange(values.size) / 8)


@settings(max_examples=300, deadline=None)
@given(raw=st.one_of(st.binary(max_size=400), st.text('0123456789.,;-\n\t eE:abT"#', max_size=400)))
def test_any_bytes_are_read_or_refused(raw: bytes | str) -> None:
    with tempfile.TemporaryDirectory() as place:
        (Path(place) / "run.csv").write_bytes(raw if isinstance(raw, bytes) else raw.encode())
        for keys in ({"rate": Physical("1 kHz", 1000.0)}, {"time": "1"}, {}):
            try:
                recorded = read(RecordingEntry(name="run", file="run.csv", **keys), Path(place))
            except InputError:
                continue
            for column in recorded.columns.values():
                assert column.time_s.shape == column.values.shape
                assert np.all(np.diff(column.time_s) > 0)


def test_rows_that_grow_shorter_than_the_first_ones(tmp_path: Path) -> None:
    """More rows than the first ones promise: the memory taken at first is not enough."""
    rows = [f"{n / 100:.12f},{n / 7:.15f}" for n in range(2000)]
    rows += [f"{n / 100:g},{n % 7}" for n in range(2000, 60_000)]
    (tmp_path / "run.csv").write_text("t,p\n" + "\n".join(rows) + "\n")
    recorded = read(RecordingEntry(name="run", file="run.csv", time="t"), tmp_path)
    values = recorded.columns["p"].values
    assert recorded.rows == values.size == 60_000
    np.testing.assert_allclose(values[:2000], np.arange(2000) / 7)
    np.testing.assert_array_equal(values[2000:], np.arange(2000, 60_000) % 7)
