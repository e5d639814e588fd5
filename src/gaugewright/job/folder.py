"""Reading a job from a folder, its job.toml or a bundle, and writing it back."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from gaugewright.errors import InputError, Problem
from gaugewright.job import bundle
from gaugewright.job.dump import to_toml
from gaugewright.job.files import beside, replace, told
from gaugewright.job.model import Job
from gaugewright.job.reading import job_from_bytes
from gaugewright.job.references import unsafe

JOB_FILE = "job.toml"


def read(path: Path) -> tuple[Job, Path]:
    """Which job lies in this folder, or is stated by this job.toml?

    Returns the job, validated and settled, and its folder.
    Raises InputError with every problem found.  A bundle is read with `opened`.
    """
    folder, file = _located(Path(path))
    return job_from_bytes(_bytes(file), str(file), folder), folder


def _located(path: Path) -> tuple[Path, Path]:
    if path.is_dir():
        file = path / JOB_FILE
        if not file.is_file():
            found = f"the folder holds no {JOB_FILE}"
            raise InputError(Problem(str(path), "", found, "name the folder that holds one"))
        return path, file
    if not path.exists():
        remedy = "name a job folder, its job.toml or a bundle"
        raise InputError(Problem(str(path), "", "nothing is there", remedy))
    return path.parent, path


def _unreadable(file: Path, error: OSError) -> Problem:
    reason = error.strerror or str(error)
    return Problem(str(file), "", f"cannot be read ({reason})", "check the file and its rights")


@contextmanager
def opened(path: Path) -> Iterator[tuple[Job, Path]]:
    """The job at `path`, which may also be a bundle: unpacked for as long as the block lasts.

    Yields (job, folder).  Raises InputError, as `read` and `bundle.unpack` do.
    """
    with laid_out(path) as (data, said, folder):
        yield job_from_bytes(data, said, folder), folder


@contextmanager
def laid_out(path: Path) -> Iterator[tuple[bytes, str, Path]]:
    """The job at `path` as files, a bundle unpacked for as long as the block lasts.

    Yields (bytes of its job.toml, what messages call it, its folder).  Raises InputError, as
    `read` and `bundle.unpack` do.
    """
    path = Path(path)
    if path.is_dir() or not bundle.is_bundle(path):
        folder, file = _located(path)
        yield _bytes(file), str(file), folder
        return
    with tempfile.TemporaryDirectory(prefix="gaugewright-") as place:
        folder = bundle.unpack(path, Path(place))
        yield _bytes(folder / JOB_FILE), f"{path}/{JOB_FILE}", folder


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise InputError(_unreadable(file, error)) from error


def write(job: Job, folder: Path, recordings_from: Path | None = None) -> Path:
    """Write the job as a folder that reads back as the same job.

    Parameters: `folder` is made where it is missing; `recordings_from` is the folder the
    recordings are copied from (None: they are there already).
    Returns the path of the job.toml written.  Every file is written beside its place, synced
    and then renamed: what stood there before is whole until the new one is.
    Raises OutputError when something cannot be written, InputError when a recording is missing
    or leads outside its folder.
    """
    folder = Path(folder)
    if recordings_from is not None:
        for name in dict.fromkeys(entry.file for entry in job.recordings):
            _copy(Path(recordings_from), folder, name)
    target = folder / JOB_FILE
    with told(target):
        folder.mkdir(parents=True, exist_ok=True)
        replace(target, to_toml(job).encode())
    return target


def _copy(source: Path, folder: Path, name: str) -> None:
    origin, target = source / name, folder / name
    if unsafe(name) or not origin.resolve().is_relative_to(source.resolve()):
        found = f'the recording "{name}" leads outside'
        raise InputError(Problem(str(source), "", found, "keep recordings inside the job folder"))
    if not origin.is_file():
        found = f'the recording "{name}" is not there'
        raise InputError(Problem(str(source), "", found, "put it there, or correct the name"))
    with told(target):
        if target.exists() and target.samefile(origin):
            return
        target.parent.mkdir(parents=True, exist_ok=True)
        with beside(target) as place:
            shutil.copyfile(origin, place)
