"""Killed in the middle of writing, the old results or the new ones stand there, never half."""

from __future__ import annotations

import json
import random
import subprocess
import sys
import time
from pathlib import Path

import pypdfium2
import pytest
from small import AS_FOUND, CAP_OFF, Held, usual

ROUNDS = 20
PAGES = ("handover.pdf", "record.pdf", "pages.html")


def command(job: Path, out: Path) -> list[str]:
    flags = ["--json", str(out / "findings.json"), "--report", str(out)]
    return [sys.executable, "-m", "gaugewright", "analyse", str(job), *flags]


def results(out: Path) -> dict[str, bytes]:
    """All that a reader would find; hidden left-overs apart."""
    return {p.name: p.read_bytes() for p in out.iterdir() if not p.name.startswith(".")}


def whole(name: str, content: bytes) -> bool:
    """Can the file be opened to its end?"""
    if name.endswith(".json"):
        return bool(json.loads(content)["readings"])
    if name.endswith(".html"):
        return content.rstrip().endswith(b"</html>")
    return len(pypdfium2.PdfDocument(content)) >= 1


@pytest.mark.slow
def test_killed_at_any_moment(tmp_path: Path) -> None:
    """20 runs, each killed at a random moment of its course: every file is an old or a new one.

    Two jobs of the same name take turns; what each writes when left alone is known.
    """
    jobs = [
        usual(tmp_path / "one", AS_FOUND, CAP_OFF),
        usual(tmp_path / "two", Held("as found", 120.0, 5.0), CAP_OFF),
    ]
    left_alone, took = [], 0.0
    for number, job in enumerate(jobs):
        out = tmp_path / f"alone-{number}"
        begun = time.monotonic()
        subprocess.run(command(job, out), check=True, capture_output=True)
        took = time.monotonic() - begun
        left_alone.append(results(out))
    assert set(left_alone[0]) == {"findings.json", *PAGES}
    out, chance, killed = tmp_path / "out", random.Random(7), 0
    subprocess.run(command(jobs[0], out), check=True, capture_output=True)
    for number in range(ROUNDS):
        running = subprocess.Popen(
            command(jobs[number % 2], out), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        try:
            running.wait(chance.uniform(0.2, 1.05) * took)
        except subprocess.TimeoutExpired:
            running.kill()
            running.wait()
            killed += 1
        for name, content in results(out).items():
            assert content in (left_alone[0][name], left_alone[1][name]), name
            assert whole(name, content), name
    assert killed >= ROUNDS // 2


def test_half_a_file_would_be_noticed(tmp_path: Path) -> None:
    for name, content in (
        ("findings.json", b'{"format": 1, "readings": [{"visit"'),
        ("pages.html", b"<!doctype html><html><body>"),
        ("record.pdf", b"%PDF-1.7\n1 0 obj"),
    ):
        with pytest.raises((ValueError, pypdfium2.PdfiumError, AssertionError)):
            assert whole(name, content)
