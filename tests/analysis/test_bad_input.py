"""Bad input, each the whole way through `gaugewright analyse`: one sentence and an exit code."""

from __future__ import annotations

import errno
import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from small import (
    AS_FOUND,
    CAP_OFF,
    CRANKCASE,
    HEAD,
    LIMIT,
    OIL,
    SPARK,
    Held,
    conditions,
    csv,
    lived,
    recording,
    signal_text,
    usual,
    write,
)

from gaugewright.cli import main

BOTH = (AS_FOUND, CAP_OFF)
ROWS = csv(lived(BOTH), "t", "oil", "crankcase", "spark")


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Run the command: exit code, standard error, standard output."""

    def go(job: Path, *flags: str) -> tuple[int, str, str]:
        code = main(["analyse", str(job), *flags])
        streams = capsys.readouterr()
        assert "Traceback" not in streams.err
        return code, streams.err.strip(), streams.out

    return go


def spoilt(folder: Path, old: str, new: str) -> Path:
    usual(folder)
    job = folder / "job.toml"
    text = job.read_text(encoding="utf-8")
    assert old in text
    job.write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


def with_rows(folder: Path, rows: str | bytes) -> Path:
    usual(folder)
    raw = rows.encode() if isinstance(rows, str) else rows
    (folder / "recordings/run.csv").write_bytes(raw)
    return folder


FILES: dict[str, tuple[str | bytes, str]] = {
    "empty file": ("", "recordings/run.csv: the file is empty; export the recording again."),
    "header only": (
        "t,oil,crankcase,spark\n",
        "recordings/run.csv, line 1: 1 line of text and no row of numbers; "
        "export the recording with its samples.",
    ),
    "binary": (
        b"\x89\x01" + np.random.default_rng(1).bytes(4000),
        "recordings/run.csv: this is a binary file, not a table of text; "
        "export it as CSV or Parquet.",
    ),
}


@pytest.mark.parametrize("name", FILES)
def test_files_that_hold_nothing(name: str, tmp_path: Path, told: Any) -> None:
    rows, sentence = FILES[name]
    assert told(with_rows(tmp_path, rows))[:2] == (2, sentence)


def test_two_gigabytes_declared_in_a_zip(tmp_path: Path, told: Any) -> None:
    job_size = (usual(tmp_path / "job") / "job.toml").stat().st_size
    bundle = tmp_path / "job.zip"
    with zipfile.ZipFile(bundle, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.write(tmp_path / "job/job.toml", "job.toml")
        packed.writestr("recordings/run.csv", "t,oil\n")
    with zipfile.ZipFile(bundle) as packed:
        size = sum(entry.compress_size for entry in packed.infolist())
    raw = bytearray(bundle.read_bytes())
    for mark, at in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        place = raw.rindex(mark)
        raw[place + at : place + at + 4] = struct.pack("<I", 2**31)
    bundle.write_bytes(raw)
    code, said, _ = told(bundle)
    assert (code, said) == (
        2,
        f"{bundle}: {size} bytes would unpack to {2**31 + job_size}, more than 250 times as much; "
        "hand the job over as a folder.",
    )


def sentence(said: str, *parts: str) -> None:
    """One line, these parts in this order, and what would do after a semicolon."""
    assert len(said.splitlines()) == 1, said
    assert re.search(".*".join(map(re.escape, parts)), said), said
    assert re.search(r": .+; .+\.$", said), said


RUN = 'recording "run", condition'
TOMLS = {
    "unit of the wrong dimension": (
        'min = "90 kPa"',
        'min = "90 degC"',
        'limit "hot idle", min (line 13): found "90 degC", a temperature where a pressure is '
        'needed; write a number and its unit, such as "2.0 bar".',
    ),
    "unknown key": (
        'speed_tolerance = "50 rpm"',
        'tolerance = "50 rpm"',
        'limit "hot idle", tolerance (line 15): found the key "tolerance", which is not known; '
        'write "speed_tolerance".',
    ),
    "condition outside": (
        'from = "10.200 s"\n  to = "19.800 s"',
        'from = "10.200 s"\n  to = "99 s"',
        f'{RUN} "cap off": it is marked from 10.200 s to 99 s, but recordings/run.csv runs from '
        "0 s to 19.999 s; mark it within the recording.",
    ),
    "condition reversed": (
        'from = "0.200 s"\n  to = "9.800 s"',
        'from = "9.8 s"\n  to = "0.2 s"',
        f'{RUN} "as found", from (line 42): found from "9.8 s" to "0.2 s"; '
        "write the earlier time first.",
    ),
    "conditions overlapping": (
        'to = "9.800 s"',
        'to = "12 s"',
        f'{RUN} "cap off", from (line 48): "cap off" begins at "10.200 s", before "as found" '
        'ends at "12 s"; let them follow one another.',
    ),
    "sensor with two equal points": (
        "\n[[limit]]",
        '\n[[sensor]]\nname = "x"\npoints = [["1 V", "0 bar"], ["1 V", "10 bar"]]\n\n[[limit]]',
        'sensor "x", points (line 12): all points have the same output "1 V"; '
        "write points whose outputs differ.",
    ),
}


@pytest.mark.parametrize("name", TOMLS)
def test_jobs_that_contradict_themselves(name: str, tmp_path: Path, told: Any) -> None:
    old, new, expected = TOMLS[name]
    code, said, printed = told(spoilt(tmp_path, old, new))
    assert (code, printed) == (2, "")
    assert said.removeprefix(f"{tmp_path}/") == f"job.toml, {expected}"


NONE_SUCH = "no such column; the columns are 't', 'oil', 'crankcase', 'spark'."
COLUMNS = {
    "column missing": (
        'column = "oil"',
        'column = "oil_v"',
        f"signal 1 of recording 'run', column 'oil_v': {NONE_SUCH}",
    ),
    "clock missing": ('time = "t"', 'time = "clock"', f"time, column 'clock': {NONE_SUCH}"),
}


@pytest.mark.parametrize("name", COLUMNS)
def test_columns_that_the_file_does_not_hold(name: str, tmp_path: Path, told: Any) -> None:
    old, new, expected = COLUMNS[name]
    assert told(spoilt(tmp_path, old, new))[:2] == (2, f"recordings/run.csv, {expected}")


def test_time_that_does_not_increase(tmp_path: Path, told: Any) -> None:
    columns = lived(BOTH)
    columns["t"] = np.full(len(columns["t"]), 3.0)
    code, said, _ = told(with_rows(tmp_path, csv(columns, "t", "oil", "crankcase", "spark")))
    assert (code, said) == (
        2,
        "recordings/run.csv, column 't': time stays at the same stamp from the first row to the "
        "last; name the column that is the clock.",
    )


def test_an_all_nan_signal(tmp_path: Path, told: Any) -> None:
    columns = lived(BOTH)
    columns["oil"][:] = np.nan
    code, said, _ = told(with_rows(tmp_path, csv(columns, "t", "oil", "crankcase", "spark")))
    assert (code, said) == (
        2,
        "recordings/run.csv, column 'oil': not a single number in it; "
        "leave the signal out of the job.",
    )


def analysed(folder: Path, told: Any) -> dict[str, Any]:
    """The findings of input that is bad in part: the rest is analysed and the part is told."""
    import json

    code, said, _ = told(folder, "--json", str(folder / "findings.json"))
    assert (code, said) == (0, "")
    found: dict[str, Any] = json.loads((folder / "findings.json").read_text(encoding="utf-8"))
    return found


def sparked(folder: Path, volts: Callable[[dict[str, np.ndarray]], np.ndarray]) -> Path:
    columns = lived(BOTH)
    columns["spark"] = volts(columns)
    return with_rows(folder, csv(columns, "t", "oil", "crankcase", "spark"))


def codes(findings: dict[str, Any]) -> set[str]:
    return {warning["code"] for warning in findings["warnings"]}


def test_ignition_without_pulses(tmp_path: Path, told: Any) -> None:
    noise = np.random.default_rng(2)
    found = analysed(sparked(tmp_path, lambda c: 0.02 * noise.standard_normal(len(c["t"]))), told)
    assert "no-pulses" in codes(found)
    assert all(r["speed"] is None for r in found["readings"])
    assert found["readings"]


def test_a_single_pulse(tmp_path: Path, told: Any) -> None:
    found = analysed(sparked(tmp_path, lambda c: 5.0 * (np.abs(c["t"] - 6.0) < 0.003)), told)
    assert {"one-pulse", "no-pulses"} & codes(found)
    assert all(r["speed"] is None for r in found["readings"])


def test_speed_above_20_000_rpm(tmp_path: Path, told: Any) -> None:
    # 200 pulses a second of one coil, one in two turns: 24 000 rpm.
    found = analysed(sparked(tmp_path, lambda c: 5.0 * (c["t"] % 0.005 < 0.002)), told)
    assert codes(found) & {"speed-impossible", "no-rhythm"}
    speeds = [r["speed"]["value"] for r in found["readings"] if r["speed"]]
    assert all(speed < 20_000 for speed in speeds)


def test_crankcase_sensor_beyond_its_range_for_the_whole_condition(
    tmp_path: Path, told: Any
) -> None:
    """The gauge keeps its verdict, the crankcase is a bound, the bearings only an upper one."""
    sensor = '\n[[sensor]]\nname = "c"\npoints = [["0 V", "-5 kPa"], ["5 V", "5 kPa"]]\n'
    sensor += 'accuracy = "0.1 kPa"\nrange = ["-5 kPa", "5 kPa"]\n'
    volts = signal_text("volts", "crankcase-pressure", sensor="c")
    columns = lived((Held("as found", 95.0, 11.0),))
    columns["volts"] = np.full(len(columns["t"]), 5.0)
    text = HEAD + LIMIT + sensor + recording("run", OIL, volts, SPARK, conditions((AS_FOUND,)))
    folder = write(tmp_path, text, run=csv(columns, "t", "oil", "volts", "spark"))
    found = analysed(folder, told)
    [crankcase] = [r for r in found["readings"] if r["quantity"] == "crankcase-pressure"]
    assert (crankcase["bound"], crankcase["high"]) == ("at least", None)
    [bearings] = [r for r in found["readings"] if r["reference"] == "crankcase"]
    assert bearings["bound"] == "at most"
    [gauge] = [c for c in found["limit_checks"] if c["seen_by"] == "gauge"]
    assert gauge["verdict"] == "meets"


def two_clocks(tmp_path: Path, told: Any, second_oil: Any, **more: str) -> str:
    """What is said of a second logger that shall be laid over the first by its oil pressure."""
    columns = lived(BOTH)
    second = {**columns, "oil": columns["oil"] if second_oil is None else second_oil}
    keys = {"aligned_with": "run", "aligned_by": "oil-pressure", **more}
    plain = signal_text("oil", "oil-pressure", unit="kPa")
    text = HEAD + LIMIT + recording("run", OIL, SPARK, conditions(BOTH))
    text += recording("second", CRANKCASE, plain, conditions(BOTH), **keys)
    folder = write(
        tmp_path,
        text,
        run=csv(columns, "t", "oil", "spark"),
        second=csv(second, "t", "crankcase", "oil"),
    )
    code, said, _ = told(folder)
    assert code == 2
    return str(said)


def test_clocks_that_nothing_lays_over_each_other(tmp_path: Path, told: Any) -> None:
    noise = np.random.default_rng(3).standard_normal(len(lived(BOTH)["t"]))
    said = two_clocks(tmp_path, told, noise)
    sentence(said, "job.toml", "second", "aligned_with", "clock_offset")


def test_clocks_that_do_not_overlap_where_alignment_was_asked_for(
    tmp_path: Path, told: Any
) -> None:
    said = two_clocks(tmp_path, told, None, clock_offset="900 s")
    sentence(said, "job.toml", "second", "aligned_with", "do not overlap")


def test_a_file_removed_while_reading(
    tmp_path: Path, told: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    import gaugewright.analysis.lanes as lanes

    folder, read = usual(tmp_path), lanes.read

    def vanishing(entry: Any, place: Path) -> Any:
        (place / entry.file).unlink()
        return read(entry, place)

    monkeypatch.setattr(lanes, "read", vanishing)
    code, said, _ = told(folder)
    assert code == 2
    sentence(said, "recordings/run.csv")


@pytest.mark.parametrize("flag", ["--json", "--report"])
def test_a_place_that_cannot_be_written(flag: str, tmp_path: Path, told: Any) -> None:
    """A path below a file: nobody can write there, not even the system's own user."""
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    below = tmp_path / "taken" / "findings.json"
    code, said, _ = told(usual(tmp_path / "job"), flag, str(below))
    assert code == 3
    sentence(said, str(below), "could not be written", "name a place that can be written")
    assert (tmp_path / "taken").read_text(encoding="utf-8") == "a file"


@pytest.mark.slow
def test_a_read_only_place(tmp_path: Path, told: Any, namespaces: bool) -> None:
    """A read-only mount of our own; where the kernel forbids that, one it always has."""
    job, place = usual(tmp_path / "job"), tmp_path / "out"
    place.mkdir()
    if namespaces:
        command = [*COMMAND, "analyse", str(job), "--json", str(place / "f.json")]
        done = mounted(place, "ro", command)
        code, said = done.returncode, done.stderr.strip()
    else:
        code, said, _ = told(job, "--json", "/proc/f.json")
    assert code == 3, said
    sentence(said, "f.json", "could not be written", "name a place that can be written")
    assert list(place.iterdir()) == []


COMMAND = [sys.executable, "-m", "gaugewright"]


def mounted(place: Path, options: str, command: list[str]) -> subprocess.CompletedProcess[str]:
    """Run a command with a tmpfs mounted at `place`, in a user and mount namespace of its own."""
    script = f'mount -t tmpfs -o {options} tmpfs "$0" && shift 0 && exec "$@"'
    return subprocess.run(
        ["unshare", "-rm", "sh", "-c", script, str(place), *command],
        check=False, capture_output=True, text=True, timeout=120,
    )  # fmt: skip


@pytest.fixture(scope="module")
def namespaces() -> bool:
    """Does the kernel allow a tmpfs of our own?"""
    if shutil.which("unshare") is None:
        return False
    with tempfile.TemporaryDirectory() as place:
        return mounted(Path(place), "size=64k", ["true"]).returncode == 0


@pytest.fixture
def full_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every sync of a file fails as on a full disk, below our writer."""

    def fails(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", fails)


FULL = {
    "--json": "the findings could not be written (No space left on device); "
    "free some space, or name a place that can be written.",
    "--report": "the disk is full; free some space and write again.",
}


def place_with_old_findings(folder: Path, flag: str) -> Path:
    folder.mkdir(parents=True)
    (folder / "f.json").write_text("old findings", encoding="utf-8")
    return folder / "f.json" if flag == "--json" else folder


@pytest.mark.parametrize("flag", FULL)
def test_a_full_disk_injected(flag: str, tmp_path: Path, told: Any, full_disk: None) -> None:
    target = place_with_old_findings(tmp_path / "out", flag)
    code, said, _ = told(usual(tmp_path / "job"), flag, str(target))
    assert (code, said) == (3, f"{target}: {FULL[flag]}")
    left = [(p.name, p.read_text("utf-8")) for p in (tmp_path / "out").iterdir()]
    assert left == [("f.json", "old findings")]


@pytest.mark.slow
@pytest.mark.parametrize("flag", FULL)
def test_a_full_disk_for_real(
    flag: str, tmp_path: Path, told: Any, namespaces: bool, request: pytest.FixtureRequest
) -> None:
    """On a tmpfs of 4 kB; where the kernel allows none the failure is injected below our writer."""
    job = usual(tmp_path / "job")
    target = place_with_old_findings(tmp_path / "out", flag)
    if namespaces:
        command = [*COMMAND, "analyse", str(job), flag, str(target)]
        done = mounted(tmp_path / "out", "size=4k", command)
        code, said = done.returncode, done.stderr.strip()
    else:
        request.getfixturevalue("full_disk")
        code, said, _ = told(job, flag, str(target))
    assert (code, said) == (3, f"{target}: {FULL[flag]}")


def test_every_problem_is_told_at_once(tmp_path: Path, told: Any) -> None:
    folder = spoilt(tmp_path, 'min = "90 kPa"', 'min = "90 V"\nmaximum = "3 bar"')
    job = folder / "job.toml"
    job.write_text(job.read_text("utf-8").replace("cylinders = 4", "cylinders = 40"), "utf-8")
    code, said, _ = told(folder)
    assert code == 2
    assert len(said.splitlines()) == 3


def test_a_sound_job_ends_with_nothing_said(tmp_path: Path, told: Any) -> None:
    """The control: unspoilt, the same job is analysed, so the refusals above mean something."""
    code, said, printed = told(usual(tmp_path))
    assert (code, said) == (0, "")
    assert "as found" in printed
