"""What one analysis hands on: the findings, and what the pages draw beside them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.results import Findings
from gaugewright.job.model import Job

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Lane:
    """One signal drawn over time: per bin its least, mean and greatest value.

    `time_s` (bins,) are bin middles on the recording's own clock; `low`, `mean`, `high`
    (bins,) are in `unit`, NaN where nothing was recorded.
    """

    label: str
    quantity: str
    reference: str | None
    unit: str
    time_s: Floats
    low: Floats
    mean: Floats
    high: Floats


@dataclass(frozen=True)
class Stretch:
    """A condition on a recording's clock, and the parts of it that were left out."""

    condition: str
    did: tuple[str, ...]
    from_s: float
    to_s: float
    left_out: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Picture:
    """A recording as the work record draws it: lanes under brackets."""

    recording: str
    visit: str
    start_s: float
    end_s: float
    lanes: tuple[Lane, ...]
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True)
class InstrumentNote:
    """One line of the instruments table, in plain words."""

    name: str
    quantity: str
    measures_against: str
    calibration: str
    uncertainty: str
    zero: str


@dataclass(frozen=True)
class FileNote:
    """One input file: checksum, size, what was guessed about it and what was counted in it."""

    recording: str
    path: str
    sha256: str
    rows: int
    rate_hz: float | None
    guesses: tuple[str, ...]
    counts: tuple[str, ...]


@dataclass(frozen=True)
class Outcome:
    """Job, findings and the material of both pages."""

    job: Job
    findings: Findings
    pictures: tuple[Picture, ...]
    instruments: tuple[InstrumentNote, ...]
    files: tuple[FileNote, ...]
    method: str
