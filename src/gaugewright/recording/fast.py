"""The fast reader: a regular delimited text through polars, needed columns only."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator
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
    got = _Columns(numeric, textual, likely_rows(path, layout))
    try:
        for batch in _batches(pl, path, layout, [*numeric, *textual], numeric):
            got.take(batch)
    except pl.exceptions.PolarsError as error:
        raise NotSimpleError(str(error)) from error
    return got.table(cut)


def likely_rows(path: Path, layout: Layout) -> int:
    """About how many rows the file holds, a tenth more, from its first rows' mean length."""
    lengths = [sum(map(len, row)) + len(row) for row in layout.sample]
    mean = sum(lengths) / max(len(lengths), 1)
    return int(1.1 * path.stat().st_size / max(mean, 1.0)) + 1000


class _Columns:
    """Columns that grow batch by batch in memory taken once, so that no batch is kept."""

    def __init__(self, numeric: Collection[int], textual: Collection[int], rows: int) -> None:
        self.rows = 0
        self.numbers = {i: np.empty(rows) for i in numeric}
        self.infinite = dict.fromkeys(numeric, 0)
        self.texts: dict[int, list[str]] = {i: [] for i in textual}

    def take(self, batch: Any) -> None:
        """Copy one batch in; a row without anything in it wants the careful reader."""
        end = self.rows + batch.height
        empty = True
        for index, column in self.numbers.items():
            if end > column.size:
                column = np.concatenate([column[: self.rows], np.empty(end)])
                self.numbers[index] = column
            part = column[self.rows : end]
            part[:] = batch[str(index)].to_numpy()
            self.infinite[index] += _without_infinite(part)
            empty = empty and bool(np.isnan(part.sum()))
        for index, texts in self.texts.items():
            new = batch[str(index)].fill_null("").to_list()
            empty = empty and not all(new)
            if not all(text[:1].isdigit() for text in new if text):
                raise NotSimpleError("words among the stamps")
            texts.extend(new)
        if empty and self._hollow(self.rows, end):
            raise NotSimpleError("rows without anything in them")
        self.rows = end

    def _hollow(self, start: int, end: int) -> bool:
        hollow = np.ones(end - start, dtype=bool)
        for column in self.numbers.values():
            hollow &= np.isnan(column[start:end])
        for texts in self.texts.values():
            hollow &= np.array([not text for text in texts[start:end]], dtype=bool)
        return bool(hollow.any())

    def table(self, cut: bool) -> Table:
        """What has been taken, without the last row if it was cut."""
        rows = self.rows - cut
        infinite = {i: count for i, count in self.infinite.items() if count}
        numbers = {i: column[:rows] for i, column in self.numbers.items()}
        return Table(rows, numbers, {i: t[:rows] for i, t in self.texts.items()}, {}, infinite)


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


def _batches(
    pl: Any, path: Path, layout: Layout, wanted: Collection[int], numeric: Collection[int]
) -> Iterator[Any]:
    schema = {str(i): pl.Float64 if i in numeric else pl.String for i in range(layout.width)}
    scan = pl.scan_csv(
        path,
        has_header=False,
        skip_lines=layout.first_row - 1,
        separator=layout.split.delimiter,
        quote_char=None,
        eol_char=layout.newline,
        decimal_comma=layout.split.decimal == ",",
        encoding="utf8-lossy" if len(wanted) > len(numeric) else "utf8",
        schema=schema,
    ).select([str(i) for i in sorted(wanted)])
    if hasattr(scan, "collect_batches"):
        yield from scan.collect_batches(maintain_order=True)
    else:
        yield scan.collect()


def _without_infinite(values: Floats) -> int:
    """Make infinities NaN in place and count them; one cheap sum tells whether any is there."""
    with np.errstate(invalid="ignore", over="ignore"):
        if np.isfinite(values.sum()):
            return 0
    infinite = np.isinf(values)
    values[infinite] = np.nan
    return int(infinite.sum())
