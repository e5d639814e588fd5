"""A job as tables and as TOML text."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from gaugewright.job.model import Job, Part
from gaugewright.job.rewriting import REPEATED
from gaugewright.quantities.physical import Physical

if TYPE_CHECKING:
    from tomlkit.items import AoT, Table


def tables(part: Part) -> dict[str, Any]:
    """A table of the job as plain data under the keys of job.toml; what is silent is left out.

    Values with units are the texts as written.
    """
    plain: dict[str, Any] = {}
    for name, info in type(part).model_fields.items():
        value = getattr(part, name)
        if info.is_required() or value != info.get_default():
            plain[info.alias or name] = _plain(value)
    return plain


def _plain(value: Any) -> Any:
    if isinstance(value, Physical):
        return value.text
    if isinstance(value, Part):
        return tables(value)
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value


def to_toml(job: Job) -> str:
    """The job as the text of a job.toml, which reads back as the same job."""
    return toml_of(tables(job))


def toml_of(plain: dict[str, Any]) -> str:
    """Plain data under the keys of job.toml as its text."""
    import tomlkit

    document = tomlkit.document()
    _fill(document, plain)
    return tomlkit.dumps(document)


def _fill(table: Any, plain: dict[str, Any]) -> None:
    """Single values first, then tables, then repeated tables: TOML reads in that order."""
    for key, value in plain.items():
        if not isinstance(value, dict) and not _repeated(key, value):
            table.add(key, value)
    for key, value in plain.items():
        if isinstance(value, dict):
            table.add(key, _inline(value) if key == "hose" else _table(value))
    for key, value in plain.items():
        if _repeated(key, value):
            table.add(key, _array(value))


def _repeated(key: str, value: Any) -> bool:
    return key in REPEATED and isinstance(value, list)


def _table(plain: dict[str, Any]) -> Table:
    import tomlkit

    table = tomlkit.table()
    _fill(table, plain)
    return table


def _inline(plain: dict[str, Any]) -> Any:
    import tomlkit

    table = tomlkit.inline_table()
    table.update(plain)
    return table


def _array(entries: list[dict[str, Any]]) -> AoT:
    import tomlkit

    array = tomlkit.aot()
    for entry in entries:
        array.append(_table(entry))
    return array


def to_json_data(job: Job) -> dict[str, Any]:
    """The job as data that JSON can hold: dates become ISO texts."""
    data: dict[str, Any] = _dated(tables(job))
    return data


def _dated(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _dated(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_dated(item) for item in value]
    return value.isoformat() if isinstance(value, dt.date) else value
