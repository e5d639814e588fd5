"""Every fault at every level over a few seeds: the job can be made, read, analysed and opened,
and what is found agrees with the truth."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest

from gaugewright.analysis.analyse import analyse
from gaugewright.analysis.findings_json import as_data
from gaugewright.analysis.findings_schema import SHIPPED
from gaugewright.evidence.results import Findings, Reading
from gaugewright.examples.practice import seal
from gaugewright.examples.practice.make import RATE_HZ, make
from gaugewright.examples.practice.scenario import COMES_UP, SOUND
from gaugewright.examples.practice.truth import Truth
from gaugewright.job.folder import opened

MEASURED = ("oil-pressure", "crankcase-pressure")


def worked(folder: Path, level: int, seed: int, cause: str | None) -> tuple[Truth, Findings]:
    """The truth and the findings; causes are weighed in drawn jobs only, to save time."""
    make(folder, level, seed, None if cause is None else [cause], RATE_HZ)
    with opened(folder) as (job, place):
        found = analyse(job, place, causes=cause is None).findings
        return seal.opened(folder).truth, found


def offs(truth: Truth, findings: Findings) -> Iterator[tuple[float, float, Reading]]:
    """(found less true, half the interval, reading) of every measured pressure, kPa."""
    true = {(t.condition, t.quantity, t.reference): t.true for t in truth.readings}
    for one in findings.readings:
        key = (one.condition, one.quantity, one.reference)
        whole = one.low is not None and one.high is not None
        if key in true and one.quantity in MEASURED and whole and "by-hand" not in one.flags:
            assert one.low is not None
            assert one.high is not None
            yield one.value - true[key], 0.5 * (one.high - one.low), one


def holds_together(truth: Truth, findings: Findings) -> None:
    data = json.loads(json.dumps(as_data(findings), allow_nan=False))
    jsonschema.validate(data, json.loads(SHIPPED.read_text(encoding="utf-8")))
    compared = list(offs(truth, findings))
    assert len(compared) >= 3
    if any(fault.cause == "test-fault" for fault in truth.faults):
        # The measurement itself is out, and good instruments show by how much.
        assert truth.level == 3 or any(abs(off) > 2.0 * half for off, half, _ in compared)
        return
    for off, half, one in compared:
        # Three half widths, and half a kilopascal for what a stretch's ends do to its mean.
        assert abs(off) <= 3.0 * half + 0.5, (one.condition, one.quantity, one.reference, off, half)


@pytest.mark.slow
def test_a_drawn_job_is_analysed_and_agrees_with_its_truth(tmp_path: Path) -> None:
    holds_together(*worked(tmp_path / "job", 3, 11, None))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20, 26))
@pytest.mark.parametrize("level", [1, 2, 3])
def test_drawn_jobs(tmp_path: Path, level: int, seed: int) -> None:
    holds_together(*worked(tmp_path / "job", level, seed, None))


@pytest.mark.slow
@pytest.mark.parametrize("cause", [*COMES_UP, SOUND])
@pytest.mark.parametrize("level", [1, 2, 3])
def test_every_fault_at_every_level(tmp_path: Path, level: int, cause: str) -> None:
    holds_together(*worked(tmp_path / "job", level, 30 + level, cause))
