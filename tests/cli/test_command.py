"""Exit codes and sentences: what a script and a person get from a command that fails."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from gaugewright import METHOD_VERSION, __version__
from gaugewright.analysis.outcome import Outcome
from gaugewright.cli import command, help_text, main
from gaugewright.cli.options import COMMANDS, parser
from gaugewright.errors import InputError, OutputError, Problem


@pytest.fixture
def analysed(monkeypatch: pytest.MonkeyPatch, outcome: Outcome) -> None:
    monkeypatch.setattr(command, "_analysed", lambda path, table: outcome)


def failing(error: BaseException):  # type: ignore[no-untyped-def]
    def fail(path: Path, table: object) -> Outcome:
        raise error

    return fail


def test_done_is_0(analysed: None, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", "job"]) == 0
    assert "Tick at hot idle" in capsys.readouterr().out


def test_bad_input_is_2_and_told_on_standard_error(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    problem = Problem("job.toml", "key format", "found 7", "use 1")
    monkeypatch.setattr(command, "_analysed", failing(InputError(problem)))
    assert main(["analyse", "job"]) == 2
    assert capsys.readouterr().err == "job.toml, key format: found 7; use 1.\n"


def test_a_defect_is_1_in_one_sentence_without_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv(command.TRACEBACK, raising=False)
    monkeypatch.setattr(command, "_analysed", failing(ZeroDivisionError("division by zero")))
    assert main(["analyse", "job"]) == 1
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "ZeroDivisionError: division by zero" in told
    assert "GAUGEWRIGHT_TRACEBACK=1" in told


def test_a_defect_shows_where_when_asked_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(command.TRACEBACK, "1")
    monkeypatch.setattr(command, "_analysed", failing(ZeroDivisionError("division by zero")))
    with pytest.raises(ZeroDivisionError):
        main(["analyse", "job"])


def test_a_folder_that_cannot_be_written_is_3(
    analysed: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    blocked = tmp_path / "a file"
    blocked.write_text("in the way")
    assert main(["analyse", "job", "--json", str(blocked / "findings.json")]) == 3
    told = capsys.readouterr().err
    assert told.startswith(f"{blocked / 'findings.json'}: it could not be written (")
    assert told.endswith("; free some space, or name a place that can be written.\n")


def test_a_full_disk_is_an_output_error() -> None:
    with pytest.raises(OutputError, match="No space left on device"), command.writing(Path("x")):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_command_that_does_not_exist_is_2(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["analyze"])
    assert stop.value.code == 2
    assert "invalid choice" in capsys.readouterr().err


def test_version_names_program_and_method(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["--version"])
    assert stop.value.code == 0
    assert capsys.readouterr().out == f"gaugewright {__version__}, method {METHOD_VERSION}\n"


def test_help_is_the_options_own_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    assert capsys.readouterr().out == parser([]).format_help()


def test_help_names_every_command() -> None:
    assert all(f"    {name} " in help_text() for name in COMMANDS)


HEAVY = ("numpy", "scipy", "polars", "pint", "pydantic", "tomlkit", "typst", "rich", "matplotlib")


def test_help_loads_nothing_heavy() -> None:
    probe = (
        "import sys\nfrom gaugewright.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        f"print('LOADED', [name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "LOADED []"
