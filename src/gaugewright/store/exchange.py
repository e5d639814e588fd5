"""Job folders and bundles: taking them in, and writing new ones."""

from __future__ import annotations

import re
import shutil
import uuid
from pathlib import Path
from typing import TYPE_CHECKING

from gaugewright.job.dump import toml_of
from gaugewright.job.folder import JOB_FILE, opened
from gaugewright.store.database import writing
from gaugewright.store.lines import TakenIn
from gaugewright.store.rows import row_of, tables_of

if TYPE_CHECKING:
    from gaugewright.store.store import Store

SAFE = re.compile(r"[A-Za-z0-9_-]{8,64}")
OTHERS = uuid.UUID("6f1d3c1e-6a0b-4d0e-9b57-2b7d0a1c9f31")
"""The namespace in which ids of others become ids that are safe in an address."""


def id_of(stated: str | None) -> str:
    """The id a job is kept under: its own where it is safe in an address."""
    if stated is None:
        return uuid.uuid4().hex
    return stated if SAFE.fullmatch(stated) else uuid.uuid5(OTHERS, stated).hex


def take_in(store: Store, path: Path, device: str) -> TakenIn:
    """Take a job folder or bundle in as a new job (skeleton: every folder is new)."""
    with opened(path) as (job, folder):
        tables = tables_of((folder / JOB_FILE).read_text(encoding="utf-8-sig"))
        ours = uuid.uuid4().hex
        tables.setdefault("id", ours)
        with writing(store.engine) as connection:
            store._add(connection, ours, toml_of(tables), "taken-in", device)
            target = store._jobs / row_of(connection, ours).folder
            for entry in job.recordings:
                (target / entry.file).parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(folder / entry.file, target / entry.file)
    return TakenIn("new", store.job(ours), path)
