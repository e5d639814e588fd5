"""What the store hands out: a job, a line of the list, a line of a job's history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugewright.errors import Problem

if TYPE_CHECKING:
    from gaugewright.job.model import Job

PARTS = (
    "complaint",
    "limits",
    "instruments",
    "recordings",
    "meaning",
    "repair",
    "retest",
    "handover",
)
"""The parts of a job in the order in which it goes."""

STATES = ("done", "begun", "missing", "waiting")
"""How far a part is; "waiting": for another part that comes first."""


@dataclass(frozen=True)
class Kept:
    """One job as it is kept at one version.

    `id` is safe in an address; `number` runs from 1; `version` rises by one with each edit, undo
    and redo.  `document` is the job.toml as text, `tables` the same as plain data (dates as ISO
    texts).  `model` is as much of it as can be read; `problems` say what is wrong or missing, each
    with the path of what it is about; `sound` is the part that can be analysed, None where there
    is nothing to analyse yet.  `folder` is what its recordings' names are
    relative to.  `parts` says how far each part is.
    """

    id: str
    number: int
    version: int
    document: str
    tables: Mapping[str, Any]
    model: Job
    problems: tuple[Problem, ...]
    folder: Path
    changed: str
    set_aside: bool = False
    parts: Mapping[str, str] = field(default_factory=dict)
    sound: Job | None = None

    @property
    def ready(self) -> bool:
        """Whether the job, or a part of it, can be analysed."""
        return self.sound is not None


@dataclass(frozen=True)
class JobLine:
    """One line of the list of jobs; `changed` is an ISO time in UTC."""

    id: str
    number: int
    title: str
    vehicle: str
    changed: str
    version: int
    visits: int
    parts: Mapping[str, str]
    set_aside: bool


@dataclass(frozen=True)
class EditLine:
    """One line of a job's history.

    `kind` is "new", "edit", "undo", "redo" or "taken-in"; `what` a few words; `places` the paths
    that changed; `device` who did it; `stands` False once it has been taken back.
    """

    version: int
    at: str
    kind: str
    what: str
    device: str
    places: tuple[str, ...]
    stands: bool


@dataclass(frozen=True)
class Difference:
    """One place in which a job folder and the job kept here differ; None: nothing stands there."""

    place: str
    here: Any
    there: Any


@dataclass(frozen=True)
class TakenIn:
    """What came of taking a job folder or bundle in.

    `state` is "new" (kept now), "same" (nothing new in it) or "update": it differs from what is
    kept, nothing was changed, and `differences` say where; `changed_here` whether the job was
    edited here since it was last exchanged.  `accept_update` takes it over as one edit.
    """

    state: str
    kept: Kept
    path: Path
    differences: tuple[Difference, ...] = ()
    changed_here: bool = False
