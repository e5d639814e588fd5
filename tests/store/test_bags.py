"""Bags: there whole or not at all, and every damage noticed."""

from __future__ import annotations

import os
import random
import time
from pathlib import Path

import numpy as np
import pytest

from gaugewright.store import bags
from gaugewright.store.bags import Bag, DamagedError

ARRAYS = {"time": np.arange(50.0), "lane 0": np.ones((3, 4), dtype=np.float32)}


@pytest.fixture
def bag(tmp_path: Path) -> Bag:
    return bags.write(tmp_path / "a", ARRAYS, {"rows": 50})


def test_what_is_written_is_read_back_and_cannot_be_changed(bag: Bag) -> None:
    found = bags.opened(bag.folder)
    assert found is not None
    assert found.about == {"rows": 50}
    for name, array in ARRAYS.items():
        assert np.array_equal(found.array(name), array)
        assert found.array(name).dtype == array.dtype
        with pytest.raises(ValueError, match="read-only"):
            found.array(name)[0] = 0
    found.check()
    assert bags.opened(bag.folder.with_name("b")) is None


def test_nothing_is_left_beside_it(bag: Bag) -> None:
    assert [path.name for path in bag.folder.parent.iterdir()] == ["a"]


def test_the_second_of_two_writers_finds_the_first_ones(bag: Bag) -> None:
    bags.write(bag.folder, {"time": np.zeros(3)}, {"rows": 3})
    found = bags.opened(bag.folder)
    assert found is not None
    assert found.about == {"rows": 50}
    assert [path.name for path in bag.folder.parent.iterdir()] == ["a"]


def test_any_byte_that_changes_is_noticed(bag: Bag) -> None:
    """One bit of any file, anywhere: told when opened, when read, or by the checksum."""
    chance = random.Random(3)
    files = sorted(path for path in bag.folder.iterdir() if path.suffix == ".npy")
    for _ in range(60):
        path = chance.choice(files)
        whole = path.read_bytes()
        place = chance.randrange(len(whole))
        changed = bytes([whole[place] ^ (1 << chance.randrange(8))])
        path.write_bytes(whole[:place] + changed + whole[place + 1 :])
        with pytest.raises(DamagedError, match=path.name):
            _look_at(bag.folder)
        path.write_bytes(whole)
    _look_at(bag.folder)


def _look_at(folder: Path) -> None:
    found = bags.opened(folder)
    assert found is not None
    found.check()


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("0.npy", None, "0.npy is missing or of another length"),
        ("0.npy", b"", "0.npy is missing or of another length"),
        ("manifest.json", None, "manifest.json is not there"),
        ("manifest.json", b"{", "manifest.json cannot be read"),
        ("manifest.json", b"[]", "manifest.json cannot be read"),
        ("manifest.json", b'{"files": 3, "about": {}}', "manifest.json cannot be read"),
    ],
)
def test_a_missing_or_empty_file_is_told(
    bag: Bag, name: str, content: bytes | None, said: str
) -> None:
    path = bag.folder / name
    path.unlink() if content is None else path.write_bytes(content)
    with pytest.raises(DamagedError, match=said):
        bags.opened(bag.folder)


def test_a_damaged_bag_can_be_made_anew(bag: Bag) -> None:
    bags.discard(bag.folder)
    assert bags.opened(bag.folder) is None
    bags.write(bag.folder, ARRAYS, {})
    _look_at(bag.folder)


def test_only_what_nobody_writes_any_more_is_swept(tmp_path: Path) -> None:
    for name in (".part-old", ".part-new", "kept"):
        (tmp_path / name).mkdir()
    (tmp_path / ".part-file").write_text("x", encoding="utf-8")
    long_ago = time.time() - 2 * bags.STALE_S
    for name in (".part-old", ".part-file", "kept"):
        os.utime(tmp_path / name, (long_ago, long_ago))
    bags.sweep(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == [".part-new", "kept"]
    bags.sweep(tmp_path / "nowhere")
