"""A process of its own that edits a job: `python working.py URL FOLDER JOB NAME COUNT`.

It appends limits under its own name and counts up one value of its own; a line for every edit
that was kept.
"""

from __future__ import annotations

import sys
from pathlib import Path

from gaugewright.store.changes import Change
from gaugewright.store.store import open_store


def main() -> None:
    """Edit from what was seen last, whatever others do meanwhile."""
    url, folder, job, name, count = sys.argv[1:6]
    store = open_store(None if url == "-" else url, Path(folder))
    kept = store.job(job)
    for number in range(int(count)):
        place = next(
            k for k, work in enumerate(kept.tables["work"]) if work["text"].startswith(name)
        )
        change = Change(f"work.{place}.text", f"{name} {number}", f"{name} {number + 1}")
        if number % 5 == 0:
            item = {"text": f"from {name} {number}", "state": "advised"}
            changes = [change, Change("work.0", None, item, insert=True)]
            kept = store.edit(job, changes, kept.version, name)
        else:
            kept = store.edit(job, change, kept.version, name)
        print(kept.version, flush=True)
    store.close()


if __name__ == "__main__":
    main()
