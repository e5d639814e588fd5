"""A signal after sensing: a quantity in house units, and how its errors are shared."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.recording.types import Note

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Gradient = Mapping[str, Floats]
"""d(true value)/d(shared parameters), by block name: (size of the block,) each."""


@dataclass(frozen=True)
class Signal:
    """One quantity over time in house units (Pa, rpm, degC, V, kg/s, %).

    `time_s` (n,) on the file's own clock.  `values` (n,), NaN where missing.  `bad` (n,) marks
    samples that take no part in a mean (interference), or None when there are none.
    `at_low`, `at_high` (n,) mark samples at a stop, or None.  `gradient(value)` gives the
    sensitivity of the true value to the shared errors at that indicated value; true value =
    indicated + gradient . theta.  `step` is the quantisation step in house units, 0 if none.
    """

    visit: str
    recording: str
    column: str
    quantity: str
    reference: str | None
    time_s: Floats
    values: Floats
    interval_s: float
    step: float
    bad: Bools | None
    at_low: Bools | None
    at_high: Bools | None
    gradient: Callable[[float], Gradient]
    range_low: float | None
    range_high: float | None
    notes: tuple[Note, ...] = ()

    @property
    def label(self) -> str:
        """`recording/column`, the name findings use for a signal."""
        return f"{self.recording}/{self.column}"
