"""Changes of a job's document: where, what stood there, what shall stand there.

A place is a dotted path of keys and item numbers: `vehicle.cylinders`,
`recording.0.condition.1.to`.  A last step `-` means past the end of a list, as in RFC 6901
(JSON Pointer), section 4; a number there may also insert (see `Change.insert`).
"""

from __future__ import annotations

import datetime as dt
import math
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gaugewright.errors import EditedElsewhere, InputError, Problem

Path = tuple[str | int, ...]
END = "-"
DEEPEST = 8
"""Tables within tables: job.toml needs five."""
BARE = re.compile(r"[A-Za-z0-9_-]{1,60}")
BARRED = [chr(code) for code in (*range(9), 11, 12, *range(14, 32), 127)]
"""Signs that stand in no text: control characters but tab and line ends."""


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


def tables_of(document: str) -> dict[str, Any]:
    """A document's text as plain data."""
    made: dict[str, Any] = plain(tomllib.loads(document))
    return made


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


def move_of(change: Change, path: Path, tables: Mapping[str, Any], check: bool = True) -> Move:
    """The change as a move on these tables, at this path (its place, carried to them).

    Raises EditedElsewhere when something else than `old` stands there, InputError when the
    place cannot exist or the value cannot be kept.
    """
    owner, new = at(tables, path[:-1]), cleaned(change.new, change.place)
    if path[-1] == END or (change.insert and isinstance(path[-1], int)):
        return _insertion(change, path, owner, new, tables)
    now = at(tables, path)
    if check and now != plain(change.old):
        raise EditedElsewhere(change.place, now)
    if isinstance(path[-1], int):
        reached = isinstance(owner, list) and path[-1] < len(owner)
    else:
        reached = isinstance(owner, Mapping) or (owner is None and not _broken(tables, path))
    if not reached:
        raise _nowhere(change.place)
    if isinstance(path[-1], int):
        return Move("take" if new is None else "put", path, now, new)
    return Move("put", path, now, new)


def _insertion(change: Change, path: Path, owner: Any, new: Any, tables: Any) -> Move:
    wrong = new is None or not isinstance(owner, list | None)
    if wrong or len(path) < 2 or (owner is None and _broken(tables, path)):
        raise _nowhere(change.place)
    count, last = len(owner or ()), path[-1]
    place = min(last, count) if isinstance(last, int) else count
    return Move("insert", (*path[:-1], place), None, new)


def _broken(tables: Mapping[str, Any], path: Path) -> bool:
    """Does the way to a place lead over an item that is not there, or through a value?"""
    here: Any = tables
    for number, step in enumerate(path[:-1]):
        if isinstance(here, list) and isinstance(step, int) and step < len(here):
            here = here[step]
        elif isinstance(here, Mapping) and isinstance(step, str):
            if step not in here:
                return any(isinstance(later, int) for later in path[number:-1])
            here = here[step]
        else:
            return True
    return False


def _nowhere(place: str) -> InputError:
    remedy = "load the job again, and choose a place that is there"
    return InputError(Problem("job.toml", place, "there is no such place in the job", remedy))


def cleaned(value: Any, place: str) -> Any:
    """A value as a document can keep it, without keys that hold nothing.

    Raises InputError for what TOML cannot hold; `place` says where it was to stand.
    """
    try:
        return _cleaned(plain(value), 0)
    except ValueError as error:
        found = f"a value that cannot be kept was given ({error})"
        remedy = "give texts, numbers, yes or no, lists and tables"
        raise InputError(Problem("job.toml", place, found, remedy)) from error


def printable(text: str, most: int = 200) -> str:
    """A short text for the history, without signs that cannot be kept."""
    return "".join(mark if mark.isprintable() else " " for mark in text[:most]).strip()


def _cleaned(value: Any, depth: int) -> Any:
    if depth > DEEPEST:
        raise ValueError("nested too deeply")
    if isinstance(value, dict):
        kept = {key: _cleaned(item, depth + 1) for key, item in value.items() if item is not None}
        if not all(BARE.fullmatch(key) for key in kept):
            raise ValueError("a key with other signs than letters, digits, _ and -")
        return kept
    if isinstance(value, list):
        if any(item is None for item in value):
            raise ValueError("nothing as an item of a list")
        return [_cleaned(item, depth + 1) for item in value]
    if isinstance(value, str) and _unprintable(value):
        raise ValueError("a sign that no text can hold")
    if isinstance(value, int) and abs(value) >= 2**63:
        raise ValueError("a number too large")
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError("a number that is none")
    if value is None or isinstance(value, str | bool | int | float):
        return value
    raise ValueError(type(value).__name__)


def _unprintable(text: str) -> bool:
    return any(mark in text for mark in BARRED) or any(
        "\ud800" <= mark <= "\udfff" for mark in text
    )


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
    elif move.after is not None:
        owner[last] = plain(move.after)
    elif isinstance(last, int) or last in owner:
        del owner[last]
        _prune(made, move.path, owner)


def _prune(made: dict[str, Any], path: Path, owner: Any) -> None:
    """A table or list that lost its last part goes with it."""
    if not owner and len(path) > 1 and isinstance(path[-2], str):
        del at(made, path[:-2])[path[-2]]


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
