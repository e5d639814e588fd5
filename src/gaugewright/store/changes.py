"""Changes of a job's document: where, what stood there, what shall stand there.

A place is a dotted path of keys and item numbers: `vehicle.cylinders`,
`recording.0.condition.1.to`.  A last step `-` means past the end of a list, as in RFC 6901
(JSON Pointer), section 4; a number there may also insert (see `Change.insert`).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gaugewright.errors import EditedElsewhere, InputError, Problem

Path = tuple[str | int, ...]
END = "-"


@dataclass(frozen=True)
class Change:
    """One change: `old` is what is expected at `place` (None: nothing), `new` what shall stand
    there (None: nothing, the key or item goes).

    `place` may end in `-` to append to a list (made where there is none).  With `insert` the
    item goes in before the one that stands at the number.
    """

    place: str
    old: Any = None
    new: Any = None
    insert: bool = False


@dataclass(frozen=True)
class Move:
    """A change that was done: `kind` is "put" (a key), "insert" or "take" (an item of a list)."""

    kind: str
    path: Path
    before: Any
    after: Any

    @property
    def place(self) -> str:
        """The path as a dotted text."""
        return dotted(self.path)


def dotted(path: Sequence[str | int]) -> str:
    """A path as a dotted text."""
    return ".".join(str(step) for step in path)


def path_of(place: str) -> Path:
    """A dotted text as a path; whole numbers are items of lists."""
    return tuple(int(step) if step.isdecimal() else step for step in place.split("."))


def plain(value: Any) -> Any:
    """Data as JSON holds it: dates become ISO texts, tuples lists."""
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value.isoformat() if isinstance(value, dt.date | dt.time) else value


def at(tables: Any, path: Path) -> Any:
    """What stands at a path; None where nothing does."""
    here = tables
    for step in path:
        if isinstance(step, int):
            known = isinstance(here, list) and step < len(here)
        else:
            known = isinstance(here, Mapping) and step in here
        if not known:
            return None
        here = here[step]
    return here


def moves_of(change: Change, tables: Mapping[str, Any]) -> Move:
    """The change as a move on these tables.

    Raises EditedElsewhere when something else than `old` stands there, InputError when the
    place does not exist.
    """
    path = path_of(change.place)
    owner = at(tables, path[:-1])
    old, new = plain(change.old), plain(change.new)
    if path[-1] == END:
        count = len(owner) if isinstance(owner, list) else 0
        return Move("insert", (*path[:-1], count), None, new)
    if isinstance(owner, list) and change.insert:
        return Move("insert", path, None, new)
    now = at(tables, path)
    if now != old:
        raise EditedElsewhere(change.place, now)
    if isinstance(path[-1], int):
        return _item(path, now, new)
    return Move("put", path, now, new)


def _item(path: Path, now: Any, new: Any) -> Move:
    if now is None:
        found = f"there is no {dotted(path)}"
        raise InputError(Problem("job.toml", dotted(path), found, "load the job again"))
    return Move("take", path, now, None) if new is None else Move("put", path, now, new)


def carried_out(tables: Mapping[str, Any], moves: Sequence[Move]) -> dict[str, Any]:
    """The tables after these moves; the ones handed in stay as they were."""
    made: dict[str, Any] = plain(tables)
    for move in moves:
        _do(made, move)
    return made


def _do(made: dict[str, Any], move: Move) -> None:
    owner = _owner(made, move)
    last: Any = move.path[-1]
    if move.kind == "insert":
        owner.insert(last, plain(move.after))
    elif move.kind == "take":
        del owner[last]
    elif move.after is None:
        owner.pop(last, None)
    else:
        owner[last] = plain(move.after)


def _owner(made: dict[str, Any], move: Move) -> Any:
    """What holds the move's last step, made on the way where it is missing."""
    here: Any = made
    for step, following in zip(move.path[:-1], move.path[1:], strict=True):
        if isinstance(step, str) and step not in here:
            here[step] = [] if isinstance(following, int) else {}
        here = here[step]
    return here


def inverse(moves: Sequence[Move]) -> tuple[Move, ...]:
    """The moves that take these back, in the order in which to do them."""
    turned = {"put": "put", "insert": "take", "take": "insert"}
    return tuple(Move(turned[m.kind], m.path, m.after, m.before) for m in reversed(moves))
