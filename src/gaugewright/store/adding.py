"""A recording that is brought in: its file kept, its numbers read, its entry written."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugewright.errors import InputError
from gaugewright.job.dump import toml_of
from gaugewright.job.model import RecordingEntry
from gaugewright.store import editing, originals
from gaugewright.store.changes import Change, carried_out, move_of, plain
from gaugewright.store.database import writing
from gaugewright.store.document import typed
from gaugewright.store.looks import look, still_missing
from gaugewright.store.recordings import Tell

if TYPE_CHECKING:
    from gaugewright.store.lines import Kept
    from gaugewright.store.store import Store


def add_recording(
    store: Store,
    job: str,
    name: str,
    file: Path,
    filename: str,
    mapping: Mapping[str, Any],
    based_on: int,
    device: str,
    progress: Tell,
) -> None:
    """See `Store.add_recording`."""
    kept = store.job(job)
    progress(f"keeping {filename}")
    original = originals.keep(kept.folder, file, filename)
    stated = {"name": name, "file": original.file, **plain(mapping)}
    change = Change("recording.-", None, stated)
    entry = _entry(kept, change)
    store.analyses.bench(kept).recordings.bag(entry, progress)
    progress("writing it into the job")
    with writing(store.engine) as connection:
        editing.edit(connection, job, [change], based_on, device, f"brought in {name}")


def _entry(kept: Kept, change: Change) -> RecordingEntry:
    """The entry as the model reads it.  Raises InputError with every key that is wrong."""
    move = move_of(change, ("recording", "-"), kept.tables)
    tables = carried_out(kept.tables, [move])
    found = look(toml_of(typed(tables)))
    mine = [p for p in found.problems if p.path[:2] == move.path[:2]]
    wrong = [problem for problem in mine if not still_missing(problem, found.tables)]
    entries = [e for e in found.model.recordings if e.file == change.new["file"]]
    if wrong or not entries:
        raise InputError(wrong or mine)
    return entries[-1]
