"""The fast reader: a regular delimited text through polars, needed columns only."""

from __future__ import annotations

import os
from collections.abc import Collection
from pathlib import Path
from typing import Any

import numpy as np

from gaugewright.recording.layout import Layout
from gaugewright.recording.tables import NotSimpleError, Table
from gaugewright.recording.types import Floats

SWITCH = "GAUGEWRIGHT_CSV"


def read(
    path: Path, layout: Layout, numeric: Collection[int], textual: Collection[int], cut: bool
) -> Table:
    """Read columns of a regular text: `numeric` as float64, `textual` as they stand.

    `cut`: the last line is incomplete and left out.  Raises NotSimpleError where the file, this
    machine or the user (environment GAUGEWRIGHT_CSV=numpy) wants the careful reader.
    """
    _refuse_awkward(layout)
    try:
        import polars as pl
    except ImportError as error:
        raise NotSimpleError("polars cannot be loaded") from error
    try:
        frame = _scan(pl, path, layout, numeric, textual)
    except pl.exceptions.PolarsError as error:
        raise NotSimpleError(str(error)) from error
    rows = frame.height - cut
    numbers: dict[int, Floats] = {}
    infinite: dict[int, int] = {}
    for index in numeric:
        numbers[index], infinite[index] = _finite(frame.drop_in_place(str(index)).to_numpy()[:rows])
    texts = {i: frame[str(i)].fill_null("").to_list()[:rows] for i in textual}
    return Table(rows, numbers, texts, {}, {i: n for i, n in infinite.items() if n})


def _refuse_awkward(layout: Layout) -> None:
    if os.environ.get(SWITCH, "").casefold() == "numpy":
        raise NotSimpleError("switched off")
    if layout.encoding not in ("utf-8", "utf-8-sig", "latin-1"):
        raise NotSimpleError(layout.encoding)
    split = layout.split
    if split.delimiter == " " or len(split.delimiter) != 1 or split.quoted:
        raise NotSimpleError("blanks or quotes")
    if split.decimal == split.delimiter:
        raise NotSimpleError("decimal mark parts columns")


def _scan(
    pl: Any, path: Path, layout: Layout, numeric: Collection[int], textual: Collection[int]
) -> Any:
    wanted = sorted({*numeric, *textual})
    schema = {str(i): pl.Float64 if i in numeric else pl.String for i in range(layout.width)}
    scan = pl.scan_csv(
        path,
        has_header=False,
        skip_lines=layout.first_row - 1,
        separator=layout.split.delimiter,
        quote_char=None,
        eol_char=layout.newline,
        decimal_comma=layout.split.decimal == ",",
        encoding="utf8-lossy" if textual else "utf8",
        schema=schema,
    )
    return scan.select([str(i) for i in wanted]).collect(engine="streaming")


def _finite(values: Floats) -> tuple[Floats, int]:
    """Values with infinities made NaN, and how many; one cheap sum tells whether any is there."""
    with np.errstate(invalid="ignore", over="ignore"):
        total = float(values.sum())
    if np.isfinite(total):
        return values, 0
    infinite = np.isinf(values)
    count = int(infinite.sum())
    return (np.where(infinite, np.nan, values), count) if count else (values, 0)
