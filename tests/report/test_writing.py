"""Pages are written whole or not at all, and a failure is one sentence."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from report_sample import outcome, preferences

from gaugewright.errors import OutputError
from gaugewright.report import pages, writing

OLD = {"handover.pdf": b"old sheet", "record.pdf": b"old record", "pages.html": b"old pages"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, content in OLD.items():
        (tmp_path / name).write_bytes(content)
    return tmp_path


def standing(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def failing(code: int, after: int = 0) -> Callable[..., Any]:
    """An operation that fails with this error from its call number `after` on."""
    calls = iter(range(99))

    def fail(*_: object, **__: object) -> None:
        if next(calls) >= after:
            raise OSError(code, os.strerror(code))

    return fail


def test_three_files_are_written_and_named(tmp_path: Path) -> None:
    made = pages.write(outcome(), tmp_path / "new" / "pages", preferences())
    assert [path.name for path in made] == ["handover.pdf", "record.pdf", "pages.html"]
    assert all(path.stat().st_size > 10_000 for path in made)
    assert len(list((tmp_path / "new" / "pages").iterdir())) == 3


def test_old_pages_are_replaced(folder: Path) -> None:
    pages.write(outcome(), folder, preferences())
    assert (folder / "handover.pdf").read_bytes().startswith(b"%PDF")
    assert set(standing(folder)) == set(OLD)


@pytest.mark.parametrize("after", [0, 1, 2])
def test_a_full_disk_leaves_the_old_pages(
    folder: Path, monkeypatch: pytest.MonkeyPatch, after: int
) -> None:
    monkeypatch.setattr(os, "fsync", failing(errno.ENOSPC, after))
    with pytest.raises(OutputError) as failure:
        pages.write(outcome(), folder, preferences())
    assert failure.value.text == f"{folder}: the disk is full; free some space and write again."
    assert failure.value.exit_code == 3
    assert standing(folder) == OLD


def test_a_full_disk_while_typesetting_is_the_same_sentence(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "mkdtemp", failing(errno.ENOSPC))
    with pytest.raises(OutputError, match="the disk is full; free some space and write again"):
        pages.write(outcome(), folder, preferences())
    assert standing(folder) == OLD


def test_a_folder_that_may_not_be_written(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(writing.tempfile, "mkstemp", refuse)
    with pytest.raises(OutputError) as failure:
        writing.write_together(folder, {"handover.pdf": b"new"})
    assert failure.value.text == (
        f"{folder}: the folder cannot be written; choose another folder or allow writing to it."
    )
    assert standing(folder) == OLD


@pytest.fixture
def nobody() -> Iterator[None]:
    """Runs as a user who may write nowhere: root is forbidden nothing."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    yield
    os.seteuid(0)


@pytest.mark.usefixtures("nobody")
def test_a_folder_without_leave_to_write() -> None:
    with pytest.raises(OutputError, match="the folder cannot be written"):
        writing.write_together(Path("/usr/gaugewright-pages"), {"handover.pdf": b"new"})


def test_a_file_where_the_folder_should_be(tmp_path: Path) -> None:
    (tmp_path / "pages").write_text("a file")
    with pytest.raises(OutputError, match="this is not a folder; name a folder for the pages"):
        writing.write_together(tmp_path / "pages", {"handover.pdf": b"new"})


def test_a_folder_where_a_page_should_be(tmp_path: Path) -> None:
    (tmp_path / "record.pdf").mkdir()
    with pytest.raises(OutputError, match=r"record\.pdf: a folder stands in a page's place"):
        writing.write_together(tmp_path, {"handover.pdf": b"new", "record.pdf": b"new"})
    assert [path.name for path in tmp_path.iterdir()] == ["record.pdf"]
