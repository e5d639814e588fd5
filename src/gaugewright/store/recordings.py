"""The recordings of one job: keeping what is handed in, and giving out their numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from threading import RLock

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import Job, RecordingEntry
from gaugewright.recording.reading import read
from gaugewright.recording.source import sha256 as checksum
from gaugewright.recording.types import Recorded
from gaugewright.store import bags, imports, originals
from gaugewright.store.bags import Bag, DamagedError
from gaugewright.store.imports import LANES
from gaugewright.store.lane import StoredRecording
from gaugewright.store.lanes import recording_of

Tell = Callable[[str], None]


def silent(_: str) -> None:
    """For those who don't want to know."""


@dataclass
class Recordings:
    """The recordings in one job's folder, safe to use from several threads.

    Bags are checked whole the first time they are used.
    """

    folder: Path
    checked: set[str] = field(default_factory=set)
    lock: RLock = field(default_factory=RLock)

    def numbers(self, entry: RecordingEntry, tell: Tell = silent) -> Recorded:
        """The recording as an import gives it.  Raises InputError."""
        return imports.load(self.bag(entry, tell), entry)

    def lanes(self, entry: RecordingEntry, job: Job, tell: Tell = silent) -> StoredRecording:
        """The recording as lanes to draw.  Raises InputError."""
        return recording_of(self.bag(entry, tell), entry, job, self.folder / LANES)

    def bag(self, entry: RecordingEntry, tell: Tell = silent) -> Bag:
        """The lanes on disk; imported first where they are not there or damaged."""
        place = self.folder / LANES / imports.key_of(entry, self._sha256(entry))
        with self.lock:
            try:
                bag = bags.opened(place)
                if bag is not None:
                    return self._checked(bag)
            except DamagedError:
                bags.discard(place)
            return self._imported(entry, place, tell)

    def _imported(self, entry: RecordingEntry, place: Path, tell: Tell) -> Bag:
        if damage := originals.damage(self.folder, entry.file):
            raise InputError(damage)
        tell(f"importing {entry.file}")
        recorded = read(entry, self.folder)
        tell(f"keeping the lanes of {entry.file}")
        self.checked.add(place.name)
        return imports.save(place, recorded)

    def _checked(self, bag: Bag) -> Bag:
        if bag.folder.name not in self.checked:
            bag.check()
            self.checked.add(bag.folder.name)
        return bag

    def _sha256(self, entry: RecordingEntry) -> str:
        """The checksum of an original by its manifest; by its bytes where that is missing."""
        noted = originals.noted(self.folder, entry.file)
        if noted is not None:
            return noted.sha256
        path = self.folder / entry.file
        if not path.is_file():
            found = "the recording is no longer there"
            remedy = "bring it in again from where it came"
            raise InputError(Problem(entry.file, "", found, remedy))
        return checksum(path)

    def damage(self, job: Job) -> tuple[Problem, ...]:
        """What is wrong with the files of this job: every file is read from end to end."""
        names = dict.fromkeys(entry.file for entry in job.recordings)
        found = [originals.damage(self.folder, name) for name in names]
        with self.lock:
            lanes = [self._damage_of_lanes(entry) for entry in job.recordings]
        return tuple(problem for problem in (*found, *lanes) if problem is not None)

    def _damage_of_lanes(self, entry: RecordingEntry) -> Problem | None:
        """Damaged lanes are made anew from the original the next time they are needed."""
        noted = originals.noted(self.folder, entry.file)
        if noted is None:
            return None
        place = self.folder / LANES / imports.key_of(entry, noted.sha256)
        try:
            bag = bags.opened(place)
            if bag is not None:
                bag.check()
        except DamagedError as error:
            bags.discard(place)
            self.checked.discard(place.name)
            found = f"its lanes were damaged on the disk ({error})"
            return Problem(entry.file, "", found, "nothing: they are made anew from the original")
        return None
