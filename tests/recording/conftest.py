"""What the tests of the import share: write bytes to a file, read them with an entry."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gaugewright.errors import InputError
from gaugewright.job.model import RecordingEntry
from gaugewright.quantities.physical import Physical
from gaugewright.recording.reading import read
from gaugewright.recording.types import Recorded

Reader = Callable[..., Recorded]


def entry(file: str, *columns: str, rate_hz: float | None = None, **keys: Any) -> RecordingEntry:
    signals = [{"column": column, "quantity": "oil-pressure"} for column in columns]
    rate = Physical(f"{rate_hz:g} Hz", rate_hz) if rate_hz else None
    return RecordingEntry(name="run", file=file, rate=rate, **{"signal": signals, **keys})


@pytest.fixture
def reading(tmp_path: Path) -> Reader:
    """Write a text or bytes to a file and read it."""

    def go(content: str | bytes, *columns: str, encoding: str = "utf-8", **keys: Any) -> Recorded:
        raw = content.encode(encoding) if isinstance(content, str) else content
        file = keys.pop("file", "run.csv")
        (tmp_path / file).write_bytes(raw)
        return read(entry(file, *columns, **keys), tmp_path)

    return go


@pytest.fixture
def refusal(reading: Reader) -> Callable[..., str]:
    """The sentence with which a content is refused."""

    def go(content: str | bytes, *columns: str, **keys: Any) -> str:
        with pytest.raises(InputError) as caught:
            reading(content, *columns, **keys)
        return caught.value.text

    return go


@pytest.fixture
def making() -> Callable[..., RecordingEntry]:
    """Make a recording's entry: file, columns, and any of its keys."""
    return entry
