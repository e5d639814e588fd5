"""Recordings as they were handed in: kept untouched, with their checksum beside them.

An original lies under its name in `recordings/`, is never written again and never removed; its
manifest lies under the same name in `manifests/`.  Another file of that name gets a number.
"""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import BinaryIO

from gaugewright.errors import InputError, OutputError, Problem
from gaugewright.recording.source import sha256 as checksum
from gaugewright.store.bags import PART, sync_folder, write_synced

RECORDINGS = "recordings"
MANIFESTS = "manifests"
LONGEST = 100
"""Longest file name that is kept as it is."""
_FORBIDDEN = '<>:"/\\|?*'
_DEVICES = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10))}


@dataclass(frozen=True)
class Original:
    """A recording that is kept: its name relative to the job's folder, its checksum and size."""

    file: str
    sha256: str
    bytes: int


def keep(folder: Path, source: Path, name: str) -> Original:
    """Copy a file into the job's folder, under `name` or the next free one like it.

    The same bytes under the same name are kept once.
    Raises InputError when the file cannot be read, OutputError when there is no room.
    """
    target = folder / RECORDINGS
    target.mkdir(parents=True, exist_ok=True)
    handle, part = tempfile.mkstemp(prefix=PART, dir=target)
    try:
        with os.fdopen(handle, "wb") as file:
            _copied(source, file, target)
        digest = checksum(Path(part))
        return _placed(folder, Path(part), safe_name(name), digest)
    finally:
        Path(part).unlink(missing_ok=True)


def _copied(source: Path, file: BinaryIO, target: Path) -> None:
    try:
        reader = source.open("rb")
    except OSError as error:
        found = f"cannot be read ({error.strerror or error})"
        raise InputError(
            Problem(str(source), "", found, "check the file and its rights")
        ) from error
    with reader:
        try:
            shutil.copyfileobj(reader, file, 1 << 20)
            file.flush()
            os.fsync(file.fileno())
        except OSError as error:
            found = f"the recording cannot be kept there ({error.strerror or error})"
            raise OutputError(Problem(str(target), "", found, "free some space")) from error


def _placed(folder: Path, part: Path, name: str, digest: str) -> Original:
    """Link the copy to the first name that is free, or find that it is kept already."""
    stem, ending = Path(name).stem, Path(name).suffix
    os.chmod(part, 0o444)
    number = 1
    while True:
        free = name if number == 1 else f"{stem}-{number}{ending}"
        path = folder / RECORDINGS / free
        found = Original(f"{RECORDINGS}/{free}", digest, part.stat().st_size)
        if _linked(part, path) or (path.stat().st_size, checksum(path)) == (found.bytes, digest):
            sync_folder(path.parent)
            _note(folder, found)
            return found
        number += 1


def _linked(part: Path, path: Path) -> bool:
    """Give the copy this name as well, unless another file has it."""
    try:
        os.link(part, path)
    except FileExistsError:
        return False
    except OSError:  # a file system without links
        if path.exists():
            return False
        shutil.copyfile(part, copy := part.with_name(f"{part.name}-2"))
        copy.rename(path)
    return True


def _note(folder: Path, found: Original) -> None:
    """Write the manifest of an original, unless it stands."""
    path = manifest_path(folder, found.file)
    if path.is_file():
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    stated = {"format": 1, "file": found.file, "sha256": found.sha256, "bytes": found.bytes}
    handle, part = tempfile.mkstemp(prefix=PART, dir=path.parent)
    os.close(handle)
    write_synced(Path(part), (json.dumps(stated, indent=1) + "\n").encode())
    Path(part).replace(path)
    sync_folder(path.parent)


def manifest_path(folder: Path, file: str) -> Path:
    """Where the manifest of an original lies."""
    return folder / MANIFESTS / (PurePosixPath(file).name + ".json")


def noted(folder: Path, file: str) -> Original | None:
    """What the manifest says of an original; None where there is none that can be read."""
    try:
        stated = json.loads(manifest_path(folder, file).read_bytes())
        return Original(stated["file"], stated["sha256"], stated["bytes"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def damage(folder: Path, file: str) -> Problem | None:
    """What is wrong with an original, as one sentence; None when it is whole.

    The file is read from end to end.
    """
    path, stated = folder / file, noted(folder, file)
    again = "bring the recording in again from where it came"
    if not path.is_file():
        return Problem(file, "", "the recording is no longer there", again)
    if stated is None:
        found = "the manifest with its checksum is missing or damaged"
        return Problem(file, "", found, f"look whether the recording is right, or {again}")
    if path.stat().st_size != stated.bytes or checksum(path) != stated.sha256:
        found = "the recording is not what it was when it was brought in (its checksum differs)"
        return Problem(file, "", found, again)
    return None


def safe_name(name: str) -> str:
    """A file name that any system can hold, as near to this one as can be."""
    last = PurePosixPath(name.replace("\\", "/")).name
    clean = "".join("-" if mark in _FORBIDDEN or not mark.isprintable() else mark for mark in last)
    clean = clean.strip(" .") or "recording"
    if clean.split(".")[0].lower() in _DEVICES:
        clean = f"recording-{clean}"
    stem, ending = Path(clean).stem, Path(clean).suffix[:10]
    return f"{_short(stem, LONGEST - len(ending))}{ending}"


def _short(text: str, most: int) -> str:
    while len(text.encode()) > most:
        text = text[:-1]
    return text
