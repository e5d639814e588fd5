"""How a logger writes its file: delimiters, decimal marks, a preamble, a row of units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugewright.physics.numbers import Floats


@dataclass(frozen=True)
class Dialect:
    """One logger's way of writing rows.

    `preamble`: lines before the names, taken as they are.  `time`: name of its clock column,
    empty: it writes none.  `time_scale`: units of that column a second.  `units_row`: whether
    a row of units follows the names.  `missing`: what stands for a value that is not there.
    """

    delimiter: str = ","
    decimal: str = "."
    newline: str = "\n"
    encoding: str = "utf-8"
    preamble: tuple[str, ...] = ()
    time: str = "time"
    time_unit: str = "s"
    time_scale: float = 1.0
    time_places: int = 3
    units_row: bool = False
    missing: str = ""

    def __post_init__(self) -> None:
        if self.decimal == self.delimiter:
            raise ValueError(f'found "{self.decimal}" for decimals and columns; use two marks')


@dataclass(frozen=True)
class Column:
    """One column: its name, its unit, its values (n,), how many decimals it is written with."""

    name: str
    unit: str
    values: Floats
    places: int


def file_bytes(dialect: Dialect, own_s: Floats, columns: Sequence[Column]) -> bytes:
    """The file as this logger writes it.

    Parameters: the rows' times (n,) s by its own clock; the columns, each with n values; NaN
    is written as the dialect's `missing`.

    Example: one column "p" in kPa at 0 s with 1.5, in the plain dialect, gives
    b"time,p\\n0.000,1.5\\n" when written with one decimal.
    """
    every = [*_clock(dialect, own_s), *columns]
    heads = [dialect.delimiter.join(column.name for column in every)]
    if dialect.units_row:
        heads.append(dialect.delimiter.join(column.unit for column in every))
    body = _rows(dialect, every)
    text = dialect.newline.join([*dialect.preamble, *heads, *body, ""])
    return text.encode(dialect.encoding)


def _clock(dialect: Dialect, own_s: Floats) -> list[Column]:
    if not dialect.time:
        return []
    shown = own_s * dialect.time_scale
    return [Column(dialect.time, dialect.time_unit, shown, dialect.time_places)]


def _rows(dialect: Dialect, columns: Sequence[Column]) -> list[str]:
    """Rows of figures; decimal marks are put in once all is written, which is quicker."""
    form = dialect.delimiter.join(f"%.{column.places}f" for column in columns)
    table = np.column_stack([column.values for column in columns])
    table += 0.0
    lines = [form % tuple(row) for row in table.tolist()]
    if dialect.decimal != ".":
        lines = [line.replace(".", dialect.decimal) for line in lines]
    if np.isnan(table).any():
        lines = [line.replace("nan", dialect.missing) for line in lines]
    return lines
