"""What an import hands on: columns as numbers on the file's own clock, and what was noticed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Note:
    """Something noticed in a file: a stable code, a sentence, and how often (0: not counted)."""

    code: str
    text: str
    count: int = 0


@dataclass(frozen=True)
class Column:
    """One column's values at the instants at which they were really measured.

    `time_s` (n,) strictly increasing seconds on the file's own clock; `values` (n,) float64 in
    the file's unit, NaN where a sample is missing.  A carried-forward channel keeps only its
    refreshes.  Columns without any of that share one `time_s` array.  `interval_s` is the
    median spacing; `step` the quantisation step seen in the values (0 when none is seen);
    `unit` the unit the file itself states for the column, or None.
    """

    name: str
    time_s: Floats
    values: Floats
    interval_s: float
    step: float
    unit: str | None
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True)
class Recorded:
    """A recording file read: its columns, its checksum, what was guessed and what was counted."""

    name: str
    visit: str
    path: str
    sha256: str
    rows: int
    rate_hz: float | None
    columns: Mapping[str, Column]
    guesses: tuple[str, ...]
    notes: tuple[Note, ...]
