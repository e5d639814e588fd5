"""Killed at any moment, the store holds the state before or the state after, whole."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from killing import look_at_everything
from sqlalchemy import text

from gaugewright.store.changes import Change
from gaugewright.store.database import writing
from gaugewright.store.store import open_store

SHOPS, ROUNDS = 11, 20
SCRIPT = Path(__file__).with_name("killing.py")


def killed(url: str | None, folder: Path, rounds: int, seed: int) -> dict[str, int]:
    """What was finished between so many kills; fails where anything was found not whole."""
    command = [sys.executable, str(SCRIPT), url or "-", str(folder), str(rounds), str(seed)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-4000:]
    told = json.loads(done.stdout.splitlines()[-1])
    assert told["killed"] == rounds
    return dict(told["done"])


@pytest.mark.slow
def test_killed_a_few_times(tmp_path: Path, url: str | None) -> None:
    killed(url, tmp_path / "shop", 4, 11)


@pytest.mark.slow
def test_killed_at_any_moment(tmp_path: Path, new_url: Callable[[], str | None]) -> None:
    """220 kills: every job, its history, every file, bundle and folder is looked at after each.

    Every twenty kills in a shop of its own, so that there is never too much to look at.
    """
    done: Counter[str] = Counter()
    for shop in range(SHOPS):
        done.update(killed(new_url(), tmp_path / f"shop-{shop}", ROUNDS, 7 + shop))
    assert set(done) == {
        "edit", "take", "undo", "redo", "record", "folder", "bundle", "take-in", "card"
    }  # fmt: skip


def test_what_is_not_whole_would_be_noticed(tmp_path: Path) -> None:
    """Each kind of half-done work, made by hand, is found by what looks at everything."""
    store = open_store(folder=tmp_path / "data")
    kept = store.new_job("Tick", 4)
    file = tmp_path / "run.csv"
    file.write_text("t,oil\n" + "".join(f"{k / 100},{k % 9}\n" for k in range(300)), "utf-8")
    signal = [{"column": "oil", "quantity": "oil-pressure", "unit": "kPa"}]
    kept = store.add_recording(kept.id, "run", file, {"time": "t", "signal": signal}, 1)
    (tmp_path / "out").mkdir()
    (tmp_path / "stick").mkdir()
    (tmp_path / "stick" / "run.csv").write_bytes(file.read_bytes())
    store.export(kept.id, tmp_path / "out" / "whole")
    look_at_everything(store, tmp_path)

    original = kept.folder / "recordings/run.csv"
    whole = original.read_bytes()
    original.chmod(0o644)
    original.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(AssertionError):
        look_at_everything(store, tmp_path)
    original.write_bytes(whole)
    lane = next((kept.folder / "lanes").rglob("0.npy"))
    lane.write_bytes(lane.read_bytes()[:-8])
    with pytest.raises(AssertionError):
        look_at_everything(store, tmp_path)
    store.lanes(kept.id, 0)
    look_at_everything(store, tmp_path)
    (tmp_path / "out" / "half.zip").write_bytes(b"PK\x03\x04")
    with pytest.raises(Exception, match="zip"):
        look_at_everything(store, tmp_path)
    (tmp_path / "out" / "half.zip").unlink()
    kept = store.edit(kept.id, Change("title", "Tick", "Knock"), store.version(kept.id))
    with writing(store.engine) as connection:
        connection.execute(text("UPDATE job SET document = replace(document, 'Knock', 'Tick')"))
    with pytest.raises(AssertionError):
        look_at_everything(store, tmp_path)
    store.close()
