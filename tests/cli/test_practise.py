"""`gaugewright practise` from the outside: what it makes, what it says, what it refuses."""

from __future__ import annotations

from pathlib import Path

import pytest

from gaugewright.cli import main
from gaugewright.cli.practice_rows import HOW_BAD, how_bad
from gaugewright.engine.faults import FAULTS
from gaugewright.examples.practice import make as making
from gaugewright.examples.practice.truth import Fault
from gaugewright.report import words

SOME = ["--level", "3", "--seed", "4"]


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("practise") / "job"
    assert main(["practise", *SOME, "--folder", str(folder)]) == 0
    return folder


def test_it_says_where_the_job_is_and_how_to_go_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[tuple[Path, int, int]] = []
    monkeypatch.setattr(
        "gaugewright.examples.practice.make.make", lambda *given: made.append(given)
    )
    assert main(["practise", *SOME]) == 0
    assert made == [(Path("practice-3-4"), 3, 4)]
    told = capsys.readouterr().out.splitlines()
    assert told[0] == "practice job: practice-3-4"
    assert told[1].startswith("level 3, awkward: ")
    assert told[1].endswith("; seed 4")
    assert told[2] == "analyse it: gaugewright analyse practice-3-4"
    assert told[3] == "open the truth: gaugewright practise --reveal practice-3-4"


def test_a_seed_that_is_not_given_is_drawn_and_told(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[int] = []
    monkeypatch.setattr(
        "gaugewright.examples.practice.make.make", lambda _folder, _level, seed: made.append(seed)
    )
    main(["practise"])
    main(["practise"])
    assert made[0] != made[1]
    told = capsys.readouterr().out
    assert "level 1, plain: one clear fault, good instruments, telling conditions; " in told
    assert f"; seed {made[0]}\n" in told


def test_analyse_runs_on_it(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", str(job)]) == 0
    told = capsys.readouterr()
    assert "Practice 4, awkward" in told.out
    assert told.err == ""


def test_reveal_tells_the_truth(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["practise", "--reveal", str(job)]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Practice, level 3, seed 4\n")
    for heading in ("What was the matter", "True readings", "What gave it away"):
        assert f"\n{heading}\n" in told
    assert "oil pressure, at the bearings" in told
    assert "found" not in told


def test_reveal_beside_what_was_found(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["practise", "--reveal", str(job), "--analyse", "--pressure-unit", "psi"]) == 0
    told = capsys.readouterr().out
    row = next(line for line in told.splitlines() if "oil pressure, at the gauge" in line)
    true, found = row.split("gauge")[1].split("psi")[:2]
    value, half = (float(part) for part in found.split("±"))
    assert 0.0 < half < 0.3 * value
    assert abs(value - float(true)) < 2.0 * half
    assert "weighed" in told.splitlines()[3]
    assert "Weighed most: " in told


def test_reveal_says_when_the_job_is_not_as_it_was_made(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "truth.sealed").write_bytes((job / "truth.sealed").read_bytes())
    (tmp_path / "job.toml").write_text("# mine\n")
    assert main(["practise", "--reveal", str(tmp_path)]) == 0
    assert "job.toml is not as it was made." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (
            ["--reveal", "x", "--seed", "3"],
            "gaugewright practise, --reveal: found --seed beside it, which is for making a job; "
            "give one or the other.",
        ),
        (
            ["--analyse"],
            "gaugewright practise, --analyse: found without --reveal FOLDER; "
            "give one or the other.",
        ),
        (
            ["--reveal", "nowhere"],
            "nowhere/truth.sealed: it is not there; name a folder that gaugewright practise made.",
        ),
    ],
)
def test_what_cannot_be_is_told_in_one_sentence(
    words: list[str], sentence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["practise", *words]) == 2
    assert capsys.readouterr().err == f"{sentence}\n"


@pytest.mark.parametrize("words", [["--seed", "-1"], ["--seed", "1.5"], ["--level", "4"]])
def test_a_level_or_seed_that_is_none_is_2(words: list[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["practise", *words])
    assert stop.value.code == 2


def test_a_folder_that_cannot_be_written_is_3(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    blocked = tmp_path / "a file"
    blocked.write_text("in the way")
    monkeypatch.setattr(making, "job_files", lambda *_: {"job.toml": b""})
    assert main(["practise", *SOME, "--folder", str(blocked / "job")]) == 3
    assert capsys.readouterr().err.startswith(f"{blocked / 'job'}: cannot be written (")
    assert blocked.read_text() == "in the way"


def test_every_fault_has_its_word_and_every_severity_its_own() -> None:
    assert set(FAULTS) <= set(words.CAUSE)
    assert [how_bad(Fault("x", most - 0.02, "")) for most, _ in HOW_BAD] == [w for _, w in HOW_BAD]
    assert how_bad(Fault("x", 1.0, "")) == "gross"
