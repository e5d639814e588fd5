"""Where a place of an earlier version is now: edits of others have moved the items of lists.

Each line of the history holds the moves it made.  A path of version n is taken through the moves
of every later line, one by one: an item put in before it moves it up, one taken from before it
moves it down, and where the item itself was taken the path points at nothing, until the same
item is put back by an undo.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from gaugewright.store.changes import Move, Path


@dataclass(frozen=True)
class Step:
    """One line of the history: which edit it does or undoes, and its moves.

    Of a part of its moves, `first` is the number of the first and `count` how many the whole has.
    """

    edit: int
    moves: tuple[Move, ...]
    first: int = 0
    count: int = -1


@dataclass(frozen=True)
class _Where:
    """A path on its way; `gone` holds which move of which edit took its item, and the rest."""

    path: Path
    gone: tuple[int, int, int, Path] | None = None


def carried(path: Path, steps: Sequence[Step], gap: bool = False) -> Path | None:
    """The path after these steps, None where what it pointed at is gone.

    With `gap` the path is the place before an item, where another is to go in: it stays when the
    item itself is taken.
    """
    where = _Where(path)
    for step in steps:
        count = len(step.moves) if step.count < 0 else step.count
        for number, move in enumerate(step.moves, step.first):
            where = _through(where, step.edit, number, count, move, gap)
    return None if where.gone else where.path


def _through(where: _Where, edit: int, number: int, count: int, move: Move, gap: bool) -> _Where:
    if where.gone is not None:
        by, which, of, rest = where.gone
        back = (edit, count - 1 - number, count, "insert") == (by, which, of, move.kind)
        return _Where((*move.path, *rest)) if back else where
    if move.kind == "put":
        return where
    depth = len(move.path) - 1
    if len(where.path) <= depth or where.path[:depth] != move.path[:depth]:
        return where
    mine, moved = where.path[depth], move.path[depth]
    if not isinstance(mine, int) or not isinstance(moved, int) or mine < moved:
        return where
    if move.kind == "take" and mine == moved:
        if gap and depth == len(where.path) - 1:
            return where
        rest = where.path[depth + 1 :]
        return replace(where, gone=(edit, number, count, rest))
    by = 1 if move.kind == "insert" else -1
    return _Where((*where.path[:depth], mine + by, *where.path[depth + 1 :]))
