"""Files written whole or not at all: beside, flushed to the disk, then renamed."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from gaugewright.errors import OutputError, Problem

FULL = (errno.ENOSPC, errno.EDQUOT)


def write_together(folder: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write these files into a folder, all of them or none.

    Parameters: the folder, made where it does not stand; file names and their contents.
    Returns the files in the order given.
    Raises OutputError with one sentence when the folder can't be written or the disk is full;
    what stood there before is then untouched.
    """
    beside: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in contents.items():
            if (folder / name).is_dir():
                raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), name)
            beside.append(_write_beside(folder, name, content))
        for name, waiting in zip(contents, beside, strict=True):
            os.replace(waiting, folder / name)
        _flush_folder(folder)
    except OSError as failure:
        for waiting in beside:
            with contextlib.suppress(OSError):
                waiting.unlink(missing_ok=True)
        raise OutputError(problem(folder, failure)) from failure
    return tuple(folder / name for name in contents)


def _write_beside(folder: Path, name: str, content: bytes) -> Path:
    handle, path = tempfile.mkstemp(prefix=f".{name}.", dir=folder)
    waiting = Path(path)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        waiting.chmod(0o644)
    except OSError:
        with contextlib.suppress(OSError):
            waiting.unlink()
        raise
    return waiting


def _flush_folder(folder: Path) -> None:
    """Make the renames last; where a folder can't be opened for that, nothing is lost."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def problem(folder: Path, failure: OSError) -> Problem:
    """A failure to write, as the one sentence the user reads."""
    if failure.errno in FULL:
        return Problem(str(folder), "", "the disk is full", "free some space and write again")
    if isinstance(failure, (FileExistsError, NotADirectoryError)):
        return Problem(str(folder), "", "this is not a folder", "name a folder for the pages")
    if isinstance(failure, IsADirectoryError):
        place = str(failure.filename or "")
        return Problem(str(folder), place, "a folder stands in a page's place", "move it away")
    if isinstance(failure, PermissionError) or failure.errno == errno.EROFS:
        remedy = "choose another folder or allow writing to it"
        return Problem(str(folder), "", "the folder cannot be written", remedy)
    said = (failure.strerror or "writing failed").lower()
    return Problem(str(folder), "", f"writing failed ({said})", "choose another folder")
