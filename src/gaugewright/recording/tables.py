"""Needed columns as they come out of a file, before any clock is made of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from gaugewright.quantities.said import Said, said
from gaugewright.recording.types import Floats, Note

Stamps = tuple[npt.NDArray[np.int64], list[int], bool]


def counted(count: int, one: str, many: str) -> Said:
    """A number with its noun in the right form: "1 row", "2 rows"."""
    return said("{count} " + (one if count == 1 else many), count=count)


class NotSimpleError(Exception):
    """The fast reader met something that the careful reader has to look at."""


@dataclass(frozen=True)
class Table:
    """Columns by the index they have in the file.

    `numbers` float64 (rows,), NaN where empty; `texts` cells as they stand (columns of stamps);
    `stamps` are
    whole nanoseconds, the rows without one, and whether they are times of day only;
    `glued` units found glued on numbers; `infinite` how many values were not finite; `lines`
    the line of each row, where rows do not simply follow the first one.
    """

    rows: int
    numbers: Mapping[int, Floats]
    texts: Mapping[int, Sequence[str]] = field(default_factory=dict)
    glued: Mapping[int, str] = field(default_factory=dict)
    infinite: Mapping[int, int] = field(default_factory=dict)
    notes: tuple[Note, ...] = ()
    stamps: Mapping[int, Stamps] = field(default_factory=dict)
    lines: Sequence[int] = ()
