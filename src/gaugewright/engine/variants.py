"""Arrays of variants inside nested dataclasses: how many, some of them, put together again."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

T = TypeVar("T")
Which = slice | npt.NDArray[np.intp]


def lengths(thing: object) -> set[int]:
    """The lengths of every array inside."""
    if isinstance(thing, tuple):
        return {n for one in thing for n in lengths(one)}
    if is_dataclass(thing):
        return {n for one in fields(thing) for n in lengths(getattr(thing, one.name))}
    return {thing.size} if isinstance(thing, np.ndarray) and thing.ndim else set()


def common_length(things: list[Any]) -> int:
    """The one length of every array inside; 1 when there is none.

    Raises ValueError when they differ; an array of one goes with every other.
    """
    found = {n for thing in things for n in lengths(thing)} - {1}
    if len(found) > 1:
        raise ValueError(f"found arrays of {sorted(found)} variants; give all the same length")
    return found.pop() if found else 1


def taken(thing: T, which: Which, count: int) -> T:
    """The same with every array of `count` cut down to these; numbers stay numbers.

    What holds no such array comes back as it is.
    """
    if isinstance(thing, np.ndarray):
        return thing[which] if thing.ndim and thing.size == count else thing  # type: ignore[return-value]
    if isinstance(thing, tuple):
        return tuple(taken(one, which, count) for one in thing)  # type: ignore[return-value]
    names = _names(type(thing))  # type: ignore[arg-type]
    if not names:
        return thing
    old = [getattr(thing, name) for name in names]
    new = [one if type(one) is float else taken(one, which, count) for one in old]
    if all(a is b for a, b in zip(old, new, strict=True)):
        return thing
    return type(thing)(*new)


def side_by_side(things: list[T], count: int) -> T:
    """As one, the arrays of `count` of each behind the other's; numbers all share stay numbers."""
    first = things[0]
    if is_dataclass(first):
        kind: Any = type(first)
        parts = [side_by_side([getattr(o, n) for o in things], count) for n in _names(kind)]
        return kind(*parts)  # type: ignore[no-any-return]
    if all(one is first for one in things) and not isinstance(first, np.ndarray):
        return first
    if not any(isinstance(one, np.ndarray) for one in things) and len(set(things)) == 1:
        return first
    return np.concatenate([_row(one, count) for one in things])  # type: ignore[return-value]


def _row(number: Any, count: int) -> npt.NDArray[np.float64]:
    if isinstance(number, np.ndarray) and number.shape == (count,):
        return number
    return np.full(count, number, dtype=np.float64)


@cache
def _names(kind: type) -> tuple[str, ...]:
    """The fields of a dataclass; none of anything else."""
    return tuple(one.name for one in fields(kind)) if is_dataclass(kind) else ()
