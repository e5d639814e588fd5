"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from gaugewright.errors import OutputError, Problem


@contextmanager
def told(target: Path) -> Iterator[None]:
    """Say in one sentence what the system refused while `target` was being written."""
    try:
        yield
    except OSError as error:
        found = f"cannot be written ({error.strerror or error})"
        remedy = "choose a folder that can be written to and has room"
        raise OutputError(Problem(str(target), "", found, remedy)) from error


def replace(target: Path, data: bytes) -> None:
    """Put a file with these bytes in place of `target`, whole or not at all.

    Raises OSError; `target` is then as it was.
    """
    with beside(target) as place:
        place.write_bytes(data)


@contextmanager
def beside(target: Path) -> Iterator[Path]:
    """A file to write beside `target`: synced and renamed onto it when all went well."""
    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
    os.close(handle)
    place = Path(name)
    try:
        yield place
        _sync(place)
        place.chmod(0o666 & ~_umask())
        place.replace(target)
    finally:
        with suppress(OSError):
            place.unlink(missing_ok=True)


def _sync(place: Path) -> None:
    with place.open("rb+") as file:
        os.fsync(file.fileno())


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
