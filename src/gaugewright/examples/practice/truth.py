"""What is truly the matter with a practice job, and what each instrument should have shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

FORMAT = 1
STANDS_OUT = 1.5
"""So many spreads off, a reading gives something away."""


@dataclass(frozen=True)
class Fault:
    """One fault: its cause in the words of the job format, and how bad it is.

    `severity`: 0 just noticeable to 1 gross.  `tells`: the same in the trade's terms.
    """

    cause: str
    severity: float
    tells: str


@dataclass(frozen=True)
class TrueReading:
    """What a perfect instrument would have shown in one condition, in findings units.

    `true`: the mean over the marked stretch as the engine ran it.  `steady`, `sound`: where
    this engine, and the same one without its faults, would settle at that condition's speed
    and temperature; None where it has no steady state.  `spread`: how far, one standard
    deviation, sound engines and this job's instrument differ from that among themselves.
    """

    condition: str
    quantity: str
    reference: str | None
    unit: str
    true: float
    steady: float | None
    sound: float | None
    spread: float

    @property
    def stands_out(self) -> float:
        """How far the fault moved it, in spreads; 0 where that is not known."""
        if self.steady is None or self.sound is None or self.spread <= 0.0:
            return 0.0
        return abs(self.steady - self.sound) / self.spread


@dataclass(frozen=True)
class Truth:
    """A practice job's truth.

    `besides`: what else is not as it seems (a drifted switch, a wrong word), as sentences.
    `files`: the SHA-256 of job.toml and every recording as made.
    """

    level: int
    seed: int
    faults: tuple[Fault, ...]
    besides: tuple[str, ...]
    readings: tuple[TrueReading, ...]
    files: Mapping[str, str]

    def gave_it_away(self, most: int = 3) -> Iterator[TrueReading]:
        """The readings that the faults moved furthest out of what sound engines show.

        At most two of one quantity, and one of it in each condition.
        """
        given: list[tuple[str, str]] = []
        for one in sorted(self.readings, key=lambda reading: -reading.stands_out):
            told = (one.quantity, one.condition)
            often = sum(quantity == one.quantity for quantity, _ in given)
            if one.stands_out >= STANDS_OUT and told not in given and often < 2:
                given.append(told)
                yield one
            if len(given) == most:
                return


def as_data(truth: Truth) -> dict[str, Any]:
    """The truth as data that JSON can hold."""
    return {"format": FORMAT, **asdict(truth)}


def from_data(data: Mapping[str, Any]) -> Truth:
    """The truth from its data.  Raises KeyError, TypeError or ValueError where it is none."""
    if data["format"] != FORMAT:
        raise ValueError(f"format {data['format']}")
    return Truth(
        level=int(data["level"]),
        seed=int(data["seed"]),
        faults=tuple(Fault(**fault) for fault in data["faults"]),
        besides=tuple(data["besides"]),
        readings=tuple(TrueReading(**reading) for reading in data["readings"]),
        files=dict(data["files"]),
    )
