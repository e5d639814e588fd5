"""What the recording pages of one running app keep: read recordings and the lanes made of them."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import Job, RecordingEntry
from gaugewright.report.preferences import Preferences
from gaugewright.store.lines import Kept
from gaugewright.web.bay import Bay
from gaugewright.web.recording_case import Read, Reader
from gaugewright.web.recording_lanes import Shown, shown_lanes
from gaugewright.web.recording_words import words_for
from gaugewright.web.wording import Words

MOST_JOBS = 6
"""Jobs whose recordings are kept in memory; the one not asked for longest goes first."""


@dataclass
class Room:
    """Readers by job, and the lanes that were made from what they read."""

    readers: dict[str, Reader] = field(default_factory=dict)
    shown: dict[tuple[str, ...], Shown] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def reader(self, job: str) -> Reader:
        """The reader of a job, the latest asked for kept longest."""
        with self.lock:
            found = self.readers.pop(job, None) or Reader()
            self.readers[job] = found
            while len(self.readers) > MOST_JOBS:
                gone = next(iter(self.readers))
                del self.readers[gone]
                self.shown = {k: v for k, v in self.shown.items() if k[0] != gone}
            return found

    def lanes(
        self, job: str, read: Read, entry: RecordingEntry, preferences: Preferences, words: Words
    ) -> Shown:
        """The lanes of a recording's page, made once for each way they are shown."""
        reader = self.reader(job)
        units = preferences.pressure_unit, preferences.vacuum_unit, words.language
        key = (job, reader.key, entry.visit or "", entry.name, *units)
        found = self.shown.get(key)
        if found is None:
            found = shown_lanes(read, entry, preferences, words)
            with self.lock:
                self.shown = {k: v for k, v in self.shown.items() if k[0] != job or k[1] == key[1]}
                self.shown[key] = found
        return found


def room_of(bay: Bay) -> Room:
    """The room of this app."""
    room: Room = bay.rooms.setdefault("recording", Room())
    return room


def words_of_bay(bay: Bay) -> Words:
    """The texts of these pages in the language of the settings."""
    return words_for(bay.words.language)


def entry_of(job: Job, place: str) -> tuple[int, RecordingEntry]:
    """A recording by its number in the document, or by its name.

    Raises InputError where there is none.
    """
    if place.isdecimal() and int(place) < len(job.recordings):
        return int(place), job.recordings[int(place)]
    for number, entry in enumerate(job.recordings):
        if entry.name == place:
            return number, entry
    have = ", ".join(entry.name for entry in job.recordings) or "none"
    raise InputError(
        Problem("job", f"recording {place}", "there is no such recording", f"there are: {have}")
    )


@dataclass(frozen=True)
class Opened:
    """A recording of a job, read and ready to be shown."""

    kept: Kept
    number: int
    entry: RecordingEntry
    read: Read
    shown: Shown


def opened(bay: Bay, job: str, place: str, wait: bool = False) -> Opened | None:
    """A recording ready to be shown, or None while its job is being read.

    Raises InputError where there is no such recording, or it cannot be read.
    """
    kept = bay.store.job(job)
    number, entry = entry_of(kept.model, place)
    room = room_of(bay)
    reader = room.reader(job)
    read = reader.wait(kept) if wait else reader.now(kept)
    if read is None:
        return None
    if not any((s.visit, s.name) == (entry.visit, entry.name) for s in read.lanes.sensed):
        found = f'it is not said yet what the columns of "{entry.name}" measure'
        raise InputError(Problem("job.toml", "recording", found, "map its columns first"))
    shown = room.lanes(job, read, entry, bay.preferences(), words_of_bay(bay))
    return Opened(kept, number, entry, read, shown)
