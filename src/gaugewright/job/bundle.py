"""A bundle: a job folder, zipped.  One that comes in is not trusted.

Limits: 2000 entries; 4 GiB unpacked, counted while unpacking; beyond 64 MiB no more than 250
times the packed size (recordings pack 3 to 50 times); stored or deflated entries only; no
encryption, no links, no path that leaves the folder, no name twice.
"""

from __future__ import annotations

import stat
import unicodedata
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePosixPath

from gaugewright.errors import InputError, OutputError, Problem
from gaugewright.job.files import beside, told
from gaugewright.job.reading import job_from_bytes
from gaugewright.job.references import unsafe

MOST_ENTRIES = 2000
MOST_BYTES = 4 * 1024**3
MOST_RATIO = 250
RATIO_FROM = 64 * 1024**2
_CHUNK = 1024 * 1024
_JOB_FILE = "job.toml"
_SYSTEM = ("__MACOSX", ".DS_Store", "Thumbs.db")


def is_bundle(path: Path) -> bool:
    """Whether a file is a zip by its name or by its first bytes."""
    if path.suffix.lower() == ".zip":
        return path.is_file()
    try:
        with path.open("rb") as file:
            return file.read(4) == b"PK\x03\x04"
    except OSError:
        return False


def unpack(bundle: Path, place: Path) -> Path:
    """Unpack a bundle into the empty folder `place`, within the limits above.

    Returns the folder that holds job.toml: `place`, or the single top folder in it.
    Raises InputError when a limit is passed or the zip is damaged (nothing outside `place` is
    ever written), OutputError when there is no room.
    """
    try:
        with zipfile.ZipFile(bundle) as packed:
            entries = [entry for entry in packed.infolist() if not _of_the_system(entry.filename)]
            problems = list(_refused(entries, bundle))
            if problems:
                raise InputError(problems)
            _extract(packed, entries, place, bundle)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as error:
        found = f"the zip is damaged ({error})"
        raise InputError(Problem(str(bundle), "", found, "make the bundle again")) from error
    except OSError as error:
        raise _trouble(bundle, place, error) from error
    return _top(place, bundle)


def _trouble(bundle: Path, place: Path, error: OSError) -> InputError | OutputError:
    reason = error.strerror or str(error)
    if error.filename is not None and Path(error.filename) == bundle:
        found = f"cannot be read ({reason})"
        return InputError(Problem(str(bundle), "", found, "check the file and its rights"))
    found = f"the bundle cannot be unpacked there ({reason})"
    return OutputError(Problem(str(place), "", found, "make room, or unpack it yourself"))


def _of_the_system(name: str) -> bool:
    return any(part in _SYSTEM for part in PurePosixPath(name).parts)


def _refused(entries: list[zipfile.ZipInfo], bundle: Path) -> Iterator[Problem]:
    file = str(bundle)
    if len(entries) > MOST_ENTRIES:
        found = f"found {len(entries)} entries, more than {MOST_ENTRIES}"
        yield Problem(file, "", found, "pack only the job folder")
        return
    yield from _refused_sizes(entries, file)
    for entry in entries:
        if reason := _reason(entry):
            remedy = "pack plain files that lie in the job folder"
            yield Problem(file, f'entry "{_printable(entry.filename)}"', reason, remedy)
    names = Counter(_folded(entry.filename) for entry in entries)
    for name, times in names.items():
        if times > 1:
            found = f"the name stands {times} times"
            place = f'entry "{_printable(name)}"'
            yield Problem(file, place, found, "pack each file once, letter case aside")


def _refused_sizes(entries: list[zipfile.ZipInfo], file: str) -> Iterator[Problem]:
    declared = sum(entry.file_size for entry in entries)
    packed = sum(entry.compress_size for entry in entries)
    if declared > MOST_BYTES:
        found = f"it would unpack to {declared / 1024**3:.1f} GiB, more than 4 GiB"
        yield Problem(file, "", found, "leave out recordings the job does not need")
    elif declared > RATIO_FROM and declared > MOST_RATIO * packed:
        found = f"{packed} bytes would unpack to {declared}, more than {MOST_RATIO} times as much"
        yield Problem(file, "", found, "hand the job over as a folder")


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold().rstrip("/")


def _printable(name: str) -> str:
    return "".join(mark if mark.isprintable() else "?" for mark in name)


def _reason(entry: zipfile.ZipInfo) -> str:
    """Why an entry is refused, or nothing."""
    mode = entry.external_attr >> 16
    if unsafe(entry.filename) or _printable(entry.filename) != entry.filename:
        return "its name leads outside the job folder or cannot be a file's"
    if entry.flag_bits & 0x1:
        return "it is encrypted"
    if stat.S_IFMT(mode) not in (0, stat.S_IFREG, stat.S_IFDIR):
        return "it is a link or a device, not a file"
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "it is packed by a method other than deflate"
    return ""


def _extract(
    packed: zipfile.ZipFile, entries: list[zipfile.ZipInfo], place: Path, bundle: Path
) -> None:
    written = 0
    for entry in entries:
        target = place / entry.filename
        if entry.is_dir():
            target.mkdir(parents=True, exist_ok=True)
            continue
        target.parent.mkdir(parents=True, exist_ok=True)
        with packed.open(entry) as source, target.open("xb") as file:
            while chunk := source.read(_CHUNK):
                written += len(chunk)
                _count(written, bundle)
                file.write(chunk)


def _count(written: int, bundle: Path) -> None:
    if written > MOST_BYTES:
        found = "it unpacks to more than 4 GiB, more than it declares"
        raise InputError(Problem(str(bundle), "", found, "make the bundle again"))


def _top(place: Path, bundle: Path) -> Path:
    if (place / _JOB_FILE).is_file():
        return place
    inside = [path for path in place.iterdir() if path.is_dir()]
    if len(inside) == 1 and (inside[0] / _JOB_FILE).is_file():
        return inside[0]
    found = f"it holds no {_JOB_FILE} at its top or in a single folder there"
    raise InputError(Problem(str(bundle), "", found, "pack the job folder itself"))


def pack(folder: Path, bundle: Path) -> Path:
    """Pack a job folder into a bundle: its job.toml and the recordings it names.

    The same folder gives the same bytes.  Returns the bundle's path.
    Raises InputError when the job cannot be read, OutputError when the bundle cannot be written.
    """
    job = job_from_bytes((folder / _JOB_FILE).read_bytes(), str(folder / _JOB_FILE), folder)
    return zipped(folder, [_JOB_FILE, *dict.fromkeys(e.file for e in job.recordings)], bundle)


def zipped(folder: Path, names: Sequence[str], bundle: Path) -> Path:
    """Zip these files of a folder, whole or not at all; the same files give the same bytes.

    Raises OutputError when the bundle cannot be written.
    """
    with (
        told(bundle),
        beside(bundle) as place,
        zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as packed,
    ):
        for name in names:
            _add(packed, folder, name)
    return bundle


def _add(packed: zipfile.ZipFile, folder: Path, name: str) -> None:
    entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    with (folder / name).open("rb") as source, packed.open(entry, "w", force_zip64=True) as target:
        while chunk := source.read(_CHUNK):
            target.write(chunk)
