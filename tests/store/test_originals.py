"""Originals: kept byte for byte, never written again, damage told."""

from __future__ import annotations

from pathlib import Path

import pytest

from gaugewright.errors import InputError
from gaugewright.store import originals


def handed(folder: Path, content: bytes, name: str = "hot idle.csv") -> Path:
    folder.mkdir(exist_ok=True)
    (folder / name).write_bytes(content)
    return folder / name


def test_a_recording_is_kept_byte_for_byte_with_its_checksum(tmp_path: Path) -> None:
    content = bytes(range(256)) * 5000
    source = handed(tmp_path / "stick", content)
    kept = originals.keep(tmp_path / "job", source, "hot idle.csv")
    assert kept.file == "recordings/hot idle.csv"
    assert (tmp_path / "job" / kept.file).read_bytes() == content
    assert source.read_bytes() == content
    assert originals.noted(tmp_path / "job", kept.file) == kept
    assert originals.damage(tmp_path / "job", kept.file) is None
    left = sorted(path.name for path in (tmp_path / "job").rglob("*") if path.is_file())
    assert left == ["hot idle.csv", "hot idle.csv.json"]


def test_the_same_file_is_kept_once_and_another_gets_a_number(tmp_path: Path) -> None:
    names = [
        originals.keep(tmp_path / "job", handed(tmp_path / "stick", content), "run.csv").file
        for content in (b"one", b"one", b"two", b"three", b"two")
    ]
    assert names == [f"recordings/run{n}.csv" for n in ("", "", "-2", "-3", "-2")]
    kept = [(tmp_path / "job" / name).read_bytes() for name in names]
    assert kept == [b"one", b"one", b"two", b"three", b"two"]


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\logs\\run.csv", "run.csv"),
        ("a/b/run.csv", "run.csv"),
        ("", "recording"),
        ("..", "recording"),
        ("run?.csv", "run-.csv"),
        ("nul.csv", "recording-nul.csv"),
        (".part-1.csv", "part-1.csv"),
        ("bad\nname\x00.csv", "bad-name-.csv"),
        ("Öl heiß.csv", "Öl heiß.csv"),
        ("x" * 300 + ".csv", "x" * 96 + ".csv"),
        ("漢" * 100 + ".csv", "漢" * 32 + ".csv"),
    ],
)
def test_a_name_is_made_safe(tmp_path: Path, given: str, kept: str) -> None:
    found = originals.keep(tmp_path / "job", handed(tmp_path / "stick", b"x"), given)
    assert found.file == f"recordings/{kept}"
    assert (tmp_path / "job" / found.file).read_bytes() == b"x"


def test_damage_is_told_in_one_sentence(tmp_path: Path) -> None:
    job = tmp_path / "job"
    file = originals.keep(job, handed(tmp_path / "stick", b"0123456789"), "run.csv").file
    path = job / file
    path.chmod(0o644)
    path.write_bytes(b"0123456788")
    found = originals.damage(job, file)
    assert found is not None
    assert found.sentence == (
        "recordings/run.csv: the recording is not what it was when it was brought in (its "
        "checksum differs); bring the recording in again from where it came."
    )
    path.unlink()
    found = originals.damage(job, file)
    assert found is not None
    assert "is no longer there" in found.sentence
    path.write_bytes(b"0123456789")
    assert originals.damage(job, file) is None
    originals.manifest_path(job, file).write_text("{", encoding="utf-8")
    found = originals.damage(job, file)
    assert found is not None
    assert "the manifest with its checksum is missing or damaged" in found.sentence


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        originals.keep(tmp_path / "job", tmp_path / "nowhere.csv", "nowhere.csv")
    assert not list((tmp_path / "job" / "recordings").iterdir())


def test_a_disk_without_links_keeps_recordings_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object) -> None:
        raise PermissionError("no links here")

    monkeypatch.setattr("os.link", no_links)
    for content, name in ((b"one", "run.csv"), (b"two", "run-2.csv"), (b"one", "run.csv")):
        kept = originals.keep(tmp_path / "job", handed(tmp_path / "stick", content), "run.csv")
        assert kept.file == f"recordings/{name}"
        assert (tmp_path / "job" / kept.file).read_bytes() == content
    assert len(list((tmp_path / "job" / "recordings").iterdir())) == 2
