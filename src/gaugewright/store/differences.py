"""In which places two documents differ, in words a technician finds them by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from gaugewright.job.places import Path, Source
from gaugewright.store.lines import Difference

IGNORED = ("id", "format")


def differences(here: Mapping[str, Any], there: Mapping[str, Any]) -> tuple[Difference, ...]:
    """Every place in which the document here and the one there differ, in their order.

    Items of lists are the same when they have the same name (or column and quantity), else when
    they have the same number.
    """
    return tuple(_tables(here, there, (), here, there))


def _tables(
    one: Mapping[str, Any], other: Mapping[str, Any], path: Path, here: Any, there: Any
) -> Iterator[Difference]:
    for key in dict.fromkeys((*one, *other)):
        if path == () and key in IGNORED:
            continue
        yield from _values(one.get(key), other.get(key), (*path, key), (*path, key), here, there)


def _values(
    one: Any, other: Any, mine: Path, theirs: Path, here: Any, there: Any
) -> Iterator[Difference]:
    if one == other:
        return
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        for key in dict.fromkeys((*one, *other)):
            paths = (*mine, key), (*theirs, key)
            yield from _values(one.get(key), other.get(key), *paths, here, there)
    elif _of_tables(one) and _of_tables(other):
        yield from _lists(one or [], other or [], mine, theirs, here, there)
    else:
        source, path = (Source("", here), mine) if one is not None else (Source("", there), theirs)
        yield Difference(source.place(path), one, other)


def _of_tables(value: Any) -> bool:
    """Is this a list of tables, or nothing?"""
    return value is None or (
        isinstance(value, list) and bool(value) and all(isinstance(v, Mapping) for v in value)
    )


def _lists(
    one: list[Any], other: list[Any], mine: Path, theirs: Path, here: Any, there: Any
) -> Iterator[Difference]:
    first, second = _named(one), _named(other)
    for name in dict.fromkeys((*first, *second)):
        at, beside = first.get(name), second.get(name)
        yield from _values(
            None if at is None else one[at],
            None if beside is None else other[beside],
            (*mine, 0 if at is None else at),
            (*theirs, 0 if beside is None else beside),
            here,
            there,
        )


def _named(items: list[Any]) -> dict[tuple[Any, ...], int]:
    """Each item's number by what it is called and how many of that name came before."""
    found: dict[tuple[Any, ...], int] = {}
    for number, item in enumerate(items):
        called = _called(item)
        times = sum(1 for name in found if name[:-1] == called)
        found[*called, times] = number
    return found


def _called(item: Mapping[str, Any]) -> tuple[Any, ...]:
    keys = ("name", "column", "quantity", "visit", "what", "text")
    return tuple(str(item[key]) for key in keys if key in item)[:2]
