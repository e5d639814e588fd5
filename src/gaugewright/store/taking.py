"""Jobs made, taken in, brought up to date and written out, each whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
import uuid
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, func, select

from gaugewright.errors import EditedElsewhere, InputError, OutputError, Problem
from gaugewright.job.bundle import zipped
from gaugewright.job.files import told
from gaugewright.job.folder import JOB_FILE
from gaugewright.store import editing, exchange, originals
from gaugewright.store.bags import PART, sweep, sync_folder, write_synced
from gaugewright.store.changes import Move, carried_out, tables_of
from gaugewright.store.database import reading, writing
from gaugewright.store.differences import differences
from gaugewright.store.document import after
from gaugewright.store.exchange import Folder, digest_of, files_of, kept_sha256
from gaugewright.store.lines import Kept, TakenIn
from gaugewright.store.originals import RECORDINGS
from gaugewright.store.rows import columns_of, one_at_a_time, row_of
from gaugewright.store.schema import jobs

if TYPE_CHECKING:
    from gaugewright.store.store import Store


def add_job(
    connection: Connection, ours: str, folder: str, document: str, kind: str, device: str
) -> None:
    """Put a job on the list under the next running number."""
    one_at_a_time(connection)
    last = connection.execute(select(func.max(jobs.c.number))).scalar()
    row = {"id": ours, "number": (last or 0) + 1, "folder": folder, "version": 1}
    connection.execute(jobs.insert().values(**row, set_aside=False, **columns_of(document)))
    editing.note(connection, ours, 1, kind, (), device, "")


def take_in(store: Store, path: Path, device: str) -> TakenIn:
    """See `Store.take_in`."""
    with exchange.handed_in(path) as handed:
        with reading(store.engine) as connection:
            known = exchange.job_of(connection, handed)
        if known is None:
            known, new = _new(store, handed, device)
            if new:
                return TakenIn("new", store.told(known), path)
        return _offer(store, store.job(known), handed, path)


def _new(store: Store, handed: Folder, device: str) -> tuple[str, bool]:
    """The folder as a new job: its files first, under a name that nothing knows yet.

    Returns the job's id, and False where another took the same folder in meanwhile.
    """
    ours, folder = exchange.id_of(handed.stated_id), store.places / uuid.uuid4().hex
    document = _files_first(handed, folder, ours)
    with writing(store.engine) as connection:
        one_at_a_time(connection)
        known = exchange.job_of(connection, handed)
        if known is None:
            add_job(connection, ours, folder.name, document, "new", device)
            exchange.note_exchange(connection, ours, handed.digest, 1)
            return ours, True
    shutil.rmtree(folder, ignore_errors=True)
    return known, False


def _files_first(handed: Folder, folder: Path, ours: str) -> str:
    """Keep the recordings of a folder as those of a job to be; the document that goes with it."""
    part = Path(tempfile.mkdtemp(prefix=PART, dir=folder.parent))
    try:
        (part / RECORDINGS).mkdir()
        moves = exchange.bring_in(handed, part)
        if handed.stated_id is None:
            moves.append(Move("put", ("id",), None, ours))
        part.chmod(0o755)
        part.rename(folder)
        sync_folder(folder.parent)
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return after(handed.document, moves) if moves else handed.document


def _offer(store: Store, kept: Kept, handed: Folder, path: Path) -> TakenIn:
    """Whether a folder of a job that is kept holds anything new, and what."""
    here = digest_of(kept.tables, kept_sha256(kept.tables, kept.folder))
    with writing(store.engine) as connection:
        last = exchange.last_exchange(connection, kept.id)
        seen = exchange.was_exchanged(connection, kept.id, handed.digest)
        if here == handed.digest:
            exchange.note_exchange(connection, kept.id, here, kept.version)
    if seen or here == handed.digest:
        return TakenIn("same", kept, path)
    there = exchange.as_named_here(handed, kept)
    return TakenIn("update", kept, path, differences(kept.tables, there), kept.version > last)


def accept_update(store: Store, job: str, path: Path, based_on: int, device: str) -> Kept:
    """See `Store.accept_update`."""
    with exchange.handed_in(path) as handed:
        kept = store.job(job)
        with reading(store.engine) as connection:
            known = exchange.job_of(connection, handed)
        if known != job:
            found = "it is another job than the one it was offered for"
            raise InputError(Problem(str(path), "", found, "take it in on its own"))
        renamed = exchange.bring_in(handed, kept.folder)
        wanted = carried_out(handed.tables, renamed)
        with writing(store.engine) as connection:
            row = row_of(connection, job, write=True)
            if row.version != based_on:
                raise EditedElsewhere("", None, row.version)
            moves = _whole(tables_of(row.document), wanted)
            document = after(row.document, moves)
            said = f"taken over from {path.name}"
            editing.save(connection, row, document, "taken-in", tuple(moves), device, said)
            exchange.note_exchange(connection, job, handed.digest, row.version + 1)
    return store.told(job)


def _whole(here: dict[str, Any], there: dict[str, Any]) -> list[Move]:
    """The moves from one document to another, one for each key of its top."""
    keys = dict.fromkeys((*here, *there))
    return [
        Move("put", (key,), here.get(key), there.get(key))
        for key in keys
        if key != "id" and here.get(key) != there.get(key)
    ]


def export(store: Store, job: str, path: Path, bundle: bool) -> Path:
    """See `Store.export`."""
    kept = store.job(job)
    if path.exists() or path.is_symlink():
        found = "something stands there already"
        raise OutputError(Problem(str(path), "", found, "name a place where nothing stands"))
    _refuse_damaged(kept)
    with told(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        sweep(path.parent)
        part = Path(tempfile.mkdtemp(prefix=PART, dir=path.parent))
        try:
            names = _written(kept, part)
            if bundle:
                zipped(part, names, path)
            else:
                part.chmod(0o755)
                part.rename(path)
            sync_folder(path.parent)
        finally:
            shutil.rmtree(part, ignore_errors=True)
    digest = digest_of(kept.tables, kept_sha256(kept.tables, kept.folder))
    with writing(store.engine) as connection:
        exchange.note_exchange(connection, job, digest, kept.version)
    return path


def _refuse_damaged(kept: Kept) -> None:
    """A recording that is not what it was is told before it goes out as if it were."""
    names: Sequence[str] = list(dict.fromkeys(files_of(kept.tables)))
    wrong = [damage for name in names if (damage := originals.damage(kept.folder, name))]
    if wrong:
        raise InputError(wrong)


def _written(kept: Kept, part: Path) -> list[str]:
    """Write the job's files into an empty folder; their names, job.toml first."""
    names = list(dict.fromkeys(files_of(kept.tables)))
    for name in names:
        target = part / name
        target.parent.mkdir(parents=True, exist_ok=True)
        with (kept.folder / name).open("rb") as source, target.open("wb") as file:
            shutil.copyfileobj(source, file, 1 << 20)
            file.flush()
            os.fsync(file.fileno())
    write_synced(part / JOB_FILE, kept.document.encode())
    return [JOB_FILE, *names]
