"""A bag: a folder of arrays with a manifest, there whole or not at all.

Each array is one .npy file (no pickling), the manifest a JSON with the SHA-256 of every file.  A
bag is written into a folder of its own beside its place, synced, and renamed onto it; once there
it is never changed.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import shutil
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

FORMAT = 1
MANIFEST = "manifest.json"
PART = ".part-"
STALE_S = 24 * 3600.0
"""Unfinished folders older than this are of nobody who still writes."""

Array = npt.NDArray[Any]


class DamagedError(Exception):
    """A file of a bag is missing, of another length, or not what its checksum says."""


@dataclass(frozen=True)
class Bag:
    """A bag that was opened: its folder, what is said about it, its arrays' files."""

    folder: Path
    about: Mapping[str, Any]
    files: Mapping[str, Mapping[str, Any]]

    def array(self, name: str) -> Array:
        """An array, mapped from the disk and read-only.  Raises DamagedError."""
        path = self.folder / self.files[name]["file"]
        try:
            found: Array = np.load(path, mmap_mode="r", allow_pickle=False).view(np.ndarray)
            return found
        except (OSError, ValueError) as error:
            raise DamagedError(f"{path.name} cannot be read ({error})") from error

    def check(self) -> None:
        """Compare every file with its checksum.  Raises DamagedError."""
        for stated in self.files.values():
            _check(self.folder / stated["file"], stated["sha256"])


def _check(path: Path, sha256: str) -> None:
    from gaugewright.recording.source import sha256 as checksum

    if not path.is_file():
        raise DamagedError(f"{path.name} is not there")
    if checksum(path) != sha256:
        raise DamagedError(f"{path.name} is not what it was when it was written")


def write(folder: Path, arrays: Mapping[str, Array], about: Mapping[str, Any]) -> Bag:
    """Write a bag, unless another wrote it meanwhile; its arrays' names become file names."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = Path(tempfile.mkdtemp(prefix=f"{PART}{folder.name}-", dir=folder.parent))
    try:
        files = {name: _save(part, k, array) for k, (name, array) in enumerate(arrays.items())}
        manifest = {"format": FORMAT, "files": files, "about": dict(about)}
        write_synced(part / MANIFEST, json.dumps(manifest, indent=1).encode())
        sync_folder(part)
        into_place(part, folder)
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return Bag(folder, about, files)


def _save(part: Path, number: int, array: Array) -> dict[str, Any]:
    path = part / f"{number}.npy"
    with path.open("wb") as file:
        writer = _Counted(file)
        np.lib.format.write_array(writer, np.ascontiguousarray(array), allow_pickle=False)
        file.flush()
        os.fsync(file.fileno())
    return {"file": path.name, "bytes": path.stat().st_size, "sha256": writer.digest.hexdigest()}


class _Counted:
    """A file that takes the checksum of what goes through it."""

    def __init__(self, file: Any) -> None:
        self._file = file
        self.digest = hashlib.sha256()

    def write(self, data: Any) -> int:
        self.digest.update(data)
        return int(self._file.write(data))


def into_place(part: Path, folder: Path) -> None:
    """Rename a finished folder onto its place; one that stands there already stays."""
    try:
        part.rename(folder)
    except OSError as error:
        if error.errno not in (errno.ENOTEMPTY, errno.EEXIST):
            raise
    sync_folder(folder.parent)


def opened(folder: Path) -> Bag | None:
    """The bag in this folder, None where there is none.

    Every file's length is compared with the manifest; `Bag.check` compares what is in them.
    Raises DamagedError.
    """
    try:
        stated = json.loads((folder / MANIFEST).read_bytes())
        bag = Bag(folder, stated["about"], stated["files"])
        sizes = {name: item["bytes"] for name, item in bag.files.items()}
    except FileNotFoundError:
        if not folder.exists():
            return None
        raise DamagedError(f"{MANIFEST} is not there") from None
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise DamagedError(f"{MANIFEST} cannot be read ({error})") from error
    for name, size in sizes.items():
        path = folder / bag.files[name]["file"]
        if not path.is_file() or path.stat().st_size != size:
            raise DamagedError(f"{path.name} is missing or of another length")
    return bag


def discard(folder: Path) -> None:
    """Move a damaged bag out of the way, so that it can be made anew."""
    aside = Path(tempfile.mkdtemp(prefix=f"{PART}{folder.name}-", dir=folder.parent))
    with suppress(OSError):
        folder.rename(aside / folder.name)
    shutil.rmtree(aside, ignore_errors=True)


def write_synced(path: Path, data: bytes) -> None:
    """Write a file and wait until it is on the disk."""
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Wait until a folder's names are on the disk, where the system can say so."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sweep(folder: Path) -> None:
    """Remove the unfinished folders and files in this folder that nobody writes any more."""
    for part in _unfinished(folder):
        try:
            stale = time.time() - part.stat().st_mtime > STALE_S
        except OSError:
            continue
        if stale and part.is_dir():
            shutil.rmtree(part, ignore_errors=True)
        elif stale:
            part.unlink(missing_ok=True)


def _unfinished(folder: Path) -> Iterator[Path]:
    return folder.glob(f"{PART}*") if folder.is_dir() else iter(())
