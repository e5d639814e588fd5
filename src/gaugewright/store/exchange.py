"""Job folders and bundles: recognised, compared with what is kept, taken in, written anew."""

from __future__ import annotations

import hashlib
import json
import re
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from gaugewright.errors import InputError
from gaugewright.job.folder import laid_out
from gaugewright.job.reading import as_far_as_read, text_of
from gaugewright.recording.source import sha256 as checksum
from gaugewright.store import originals
from gaugewright.store.changes import Move, plain, tables_of
from gaugewright.store.lines import Kept
from gaugewright.store.looks import still_missing
from gaugewright.store.rows import now
from gaugewright.store.schema import exchanges, jobs

SAFE = re.compile(r"[A-Za-z0-9_-]{8,64}")
OTHERS = uuid.UUID("6f1d3c1e-6a0b-4d0e-9b57-2b7d0a1c9f31")
"""The namespace in which ids of others become ids that are safe in an address."""


@dataclass(frozen=True)
class Folder:
    """A job folder that was handed in: its text, its tables, its recordings' checksums."""

    path: Path
    document: str
    tables: Mapping[str, Any]
    sha256: Mapping[str, str]

    @property
    def digest(self) -> str:
        """What the folder holds, whatever its files are called."""
        return digest_of(self.tables, self.sha256)

    @property
    def stated_id(self) -> str | None:
        """The id in the document."""
        stated = self.tables.get("id")
        return stated if isinstance(stated, str) and stated else None


def id_of(stated: str | None) -> str:
    """The id a job is kept under: its own where it is safe in an address."""
    if stated is None:
        return uuid.uuid4().hex
    return stated if SAFE.fullmatch(stated) else uuid.uuid5(OTHERS, stated).hex


@contextmanager
def handed_in(path: Path) -> Iterator[Folder]:
    """The job folder or bundle at `path`, for as long as the block lasts; nothing is written.

    What is only missing in it is no reason to refuse it.  Raises InputError with every value
    that is wrong and every file that is not there.
    """
    with laid_out(path) as (data, said, folder):
        document = text_of(data, said)
        _, problems = as_far_as_read(document, said, folder)
        tables = tables_of(document)
        wrong = [problem for problem in problems if not still_missing(problem, tables)]
        if wrong:
            raise InputError(wrong)
        files = dict.fromkeys(files_of(tables))
        yield Folder(folder, document, tables, {name: checksum(folder / name) for name in files})


def files_of(tables: Mapping[str, Any]) -> list[str]:
    """The recordings' files that a document names."""
    return [entry["file"] for entry in tables.get("recording") or [] if entry.get("file")]


def digest_of(tables: Mapping[str, Any], sha256: Mapping[str, str]) -> str:
    """What a job holds: its tables without its id, its files by their bytes."""
    made = plain(tables)
    made.pop("id", None)
    for entry in made.get("recording") or []:
        entry["file"] = sha256.get(entry.get("file", ""), "")
    text = json.dumps(made, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def kept_sha256(tables: Mapping[str, Any], folder: Path) -> dict[str, str]:
    """The checksums of a kept job's recordings, by their manifests."""
    noted = {name: originals.noted(folder, name) for name in files_of(tables)}
    return {name: found.sha256 for name, found in noted.items() if found is not None}


def bring_in(handed: Folder, target: Path) -> list[Move]:
    """Keep the recordings of a folder; the moves that give them their names here."""
    names = {name: originals.keep(target, handed.path / name, name).file for name in handed.sha256}
    entries = handed.tables.get("recording") or []
    return [
        Move("put", ("recording", k, "file"), entry["file"], names[entry["file"]])
        for k, entry in enumerate(entries)
        if entry.get("file") and names[entry["file"]] != entry["file"]
    ]


def job_of(connection: Connection, handed: Folder) -> str | None:
    """The job a folder belongs to: by its id, else as one that was exchanged before."""
    if handed.stated_id is None:
        query = select(exchanges.c.job).where(exchanges.c.digest == handed.digest)
        query = query.order_by(exchanges.c.at)
    else:
        query = select(jobs.c.id).where(jobs.c.id == id_of(handed.stated_id))
    found = connection.execute(query).scalars().first()
    return None if found is None else str(found)


def last_exchange(connection: Connection, job: str) -> int:
    """The version a job had when it was last exchanged, 0 where it never was."""
    query = select(exchanges.c.version).where(exchanges.c.job == job)
    return int(max(connection.execute(query).scalars(), default=0))


def was_exchanged(connection: Connection, job: str, digest: str) -> bool:
    """Whether a folder of this digest came in or went out for this job before."""
    query = select(exchanges.c.digest).where(exchanges.c.job == job, exchanges.c.digest == digest)
    return connection.execute(query).first() is not None


def as_named_here(handed: Folder, kept: Kept) -> dict[str, Any]:
    """The tables of a folder with its files under the names that the same files have here."""
    here = {sha: name for name, sha in kept_sha256(kept.tables, kept.folder).items()}
    made: dict[str, Any] = plain(handed.tables)
    for entry in made.get("recording") or []:
        sha = handed.sha256.get(entry.get("file", ""), "")
        other = f"{entry.get('file', '')} (another file)"
        entry["file"] = here.get(sha, other)
    return made


def note_exchange(connection: Connection, job: str, digest: str, version: int) -> None:
    """Note that a folder of this digest came in or went out."""
    same = (exchanges.c.job == job) & (exchanges.c.digest == digest)
    connection.execute(exchanges.delete().where(same))
    line = {"job": job, "digest": digest, "version": version, "at": now()}
    connection.execute(exchanges.insert().values(**line))
