"""The package as it is handed out holds every file that the code reads."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
def test_a_wheel_holds_every_file_of_the_source(tmp_path: Path) -> None:
    source = tmp_path / "source"
    names = subprocess.run(
        ["git", "ls-files", "-z", "src", "pyproject.toml", "README.md", "LICENSE", "NOTICE"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split("\0")
    for name in filter(None, names):
        (source / name).parent.mkdir(parents=True, exist_ok=True)
        (source / name).write_bytes((ROOT / name).read_bytes())
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation"]
    subprocess.run([*build, "-w", str(tmp_path), str(source)], check=True, capture_output=True)
    [wheel] = tmp_path.glob("*.whl")
    packed = set(zipfile.ZipFile(wheel).namelist())
    expected = {name.removeprefix("src/") for name in names if name.startswith("src/")}
    assert len(expected) > 100
    assert expected - packed == set()
    assert {"LICENSE", "NOTICE"} <= {name.rpartition("/")[2] for name in packed}
