"""What a job says apart from its measurements: seen, told, stored codes, kind of engine."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gaugewright.job.words import NOT_KNOWN

if TYPE_CHECKING:
    from gaugewright.job.model import Job, Vehicle

CODE = re.compile(r"[PCBU][0-9A-F]{4}")


@dataclass(frozen=True)
class Observed:
    """One observation: at which visit, of what, and the word for it."""

    visit: str
    what: str
    saw: str


@dataclass(frozen=True)
class JobView:
    """What odds, symptoms and tests look at.

    `seen`: all observations; those of `visit` count.  `codes`: stored codes as the standard
    writes them, in the order of the job; they belong to the first visit.  A kind of engine that
    the job is silent about is None.
    """

    visit: str = "first"
    seen: tuple[Observed, ...] = ()
    codes: tuple[str, ...] = ()
    complaint: str = ""
    fuel: str | None = None
    induction: str | None = None
    metering: str | None = None
    oil_pump: str | None = None
    ventilation: str | None = None
    ignition: str | None = None

    def words(self, what: str) -> tuple[str, ...]:
        """The words seen of this at the visit, each once; "not known" is no answer."""
        found = (one.saw for one in self.seen if (one.visit, one.what) == (self.visit, what))
        return tuple(dict.fromkeys(word for word in found if word != NOT_KNOWN))


def view_of(job: Job, visit: str | None = None) -> JobView:
    """The view of a job at this visit; None: as found, at the first.

    Codes were stored when the car came in: a later visit's view holds none.
    """
    first = job.visits[0].name if job.visits else "first"
    at = first if visit is None else visit
    seen = tuple(Observed(one.visit or first, one.what, one.saw) for one in job.observations)
    codes = codes_of(job.complaint.codes) if at == first else ()
    return JobView(at, seen, codes, job.complaint.text, **_kind(job.vehicle))


def codes_of(texts: tuple[str, ...]) -> tuple[str, ...]:
    """The codes in these texts, in capitals, each once; what is no code is left out."""
    found = (CODE.search(text.upper()) for text in texts)
    return tuple(dict.fromkeys(match.group() for match in found if match))


def _kind(vehicle: Vehicle) -> dict[str, str | None]:
    return {
        "fuel": vehicle.fuel,
        "induction": vehicle.induction,
        "metering": vehicle.metering,
        "oil_pump": vehicle.oil_pump,
        "ventilation": vehicle.ventilation,
        "ignition": vehicle.ignition,
    }
