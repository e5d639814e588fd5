"""What the recording pages of one running app keep: lanes and read recordings, job by job."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import RecordingEntry
from gaugewright.store.lines import Kept
from gaugewright.web.bay import Bay
from gaugewright.web.recording_background import Background, Tell
from gaugewright.web.recording_case import Read, read_job
from gaugewright.web.recording_lanes import Shown, shown_lanes
from gaugewright.web.recording_tracks import Track, entry_of, visit_entries
from gaugewright.web.recording_words import words_for
from gaugewright.web.wording import Words

MOST_JOBS = 8
"""Works kept in memory; the one not asked for longest goes first."""
Work = TypeVar("Work")


@dataclass
class Room:
    """What was read, by job, and the lanes, by job and visit."""

    store: Any
    reads: dict[str, Background[Read]] = field(default_factory=dict)
    tracks: dict[tuple[str, str], Background[tuple[Track, ...]]] = field(default_factory=dict)
    opened: dict[tuple[Any, ...], Opened] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def read(self, kept: Kept, wait: bool = False) -> Read | None:
        """The job's recordings as quantities, or None while they are being read.

        Raises InputError where they cannot be read.
        """
        job = kept.sound or kept.model
        work = self._read_of(kept.id)
        make = self._reading(kept)
        found = work.wait(_key(kept), make) if wait else work.now(_key(kept), make)
        return None if found is None else found.under(job)

    def lanes(self, kept: Kept, visit: str | None, wait: bool = False) -> tuple[Track, ...] | None:
        """The lanes of a visit, or None while they are being imported.

        Raises InputError where a file cannot be read.
        """
        with self.lock:
            work = _latest(self.tracks, (kept.id, visit or ""), Background[tuple[Track, ...]])
        make = self._laning(kept, visit)
        return work.wait(_key(kept), make) if wait else work.now(_key(kept), make)

    def stage(self, kept: Kept, visit: str | None = None) -> str:
        """How far the work is, in a few words."""
        tracks = self.tracks.get((kept.id, visit or ""))
        reading = self.reads.get(kept.id)
        stages = [
            work.stage for work in (tracks, reading) if work is not None and work.made is None
        ]
        return next((stage for stage in stages if stage), "")

    def _read_of(self, job: str) -> Background[Read]:
        with self.lock:
            return _latest(self.reads, job, Background[Read])

    def _reading(self, kept: Kept) -> Callable[[Tell], Read]:
        def work(tell: Tell) -> Read:
            bench = self.store.bench(kept.id)
            with bench.lock:
                return read_job(
                    kept.sound or kept.model,
                    kept.folder,
                    bench.stages,
                    tell,
                    lambda entry: bench.recordings.numbers(entry, tell),
                )

        return work

    def _laning(self, kept: Kept, visit: str | None) -> Callable[[Tell], tuple[Track, ...]]:
        def work(tell: Tell) -> tuple[Track, ...]:
            entries = visit_entries(kept, visit)
            read = self.read(kept, wait=True) if any(e.aligned_with for _, e in entries) else None
            return tuple(self._track(kept, number, entry, read, tell) for number, entry in entries)

        return work

    def _track(
        self, kept: Kept, number: int, entry: RecordingEntry, read: Read | None, tell: Tell
    ) -> Track:
        offset = entry.clock_offset.si if entry.clock_offset else 0.0
        if read is not None:
            offset = read.sensed(entry).offset_s
        stored = self.store.lanes(kept.id, number, tell)
        return Track(number, entry, stored, self.store.speed(kept.id, number, tell), offset)


def _latest(kept: dict[Any, Work], key: Any, make: Callable[[], Work]) -> Work:
    """The work of this key, the latest asked for kept longest."""
    found = kept.pop(key, None) or make()
    kept[key] = found
    while len(kept) > MOST_JOBS:
        del kept[next(iter(kept))]
    return found


def _key(kept: Kept) -> str:
    """What reading depends on: everything but conditions, limits and words."""
    job = kept.sound or kept.model
    entries = [entry.model_copy(update={"conditions": ()}) for entry in job.recordings]
    text = repr((job.vehicle, job.sensors, entries, str(kept.folder)))
    return hashlib.sha256(text.encode()).hexdigest()


def room_of(bay: Bay) -> Room:
    """The room of this app."""
    room: Room = bay.rooms.setdefault("recording", Room(bay.store))
    return room


def words_of_bay(bay: Bay) -> Words:
    """The texts of these pages in the language of the settings."""
    return words_for(bay.words.language)


@dataclass(frozen=True)
class Opened:
    """A recording of a job whose lanes can be drawn."""

    kept: Kept
    main: Track
    tracks: tuple[Track, ...]
    shown: Shown

    @property
    def entry(self) -> RecordingEntry:
        """The recording's entry in the document."""
        return self.main.entry


def opened(bay: Bay, job: str, place: str, wait: bool = False) -> Opened | None:
    """A recording ready to be drawn, or None while its visit's files are being imported.

    Made once for each version of the job and each way it is shown: a window of its lanes is asked
    for many times a second.
    Raises InputError where there is no such recording, or it cannot be read.
    """
    preferences = bay.preferences()
    shown_as = preferences.pressure_unit, preferences.vacuum_unit, bay.words.language
    key = (job, place, bay.store.version(job), *shown_as)
    room = room_of(bay)
    found = room.opened.get(key)
    if found is None:
        found = _opened(bay, room, job, place, wait)
        if found is not None:
            with room.lock:
                _keep(room.opened, key, found)
    return found


def _keep(kept: dict[tuple[Any, ...], Opened], key: tuple[Any, ...], found: Opened) -> None:
    """Keep what was opened; other versions of the same recording go."""
    for old in [k for k in kept if k[:2] == key[:2] and k[2] != key[2]]:
        del kept[old]
    kept[key] = found
    while len(kept) > MOST_JOBS:
        del kept[next(iter(kept))]


def _opened(bay: Bay, room: Room, job: str, place: str, wait: bool) -> Opened | None:
    kept = bay.store.job(job)
    number, entry = entry_of(kept, place)
    if not entry.signals:
        found = f'it is not said yet what the columns of "{entry.name}" measure'
        raise InputError(Problem("job.toml", "recording", found, "map its columns first"))
    tracks = room.lanes(kept, entry.visit, wait)
    if tracks is None:
        return None
    main = next(track for track in tracks if track.number == number)
    shown = shown_lanes(kept.model, main, tracks, bay.preferences(), words_of_bay(bay))
    return Opened(kept, main, tracks, shown)
