"""Moving a condition's edge: what follows from the store, against the whole analysis.

The job: 60 s at 20 kHz, four signals, two conditions (that of the analysis benchmark), taken into
a store.  Measured: the first findings (import, lanes, all stages), the findings in a fresh
process's memory (stages from the disk), the save of a moved edge, and the findings after it; the
causes are not weighed.  The ratio of the last to the first is what an edge costs; 0.2 is allowed.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from _common import seconds
from analyse_job import write_job

from gaugewright.store.changes import Change
from gaugewright.store.store import Store, open_store

ALLOWED = 0.2
MOVES = 9


def main() -> int:
    """Measure, print, and say by the exit code whether it is allowed."""
    with tempfile.TemporaryDirectory() as place:
        write_job(Path(place) / "job")
        store = open_store(folder=Path(place) / "data")
        job = store.take_in(Path(place) / "job").kept.id
        whole = seconds(lambda: store.findings(job, causes=False))
        store.forget()
        reopened = seconds(lambda: store.findings(job, causes=False))
        saved, followed = zip(
            *(moved(store, job, 29.0 - 0.3 * k) for k in range(MOVES)), strict=True
        )
        store.close()
    save, edge = sorted(saved)[MOVES // 2], sorted(followed)[MOVES // 2]
    print(f"the first findings: {whole:.2f} s; opened again: {reopened:.2f} s")
    print(f"an edge moved: saved in {1e3 * save:.0f} ms, findings after {edge:.2f} s")
    print(f"an edge against the whole: {edge / whole:.3f} (at most {ALLOWED:g})")
    return 0 if edge / whole < ALLOWED else 1


def moved(store: Store, job: str, to_s: float) -> tuple[float, float]:
    """Move the end of the first condition: the time of the save and of the findings after it."""
    kept = store.job(job)
    now = kept.tables["recording"][0]["condition"][0]["to"]
    change = Change("recording.0.condition.0.to", now, f"{to_s:.1f} s")
    save = seconds(lambda: store.edit(job, change, kept.version))
    return save, seconds(lambda: store.findings(job, causes=False))


if __name__ == "__main__":
    sys.exit(main())
