"""Kills a working process at random moments, again and again, and looks at all that is kept.

    python killing.py URL FOLDER ROUNDS SEED

URL "-" is SQLite in FOLDER.  Each round a child works on one job (edits, undo, redo, recordings,
exports, jobs taken in) and is killed with SIGKILL; another child then opens the store and looks
at everything.  The last line printed is a JSON with what was done.  A fresh process, so that
children can be forked before any library has started threads.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sys
import time
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import polars  # noqa: F401  (imported before the children are forked, never used here)
from sqlalchemy import make_url

from gaugewright.errors import GaugewrightError
from gaugewright.job.folder import read
from gaugewright.recording import reading  # noqa: F401
from gaugewright.recording.source import sha256
from gaugewright.store import adding, bags, originals  # noqa: F401
from gaugewright.store.changes import Change, at, carried_out, inverse, plain
from gaugewright.store.database import reading as looking
from gaugewright.store.exchange import files_of
from gaugewright.store.lines import Kept
from gaugewright.store.rows import edit_rows, moves_from
from gaugewright.store.store import Store, open_store

LIMIT = {"quantity": "oil-pressure", "min": "0.9 bar", "source": "manual"}


class Worker:
    """Does one thing after the other, and tells what it has finished."""

    def __init__(self, store: Store, folder: Path, chance: random.Random, told: int) -> None:
        self.store, self.folder, self.chance, self.told = store, folder, chance, told
        self.job = next(line.id for line in store.jobs() if line.number == 1)

    def tell(self, kind: str, version: int) -> None:
        os.write(self.told, f"{kind} {version}\n".encode())

    def work(self) -> None:
        kinds: dict[str, Callable[[Kept], None]] = {
            "edit": self.edit, "take": self.take, "undo": self.undo, "redo": self.redo,
            "record": self.record, "folder": self.folder_out, "bundle": self.bundle_out,
            "take-in": self.take_in, "card": self.card,
        }  # fmt: skip
        self.tell("ready", self.store.version(self.job))
        while True:
            kind = self.chance.choices(list(kinds), [6, 2, 3, 2, 4, 2, 2, 2, 1])[0]
            kept = self.store.job(self.job)
            try:
                kinds[kind](kept)
            except GaugewrightError as error:
                if "nothing to" not in str(error) and "changed elsewhere" not in str(error):
                    raise
            self.tell(kind, self.store.version(self.job))

    def edit(self, kept: Kept) -> None:
        item = {"name": f"limit {time.monotonic_ns()}", **LIMIT}
        changes = [Change("limit.-", None, item)]
        title = kept.tables["title"]
        changes.append(Change("title", title, f"Tick {self.chance.random()}"))
        self.store.edit(self.job, changes, kept.version, "bay 1")

    def take(self, kept: Kept) -> None:
        for name in ("limit", "recording"):
            items: list[Any] = kept.tables.get(name, [])
            if len(items) > 3:
                where = self.chance.randrange(len(items))
                self.store.edit(self.job, Change(f"{name}.{where}", items[where]), kept.version)
                return

    def undo(self, kept: Kept) -> None:
        self.store.undo(self.job, kept.version)

    def redo(self, kept: Kept) -> None:
        self.store.redo(self.job)

    def record(self, kept: Kept) -> None:
        name = f"run {time.monotonic_ns()}"
        file = self.folder / "stick" / f"{self.chance.randrange(6)}.csv"
        mapping = {
            "time": "t",
            "signal": [{"column": "oil", "quantity": "oil-pressure", "unit": "kPa"}],
            "condition": [{"name": "as found", "from": "1 s", "to": "3 s"}],
        }
        self.store.add_recording(self.job, name, file, mapping, kept.version)

    def folder_out(self, kept: Kept) -> None:
        self.store.export(self.job, self.folder / "out" / f"f{time.monotonic_ns()}")

    def bundle_out(self, kept: Kept) -> None:
        path = self.folder / "out" / f"b{time.monotonic_ns()}.zip"
        self.store.export(self.job, path, bundle=True)

    def take_in(self, kept: Kept) -> None:
        made = self.folder / f"handed-{time.monotonic_ns()}"
        try:
            (made / "recordings").mkdir(parents=True)
            shutil.copyfile(self.folder / "stick" / "0.csv", made / "recordings" / "run.csv")
            (made / "job.toml").write_text(HANDED.replace("NAME", made.name), "utf-8")
            self.store.take_in(made)
        finally:
            shutil.rmtree(made, ignore_errors=True)

    def card(self, kept: Kept) -> None:
        self.store.cards.save({"name": f"card {time.monotonic_ns()}"})


HANDED = """\
format = 1
title = "NAME"

[vehicle]
cylinders = 4
cycle = "four-stroke"

[[recording]]
name = "run"
file = "recordings/run.csv"
time = "t"

  [[recording.signal]]
  column = "oil"
  quantity = "oil-pressure"
  unit = "kPa"
"""


def look_at_everything(store: Store, folder: Path) -> None:
    """Every job, its history, its files, and everything that was written out."""
    for line in (*store.jobs(), *store.jobs(set_aside=True)):
        kept = store.job(line.id)
        assert kept.version == line.version
        look_at_history(store, kept)
        for name in files_of(kept.tables):
            assert originals.damage(kept.folder, name) is None, name
        assert store.check(kept.id) == ()
        for place in ("lanes", "stages"):
            look_at_bags(kept.folder / place)
        after = store.edit(
            kept.id,
            Change("place.altitude", at(kept.tables, ("place", "altitude")), f"{kept.version} m"),
            kept.version,
        )
        assert store.undo(kept.id, after.version).tables == kept.tables
    for path in sorted((folder / "out").iterdir()):
        if not path.name.startswith("."):
            look_at_export(path)
    assert all(card.sensor["name"] == card.name for card in store.cards.all())


def look_at_history(store: Store, kept: Kept) -> None:
    """Walk it back from the document to the first version: each line finds what it left."""
    with looking(store.engine) as connection:
        rows = edit_rows(connection, kept.id)
    assert [row.version for row in rows] == list(range(1, kept.version + 1))
    tables = plain(kept.tables)
    for row in reversed(rows):
        for move in inverse(moves_from(row.moves)):
            if move.kind != "insert":
                assert at(tables, move.path) == move.before, (row.version, move)
            tables = carried_out(tables, [move])
    assert tables["vehicle"] == {"cylinders": 4, "cycle": "four-stroke"}
    assert "limit" not in tables


def look_at_bags(folder: Path) -> None:
    for path in folder.iterdir() if folder.is_dir() else ():
        if not path.name.startswith(bags.PART):
            bag = bags.opened(path)
            assert bag is not None, path
            bag.check()


def look_at_export(path: Path) -> None:
    """A folder or bundle under its own name is whole, with the bytes that were handed in."""
    handed = {sha256(file) for file in (path.parents[1] / "stick").iterdir()}
    if path.suffix == ".zip":
        packed = zipfile.ZipFile(path)
        assert packed.testzip() is None, path
        assert "job.toml" in packed.namelist(), path
        path.unlink()
        return
    text = (path / "job.toml").read_text("utf-8")
    if "[[recording]]" in text:
        job, _ = read(path)
        assert {sha256(path / entry.file) for entry in job.recordings} <= handed, path
    shutil.rmtree(path)


def child(task: Callable[[], None]) -> int:
    """Run a task in a child of its own; its process id."""
    made = os.fork()
    if made:
        return made
    try:
        task()
    except BaseException:
        traceback.print_exc()
        os._exit(1)
    os._exit(0)


def begin(url: str | None, folder: Path) -> None:
    """The first job, the recordings on the stick, the place for what is written out."""
    (folder / "stick").mkdir(parents=True)
    (folder / "out").mkdir()
    for number in range(6):
        rows = "".join(f"{k / 100},{90 + number + k % 7}\n" for k in range(400 + 2000 * number))
        (folder / "stick" / f"{number}.csv").write_text("t,oil\n" + rows, "utf-8")
    open_store(url, folder / "data").new_job("Tick", 4)


def warmed(folder: Path, url: str | None) -> None:
    """Load what loads late before the children are forked: none of it starts a thread."""
    if url is not None:
        make_url("postgresql+psycopg://").get_dialect().import_dbapi()
    store = open_store(None, folder / "warm")
    kept = store.new_job("Warm", 4)
    kept = store.edit(kept.id, Change("limit.-", None, {"name": "a", **LIMIT}), 1)
    store.undo(kept.id, kept.version)
    store.close()


def round_of(url: str | None, folder: Path, chance: random.Random) -> list[str]:
    """One child at work, killed; what it told before."""
    reads, told = os.pipe()
    seed = chance.random()

    def work() -> None:
        os.close(reads)
        Worker(open_store(url, folder / "data"), folder, random.Random(seed), told).work()

    at_work = child(work)
    os.close(told)
    with os.fdopen(reads, "rb") as pipe:
        lines, took = [pipe.readline()], 0.1
        for _ in range(chance.randrange(5)):
            begun = time.monotonic()
            lines.append(pipe.readline())
            took = time.monotonic() - begun
        time.sleep(chance.uniform(0.0, 1.5 * took))
        os.kill(at_work, signal.SIGKILL)
        _, status = os.waitpid(at_work, 0)
        assert os.WIFSIGNALED(status), "the child ended by itself"
        lines += pipe.read().splitlines()
    finished = [line.decode().split() for line in lines]
    version = int(finished[-1][1])

    def look() -> None:
        store = open_store(url, folder / "data")
        job = next(line for line in store.jobs() if line.number == 1)
        assert version <= job.version <= version + 1, (version, job.version)
        look_at_everything(store, folder)

    _, status = os.waitpid(child(look), 0)
    assert status == 0, "what is kept is not whole"
    for left in folder.glob("handed-*"):
        shutil.rmtree(left)
    return [kind for kind, _ in finished[1:]]


def main() -> None:
    """Rounds of killing; the last line says how many, and what was finished between them."""
    url, folder, rounds, seed = sys.argv[1:5]
    place, chance = Path(folder), random.Random(int(seed))
    address = None if url == "-" else url
    _, status = os.waitpid(child(lambda: begin(address, place)), 0)
    assert status == 0
    warmed(place, address)
    done: Counter[str] = Counter()
    for _ in range(int(rounds)):
        done.update(round_of(address, place, chance))
    print(json.dumps({"killed": int(rounds), "done": dict(done)}))


if __name__ == "__main__":
    main()
