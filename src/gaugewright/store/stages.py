"""Stages of an analysis, kept on disk: rotation and the table of cycles of each recording.

Each is a bag under the hash of its inputs and the method version, so that it never has to be
declared stale.  Everything else is kept in memory for as long as an analysis still asks for it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from pathlib import Path
from threading import Lock
from typing import Any, TypeVar, cast

from gaugewright.analysis.lanes import Memory
from gaugewright.evidence.cycles import CycleTable
from gaugewright.quantities.said import packed
from gaugewright.rotation.rotate import Found
from gaugewright.rotation.types import Rotation
from gaugewright.store import bags
from gaugewright.store.bags import Array, Bag, DamagedError
from gaugewright.store.imports import notes_from

STAGES = "stages"
Kept = TypeVar("Kept")
Packed = tuple[dict[str, Array], dict[str, Any]]


@dataclasses.dataclass
class Stages(Memory):
    """A job's memory: `folder` holds what is kept on disk; safe to use from several threads.

    `asked` is what was asked for since `forget` was called, `before` what was in the time before.
    """

    folder: Path = Path()
    asked: set[tuple[str, str]] = dataclasses.field(default_factory=set)
    before: set[tuple[str, str]] = dataclasses.field(default_factory=set)
    lock: Lock = dataclasses.field(default_factory=Lock)

    def recall(self, stage: str, key: str, make: Callable[[], Kept]) -> Kept:
        """The result of a stage: from memory, else from the disk, else made and kept."""
        name = (stage, key)
        with self.lock:
            self.asked.add(name)
            if name in self.known:
                return cast(Kept, self.known[name])
        made = self._from_disk(stage, key, make)
        with self.lock:
            return cast(Kept, self.known.setdefault(name, made))

    def forget(self) -> None:
        """Let go of what was asked for neither since the last time nor since the time before."""
        with self.lock:
            wanted = self.asked | self.before
            self.known = {name: kept for name, kept in self.known.items() if name in wanted}
            self.asked, self.before = set(), self.asked

    def _from_disk(self, stage: str, key: str, make: Callable[[], Kept]) -> Kept:
        if stage not in PACKERS:
            return make()
        pack, unpack = PACKERS[stage]
        place = self.folder / f"{stage}-{key[:40]}"
        try:
            bag = bags.opened(place)
            if bag is not None:
                bag.check()
                return cast(Kept, unpack(bag))
        except (DamagedError, KeyError, TypeError):
            bags.discard(place)
        made = make()
        bags.write(place, *pack(made))
        return made


def _pack_rotation(found: Found) -> Packed:
    about: dict[str, Any] = {"notes": _notes(found.notes), "rotation": None}
    rotation = found.rotation
    if rotation is None:
        return {}, about
    plain = {key: getattr(rotation, key) for key in ("source", "label", "degrees", "refresh_s")}
    about["rotation"] = {**plain, "notes": _notes(rotation.notes)}
    return {"edges": rotation.edges_s, "good": rotation.good}, about


def _unpack_rotation(bag: Bag) -> Found:
    stated: Mapping[str, Any] | None = bag.about["rotation"]
    notes = notes_from(bag.about["notes"])
    if stated is None:
        return Found(None, notes)
    own = {**stated, "notes": notes_from(stated["notes"])}
    return Found(Rotation(edges_s=bag.array("edges"), good=bag.array("good"), **own), notes)


def _notes(notes: tuple[Any, ...]) -> list[Any]:
    return [[note.code, packed(note.text), note.count] for note in notes]


def _pack_cycles(table: CycleTable) -> Packed:
    arrays: dict[str, Array] = {"start": table.start_s, "end": table.end_s}
    if table.speed_rpm is not None:
        arrays["speed"] = table.speed_rpm
    arrays |= {f"mean {number}": mean for number, mean in enumerate(table.means.values())}
    about = {"labels": list(table.means), "turning": table.turning, "source": table.source}
    return arrays, about


def _unpack_cycles(bag: Bag) -> CycleTable:
    means = {label: bag.array(f"mean {k}") for k, label in enumerate(bag.about["labels"])}
    return CycleTable(
        start_s=bag.array("start"),
        end_s=bag.array("end"),
        speed_rpm=bag.array("speed") if "speed" in bag.files else None,
        means=means,
        turning=bag.about["turning"],
        source=bag.about["source"],
    )


PACKERS: dict[str, tuple[Callable[[Any], Packed], Callable[[Bag], Any]]] = {
    "rotation": (_pack_rotation, _unpack_rotation),
    "cycles": (_pack_cycles, _unpack_cycles),
}
