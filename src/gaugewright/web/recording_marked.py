"""The conditions of a recording's page, where each stands in the job's document, and changes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import Condition
from gaugewright.store.changes import Change, at
from gaugewright.store.lines import Kept
from gaugewright.web.recording_tracks import Track, numbered

SHORTEST_S = 0.05
DRAFT_KEY = "draft"
"""The page's key of the stretch that is being set out."""


@dataclass(frozen=True)
class Place:
    """One condition of the document: which recording, which of its conditions, and by how much
    the page's clock is ahead of that recording's.
    """

    recording: int
    condition: int
    shift_s: float

    @property
    def path(self) -> str:
        """Its path in the document."""
        return f"recording.{self.recording}.condition.{self.condition}"


@dataclass(frozen=True)
class Marked:
    """A stretch on the page's clock, and every place of the document that states it."""

    name: str
    did: tuple[str, ...]
    from_s: float
    to_s: float
    places: tuple[Place, ...]

    @property
    def key(self) -> str:
        """A name for the page: the first place's numbers, or that of the one being set out."""
        if not self.places:
            return DRAFT_KEY
        first = self.places[0]
        return f"{first.recording}.{first.condition}"

    def as_data(self, tables: Mapping[str, Any]) -> dict[str, object]:
        """As the page takes it; `old` is what stands in the document, to be sent back."""
        old = [at(tables, _path(place)) for place in self.places]
        return {
            "key": self.key,
            "name": self.name,
            "did": list(self.did),
            "from": round(self.from_s, 4),
            "to": round(self.to_s, 4),
            "old": old,
        }


def marked(kept: Kept, main: Track, tracks: Sequence[Track]) -> tuple[Marked, ...]:
    """All stretches of a page in the order of time: the recording's own and its companions'."""
    found: list[Marked] = []
    for track in _main_first(main, tracks):
        shift = track.shift_to(main)
        for index, condition in _conditions(kept, track):
            place = Place(track.number, index, shift)
            ends = condition.from_.si + shift, condition.to.si + shift
            _add(found, Marked(condition.name, condition.did, *ends, (place,)), main, track)
    return tuple(sorted(found, key=lambda m: m.from_s))


def _conditions(kept: Kept, track: Track) -> Iterator[tuple[int, Condition]]:
    """A recording's conditions as the job states them now, with their numbers."""
    rows = at(kept.tables, ("recording", track.number, "condition")) or []
    entry = next((e for k, e in numbered(kept) if k == track.number), track.entry)
    known = list(entry.conditions)
    for index, row in enumerate(rows):
        stated = row.get("name"), row.get("from"), row.get("to")
        for condition in known:
            if (condition.name, condition.from_.text, condition.to.text) == stated:
                known.remove(condition)
                yield index, condition
                break


def _main_first(main: Track, tracks: Sequence[Track]) -> list[Track]:
    return sorted(tracks, key=lambda track: track.number != main.number)


def _add(found: list[Marked], new: Marked, main: Track, track: Track) -> None:
    """The stretch joins the one of its name that it runs with, else it stands for itself."""
    for k, other in enumerate(found):
        shared = min(other.to_s, new.to_s) - max(other.from_s, new.from_s)
        if other.name == new.name and shared > 0.5 * (new.to_s - new.from_s):
            places = (*other.places, *new.places)
            found[k] = Marked(other.name, other.did, other.from_s, other.to_s, places)
            return
    if track.number == main.number or main.covers(main, new.from_s, new.to_s):
        found.append(new)


def _path(place: Place) -> tuple[str | int, ...]:
    return ("recording", place.recording, "condition", place.condition)


def seconds_text(time_s: float) -> str:
    """An instant as the document holds it."""
    text = f"{time_s:.3f}".rstrip("0").rstrip(".")
    return f"{'0' if text in ('-0', '') else text} s"


def found_by_key(stretches: Sequence[Marked], key: str) -> Marked:
    """The stretch of this key.  Raises InputError where there is none any more."""
    for stretch in stretches:
        if stretch.key == key:
            return stretch
    found = "this stretch is not there any more"
    raise InputError(Problem("job.toml", f"condition {key}", found, "load the page again"))


def moved(
    stretch: Marked, from_s: float, to_s: float, old: Sequence[Mapping[str, Any]]
) -> list[Change]:
    """The changes that move a stretch's edges, in every recording that states it."""
    _refuse_short(from_s, to_s)
    changes = []
    for place, before in zip(stretch.places, old, strict=False):
        for key, now, then in (("from", from_s, stretch.from_s), ("to", to_s, stretch.to_s)):
            text = seconds_text(now - place.shift_s)
            if abs(now - then) > 5e-4 and text != before.get(key):
                changes.append(Change(f"{place.path}.{key}", before.get(key), text))
    return changes


def renamed(
    stretch: Marked, name: str, did: Sequence[str], old: Sequence[Mapping[str, Any]]
) -> list[Change]:
    """The changes that give a stretch another name, or say otherwise what was done."""
    changes = []
    for place, before in zip(stretch.places, old, strict=False):
        if before.get("name") != name:
            changes.append(Change(f"{place.path}.name", before.get("name"), name))
        if before.get("did") != list(did):
            changes.append(Change(f"{place.path}.did", before.get("did"), list(did)))
    return changes


def taken_out(stretch: Marked, old: Sequence[Mapping[str, Any]]) -> list[Change]:
    """The changes that take a stretch out of every recording that states it."""
    pairs = sorted(zip(stretch.places, old, strict=False), key=lambda p: -p[0].condition)
    return [Change(place.path, dict(before), None) for place, before in pairs]


def named(
    main: Track, tracks: Sequence[Track], from_s: float, to_s: float, name: str, did: Sequence[str]
) -> list[Change]:
    """The changes that mark a new stretch in every recording that ran during it."""
    _refuse_short(from_s, to_s)
    changes = []
    for track in _main_first(main, tracks):
        if not track.covers(main, from_s, to_s):
            continue
        shift = track.shift_to(main)
        row = {
            "name": name,
            "from": seconds_text(from_s - shift),
            "to": seconds_text(to_s - shift),
            "did": list(did),
        }
        changes.append(Change(f"recording.{track.number}.condition.-", None, row))
    return changes


def _refuse_short(from_s: float, to_s: float) -> None:
    if to_s - from_s < SHORTEST_S:
        found = f"it would run from {from_s:.3f} s to {to_s:.3f} s"
        raise InputError(Problem("job.toml", "condition", found, "set out a longer stretch"))
