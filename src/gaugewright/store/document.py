"""A job's document as text: changed in place, so that comments and order survive."""

from __future__ import annotations

import datetime as dt
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from contextlib import suppress
from threading import Lock
from typing import Any

from gaugewright.job.dump import toml_of
from gaugewright.job.rewriting import REPEATED
from gaugewright.store.changes import Move, at, carried_out, tables_of

REMEMBERED = 32
"""Documents that stay parsed between two edits: parsing one takes longer than all the rest."""
_parsed: OrderedDict[str, Any] = OrderedDict()
_lock = Lock()


def after(document: str, moves: Sequence[Move]) -> str:
    """The text after these moves.

    What is written is read back and compared: where a change in place would say anything else,
    the whole document is written afresh, without its comments.
    """
    wanted = carried_out(tables_of(document), moves)
    with suppress(Exception):
        text = _in_place(document, moves)
        if tables_of(text) == wanted:
            return text
        _forget(text)
    return toml_of(typed(wanted))


def _in_place(document: str, moves: Sequence[Move]) -> str:
    import tomlkit

    with _lock:
        whole = _parsed.pop(document, None)
    if whole is None:
        whole = tomlkit.parse(document)
    for move in moves:
        _do(whole, move)
    text = tomlkit.dumps(whole)
    with _lock:
        _parsed[text] = whole
        while len(_parsed) > REMEMBERED:
            _parsed.popitem(last=False)
    return text


def _forget(text: str) -> None:
    with _lock:
        _parsed.pop(text, None)


def _do(whole: Any, move: Move) -> None:
    owner, last = whole, move.path[-1]
    for step, following in zip(move.path[:-1], move.path[1:], strict=True):
        if isinstance(step, str) and step not in owner:
            owner[step] = _item(step, [] if isinstance(following, int) else {})
        owner = owner[step]
    if move.kind == "insert":
        _insert(owner, last, move)
    elif move.after is None:
        del owner[last]
        if not owner and len(move.path) > 1 and isinstance(move.path[-2], str):
            del at(whole, move.path[:-2])[move.path[-2]]
    else:
        key = next(str(step) for step in reversed(move.path) if isinstance(step, str))
        _put(owner, last, _item(key, move.after))


def _put(owner: Any, last: Any, item: Any) -> None:
    """Put an item; the remark behind the value that stood there stays behind it."""
    old = owner.get(last) if isinstance(owner, Mapping) else None
    if old is not None and hasattr(old, "trivia") and hasattr(item, "trivia"):
        item.trivia.comment, item.trivia.comment_ws = old.trivia.comment, old.trivia.comment_ws
    owner[last] = item


def _insert(owner: Any, place: Any, move: Move) -> None:
    key = next(str(step) for step in reversed(move.path) if isinstance(step, str))
    owner.insert(place, _item(key, move.after, inside=True))


def _item(key: str, value: Any, inside: bool = False) -> Any:
    """A value as a piece of a document; `inside`: as one item of the list of this name."""
    import tomlkit

    value = typed(value, key)
    if isinstance(value, Mapping):
        if key == "hose":
            table: Any = tomlkit.inline_table()
            table.update(value)
            return table
        return tomlkit.parse(toml_of(dict(value))) if not inside else _table(value)
    if isinstance(value, list) and key in REPEATED and not inside:
        return tomlkit.parse(toml_of({key: value}))[key] if value else tomlkit.aot()
    return tomlkit.item(value)


def _table(value: Mapping[str, Any]) -> Any:
    import tomlkit

    table = tomlkit.table()
    for key, item in tomlkit.parse(toml_of(dict(value))).items():
        table.add(key, item)
    return table


def typed(value: Any, key: str = "") -> Any:
    """Plain data with the texts of `date` keys as dates."""
    if isinstance(value, Mapping):
        return {name: typed(item, name) for name, item in value.items()}
    if isinstance(value, list):
        return [typed(item, key) for item in value]
    if key == "date" and isinstance(value, str):
        kind = dt.datetime if len(value) > 10 else dt.date
        with suppress(ValueError):
            date = kind.fromisoformat(value)
            return date if date.isoformat() == value else value
    return value
