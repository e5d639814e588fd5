"""The workshop's own odds: by flag, by settings, told beside the causes."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import pytest

from gaugewright.analysis.analyse import analyse
from gaugewright.causes.odds_file import shipped, written
from gaugewright.causes.own_odds import own_table
from gaugewright.cli import main
from gaugewright.cli.settings import odds_files
from gaugewright.evidence.results import Findings
from gaugewright.job.folder import opened

JOB = """
format = 1
title = "Oil lamp at the lights"
[vehicle]
cylinders = 4
cycle = "four-stroke"
[complaint]
text = "oil lamp flickers"
[[reading]]
quantity = "oil-pressure"
value = "70 kPa"
uncertainty = "2 kPa"
condition = "hot idle"
speed = "800 rpm"
oil_temperature = "90 degC"
"""
CLOSED = """
format = 1
[[closed]]
causes = ["worn-bearings"]
count = 400
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return _written(tmp_path / "job" / "job.toml", JOB).parent


def _written(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def _findings(place: Path, odds: Path | None = None, closed: Path | None = None) -> Findings:
    with opened(place) as (job, folder):
        return analyse(job, folder, table=own_table(odds, closed)).findings


@pytest.mark.slow
def test_closed_jobs_move_the_odds_and_the_findings_say_so(job: Path, tmp_path: Path) -> None:
    closed = _written(tmp_path / "closed.toml", CLOSED)
    moved = _findings(job, closed=closed)
    before, after = (
        next(c for c in found.causes if c.cause == "worn-bearings")
        for found in (_findings(job), moved)
    )
    assert (after.before or 0.0) > 2.0 * (before.before or 0.0)
    assert after.probability > before.probability
    told = [w.text for w in moved.warnings if w.code == "odds-replaced"]
    assert told == [
        "the odds before any evidence are those that ship with the program, "
        "moved by 400 closed jobs of closed.toml"
    ]


@pytest.mark.slow
def test_a_table_like_the_shipped_one_changes_no_number(job: Path, tmp_path: Path) -> None:
    odds = _written(tmp_path / "mine.toml", written(shipped()))
    plain = _findings(job)
    assert _findings(job, odds=odds).causes == plain.causes
    assert "odds-replaced" not in {warning.code for warning in plain.warnings}


def test_the_flag_is_followed_down_to_the_terminal(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    odds = _written(tmp_path / "mine.toml", written(shipped()))
    assert main(["analyse", str(job), "--odds", str(odds)]) == 0
    assert "the odds before any evidence are those of mine.toml" in capsys.readouterr().out


def test_a_wrong_table_is_told_with_file_and_key(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = written(shipped()).replace("worn-pump = 3\n", "worn-pump = 0\n", 1)
    odds = _written(tmp_path / "mine.toml", text)
    assert main(["analyse", str(job), "--odds", str(odds)]) == 2
    assert capsys.readouterr().err == (
        f"{odds}, lamp.worn-pump: found 0; "
        "give a number above 0; what never happened yet gets a small one.\n"
    )


def test_a_missing_file_of_closed_jobs_is_told(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["analyse", str(job), "--closed", str(tmp_path / "none.toml")]) == 2
    assert capsys.readouterr().err.startswith(f"{tmp_path / 'none.toml'}: it cannot be read (")


def test_settings_name_the_files_from_their_own_folder(no_settings: Path) -> None:
    _written(no_settings, 'odds = "mine.toml"\nclosed = "/shop/closed.toml"\n')
    here, shop = no_settings.parent, Path("/shop/closed.toml")
    assert odds_files(Namespace(odds=None, closed=None)) == (here / "mine.toml", shop)
    mine = Path("other.toml")
    assert odds_files(Namespace(odds=mine, closed=None)) == (mine, shop)
    assert odds_files(Namespace()) == (here / "mine.toml", shop)


def test_without_flags_and_settings_there_are_none() -> None:
    assert odds_files(Namespace(odds=None, closed=None)) == (None, None)
    assert own_table(None, None) is None
