"""A disk that is full: exit code 3, one sentence, and what stood there before still stands.

On a kernel that allows it the disk is a real one, a tmpfs of one page in a mount namespace of its
own; elsewhere the system's answer is put in below our writers.
"""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from gaugewright.cli import main

JOB = """format = 1
title = "Oil lamp at the lights"
[vehicle]
cylinders = 4
cycle = "four-stroke"
[[limit]]
name = "hot idle"
quantity = "oil-pressure"
min = "13 psi"
[[reading]]
quantity = "oil-pressure"
value = "17 psi"
uncertainty = "0.3 psi"
condition = "hot idle"
"""

NAMESPACE = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c"]

IN_NAMESPACE = """
mount -t tmpfs -o size=4k,nr_inodes=16 tmpfs "$1" || exit 90
printf before > "$1/$2"
shift 2
"$@"
echo "exit $?"
cat "$OLD"; echo
ls -A "$FOLDER"
"""


def namespaces_work(folder: Path) -> bool:
    probe = [*NAMESPACE, f"mount -t tmpfs -o size=4k tmpfs '{folder}'"]
    try:
        return subprocess.run(probe, capture_output=True, timeout=20).returncode == 0
    except (OSError, subprocess.TimeoutExpired):
        return False


@pytest.fixture
def job(tmp_path: Path) -> Path:
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    return folder


def on_a_full_disk(job: Path, disk: Path, old: str, words: list[str]) -> tuple[int, str, bool]:
    """Exit code, what was told, and whether the old file stands alone, on a real full disk."""
    command = [sys.executable, "-m", "gaugewright", "analyse", str(job), *words]
    env = {**os.environ, "OLD": str(disk / old), "FOLDER": str(disk)}
    done = subprocess.run(
        [*NAMESPACE, IN_NAMESPACE, "sh", str(disk), old, *command],
        capture_output=True,
        text=True,
        env=env,
        timeout=120,
    )
    lines = done.stdout.splitlines()
    code = next(int(line.split()[1]) for line in lines if line.startswith("exit "))
    return code, done.stderr, lines[-2:] == ["before", old]


def with_an_answer_put_in(
    job: Path, disk: Path, old: str, words: list[str], monkeypatch: pytest.MonkeyPatch
) -> tuple[int, bool]:
    """The same where the kernel allows no namespace: every sync to disk says that it is full."""

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    (disk / old).write_text("before", encoding="utf-8")
    monkeypatch.setattr(os, "fsync", full)
    code = main(["analyse", str(job), *words])
    names = [path.name for path in disk.iterdir()]
    return code, names == [old] and (disk / old).read_text("utf-8") == "before"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("old", "option"), [("findings.json", "--json"), ("handover.pdf", "--report")]
)
def test_a_full_disk(
    job: Path,
    tmp_path: Path,
    old: str,
    option: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    words = [option, str(disk / old if option == "--json" else disk)]
    if namespaces_work(disk):
        code, told, untouched = on_a_full_disk(job, disk, old, words)
    else:
        code, untouched = with_an_answer_put_in(job, disk, old, words, monkeypatch)
        told = capsys.readouterr().err
    assert code == 3
    assert "No space left on device" in told or "the disk is full" in told
    assert told.count("\n") == 1
    assert untouched
