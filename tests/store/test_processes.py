"""Several processes and threads on one store lose nothing of each other's work."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from gaugewright.store.changes import Change
from gaugewright.store.lines import Kept
from gaugewright.store.store import Store

SCRIPT = Path(__file__).with_name("working.py")
NAMES = ("north", "south")
Opener = Callable[[], Store]


def begun(store: Store) -> Kept:
    """A job with one line of work for each process."""
    kept = store.new_job("Tick", 4)
    items = [{"text": f"{name} 0", "state": "advised"} for name in NAMES]
    return store.edit(kept.id, [Change("work.-", None, item) for item in items], 1)


def at_once(url: str | None, folder: Path, job: str, count: int) -> None:
    """Both processes edit the job at the same time, so many times each."""
    command = [sys.executable, str(SCRIPT), url or "-", str(folder), job]
    running = [
        subprocess.Popen(
            [*command, name, str(count)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for name in NAMES
    ]
    for process in running:
        out, err = process.communicate()
        assert process.returncode == 0, err[-3000:]
        assert len(out.split()) == count


def nothing_is_lost(store: Store, job: str, count: int) -> None:
    kept = store.job(job)
    lines = store.history(job)
    assert kept.version == 2 + 2 * count
    assert [line.version for line in lines] == list(range(kept.version, 0, -1))
    assert sum(line.device == "north" for line in lines) == count
    texts = [work["text"] for work in kept.tables["work"]]
    for name in NAMES:
        assert f"{name} {count}" in texts
        assert {f"from {name} {k}" for k in range(0, count, 5)} <= set(texts)
    assert len(texts) == 2 + 2 * len(range(0, count, 5))


def test_two_processes_lose_nothing(opener: Opener, url: str | None, tmp_path: Path) -> None:
    store = opener()
    job = begun(store).id
    at_once(url, tmp_path / "data", job, 10)
    nothing_is_lost(store, job, 10)


@pytest.mark.slow
def test_two_processes_of_200_edits_each(opener: Opener, url: str | None, tmp_path: Path) -> None:
    store = opener()
    job = begun(store).id
    at_once(url, tmp_path / "data", job, 200)
    nothing_is_lost(store, job, 200)


def test_many_threads_get_numbers_and_versions_of_their_own(store: Store) -> None:
    def made(number: int) -> Kept:
        kept = store.new_job(f"Job {number}", 4)
        return store.edit(kept.id, Change("place.altitude", None, f"{number} m"), 1)

    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(made, range(16)))
    assert sorted(kept.number for kept in found) == list(range(1, 17))
    assert {kept.version for kept in found} == {2}


def test_an_edit_of_another_process_is_heard_of(opener: Opener) -> None:
    """Two stores on one database are what two processes have."""
    here, there = opener(), opener()
    kept = here.new_job("Tick", 4)
    heard: list[int] = []

    def wait() -> None:
        heard.extend(line.version for line in here.changes_since(kept.id, 1, 30.0))

    waiting = threading.Thread(target=wait)
    waiting.start()
    there.edit(kept.id, Change("title", "Tick", "Knock"), 1)
    waiting.join(30.0)
    assert heard == [2]


def test_a_store_can_be_opened_by_many_at_once(opener: Opener) -> None:
    """Nobody makes the tables twice."""
    with ThreadPoolExecutor(6) as pool:
        stores = list(pool.map(lambda _: opener(), range(6)))
    stores[0].new_job("Tick", 4)
    assert all(len(store.jobs()) == 1 for store in stores)
