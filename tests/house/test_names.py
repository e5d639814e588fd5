"""No tracked file names the paths of one machine, a package registry, or unfit words."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

PARTS = (
    ("/wo", "rk/"), ("/fa", "rm/"), ("/opt/", "pypi"), ("/tmp/bash", "_jobs"), ("py", "pi.org"),
    ("python", "hosted"), ("registry.", "npmjs"), ("ana", "conda.org"), ("--index", "-url h"),
    ("--extra-index", "-url"), ("--find", "-links"), ("trans", "cript"), ("seed ", "document"),
    ("source ", "document"),
)  # fmt: skip
FORBIDDEN = re.compile("|".join(re.escape(a + b) for a, b in PARTS), re.IGNORECASE)
THIS = Path(__file__).relative_to(ROOT).as_posix()


def tracked() -> list[str]:
    done = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return [name for name in done.stdout.split("\0") if name and (ROOT / name).is_file()]


def found_in(text: str) -> list[str]:
    return FORBIDDEN.findall(text)


def test_no_tracked_file_holds_a_forbidden_word() -> None:
    names = tracked()
    assert len(names) > 20
    hits = {}
    for name in names:
        text = (ROOT / name).read_bytes().decode("utf-8", errors="replace")
        if name != THIS and (found := found_in(f"{name}\n{text}")):
            hits[name] = found
    assert hits == {}


@pytest.mark.parametrize("word", [a + b for a, b in PARTS])
def test_each_word_would_be_found(word: str) -> None:
    assert found_in(f"before {word} after")


def test_the_pins_hold_hashes_and_no_address() -> None:
    for path in (ROOT / "requirements").glob("*.txt"):
        text = path.read_text(encoding="utf-8")
        assert "://" not in text
        entries = re.findall(r"^[a-z0-9][^\n]*(?:\n {4}[^\n]*)*", text, re.MULTILINE)
        assert entries
        assert all("==" in entry and "--hash=sha256:" in entry for entry in entries)
