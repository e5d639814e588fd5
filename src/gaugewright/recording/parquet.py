"""A Parquet file to needed columns."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from gaugewright.errors import InputError, Problem
from gaugewright.recording.header import head_of
from gaugewright.recording.layout import Layout, Split
from gaugewright.recording.tables import Table
from gaugewright.recording.types import Floats

MAGIC = b"PAR1"


def layout(path: Path, file: str) -> tuple[Layout, dict[int, str]]:
    """The columns of a Parquet file as a layout, and each one's kind (number, stamp, text)."""
    pl = _polars(file)
    try:
        schema = pl.read_parquet_schema(path)
    except (pl.exceptions.PolarsError, ValueError) as error:
        raise InputError(_broken(file, error)) from error
    kinds = {i: _kind(dtype) for i, dtype in enumerate(schema.values())}
    heads = tuple(head_of(name) for name in schema)
    return Layout("", "", Split(",", "."), len(heads), 1, None, None, heads), kinds


def read(path: Path, names: Sequence[str], kinds: dict[int, str], file: str) -> Table:
    """Read the columns whose indices are the keys of `kinds`; a text column is refused."""
    pl = _polars(file)
    texts = [names[i] for i, kind in kinds.items() if kind == "text"]
    if texts:
        problems = [
            Problem(file, f"column '{name}'", "texts where numbers belong", "store it as numbers")
            for name in texts
        ]
        raise InputError(problems)
    try:
        frame = pl.read_parquet(path, columns=[names[i] for i in kinds])
    except (pl.exceptions.PolarsError, ValueError) as error:
        raise InputError(_broken(file, error)) from error
    numbers = {i: _floats(pl, frame[names[i]]) for i, k in kinds.items() if k == "number"}
    stamps = {i: _nanoseconds(pl, frame[names[i]]) for i, k in kinds.items() if k == "stamp"}
    infinite = {i: int(np.isinf(v).sum()) for i, v in numbers.items()}
    infinite = {i: count for i, count in infinite.items() if count}
    numbers.update({i: np.where(np.isinf(numbers[i]), np.nan, numbers[i]) for i in infinite})
    return Table(frame.height, numbers, {}, {}, infinite, (), stamps)


def _polars(file: str) -> Any:
    try:
        import polars as pl
    except ImportError as error:
        raise InputError(
            Problem(file, "", "Parquet needs the library polars", "export the recording as CSV")
        ) from error
    return pl


def _broken(file: str, error: Exception) -> Problem:
    first = str(error).splitlines()[0].rstrip(".") if str(error) else "no reason given"
    return Problem(file, "", f"this Parquet file cannot be read ({first})", "export it again")


def _kind(dtype: Any) -> str:
    if dtype.is_numeric() or str(dtype) == "Boolean":
        return "number"
    return "stamp" if dtype.is_temporal() else "text"


def _floats(pl: Any, series: Any) -> Floats:
    return np.asarray(series.cast(pl.Float64).to_numpy(), dtype=np.float64)


def _nanoseconds(pl: Any, series: Any) -> tuple[npt.NDArray[np.int64], list[int], bool]:
    of_day = str(series.dtype).startswith(("Time", "Duration"))
    text = str(series.dtype)
    if text == "Date":
        series = series.cast(pl.Datetime("ns"))
    elif text.startswith(("Datetime", "Duration")):
        series = series.dt.cast_time_unit("ns")
    bad = series.is_null().arg_true().to_list()
    return series.cast(pl.Int64).fill_null(0).to_numpy(), bad, of_day
