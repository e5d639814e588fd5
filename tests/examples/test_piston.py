"""The open recording ships whole, with its licence and its origin."""

from __future__ import annotations

import csv
import tomllib
from pathlib import Path

import pytest

from gaugewright.examples import piston


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    piston.make(tmp_path)
    return tmp_path


def test_licence_and_origin_go_with_the_recording(folder: Path) -> None:
    assert "MIT License" in (folder / "recordings/piston-start.LICENSE").read_text("utf-8")
    assert "ccea669" in (folder / "recordings/piston-start.txt").read_text("utf-8")


def test_the_recording_is_the_published_one(folder: Path) -> None:
    # Known of the recording from its origin: 501 rows after names and units, oil pressure's
    # peak 87 psi on cold oil, supply down to 10.6 V, 29.9 inHg in the manifold at rest.
    text = (folder / "recordings/piston-start.csv").read_text("utf-8")
    names, units, *rows = csv.reader(text.splitlines())
    column = {name: [float(row[i]) for row in rows] for i, name in enumerate(names) if i}
    assert len(rows) == 501
    assert units[names.index("oil pressure")] == "psi"
    assert max(column["oil pressure"]) == 87.0
    assert min(column["supply"]) == 10.6
    assert column["manifold pressure"][0] == 29.9


def test_the_job_names_columns_that_stand_in_the_recording(folder: Path) -> None:
    job = tomllib.loads((folder / "job.toml").read_text("utf-8"))
    [recording] = job["recording"]
    header = (folder / recording["file"]).read_text("utf-8").splitlines()[0].split(",")
    named = [signal["column"] for signal in recording["signal"]] + [recording["time"]]
    assert set(named) <= set(header)
