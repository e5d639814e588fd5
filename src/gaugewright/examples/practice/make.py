"""Make a practice job: a folder with its recordings, and the truth sealed beside them."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

import numpy as np

from gaugewright.engine.run import run
from gaugewright.errors import InputError, Problem
from gaugewright.examples.practice import bench
from gaugewright.examples.practice.answers import true_readings
from gaugewright.examples.practice.hand import readings
from gaugewright.examples.practice.job import job_toml
from gaugewright.examples.practice.limits import limits
from gaugewright.examples.practice.recordings import (
    Lived,
    Made,
    engine_recording,
    scan_recording,
    slow_recording,
)
from gaugewright.examples.practice.scenario import Scenario, drawn
from gaugewright.examples.practice.seal import JOB_FILE, SEALED, digest, opened, sealed
from gaugewright.examples.practice.timeline import Session
from gaugewright.examples.practice.truth import Truth
from gaugewright.job.files import told

RATE_HZ = 5000.0
"""Samples a second of the engine logger: a spark's ringing leaves several in each."""
LANES = (
    "oil_gauge_pa",
    "oil_over_crankcase_pa",
    "crankcase_pa",
    "manifold_pa",
    "ignition_v",
    "speed_rpm",
    "oil_degc",
    "coolant_degc",
    "air_kg_s",
    "trim_short",
    "trim_long",
)
COLUMN_ALONE = 0.5
"""Chance, at level 3, that there is no crankcase sensor but a water column."""


def make(
    folder: Path,
    level: int,
    seed: int,
    causes: Sequence[str] | None = None,
    rate_hz: float = RATE_HZ,
) -> None:
    """Make the practice job of this level and seed in this folder: same seed, same bytes.

    Parameters: the folder, which is made, or replaced whole where it holds nothing but an
    untouched practice job; `causes` in place of hidden ones, for trying them out.
    Raises InputError when the folder holds something else, OutputError when it cannot be
    written; it is then as it was.
    """
    _refuse_others(folder)
    files = job_files(level, seed, causes, rate_hz)
    with told(folder):
        _put(folder, files)


def job_files(
    level: int, seed: int, causes: Sequence[str] | None = None, rate_hz: float = RATE_HZ
) -> dict[str, bytes]:
    """Every file of the practice job by its path in the folder."""
    rng = np.random.default_rng([level, seed])
    scenario = drawn(level, seed, rng, causes)
    lived = [_live(scenario, session, rate_hz) for session in scenario.sessions]
    files = _written(scenario, lived, rng)
    truth = Truth(
        level=level,
        seed=seed,
        faults=scenario.faults,
        besides=scenario.besides,
        readings=true_readings(scenario, lived),
        files={name: digest(data) for name, data in sorted(files.items())},
    )
    return {**files, SEALED: sealed(truth)}


def _live(scenario: Scenario, session: Session, rate_hz: float) -> Lived:
    """Run the scenario's engine through one session."""
    lived = run(scenario.build, scenario.faulty, session.plan, rate_hz, scenario.seed, lanes=LANES)
    barometer = np.full(len(lived.time_s), scenario.setting.barometer_pa)
    return Lived(lived.time_s, {**lived.lanes, "barometer_pa": barometer})


def _written(
    scenario: Scenario, lived: Sequence[Lived], rng: np.random.Generator
) -> dict[str, bytes]:
    level, hot = scenario.level, scenario.sessions[-1]
    oil = bench.oil_fitted(level, scenario.faulty.indication, rng)
    column = level.number == 3 and rng.random() < COLUMN_ALONE
    case = None if column else bench.crankcase_fitted(level, scenario.setting.barometer_pa, rng)
    made = _recordings(scenario, lived, oil, case, rng)
    text = job_toml(
        scenario,
        limits(scenario.build, scenario.meant, _speeds(hot), rng),
        [one for one in (oil, case) if one is not None],
        made,
        readings(level, lived[-1], hot, column, rng),
    )
    return {JOB_FILE: text.encode(), **{one.file: one.data for one in made}}


def _recordings(
    scenario: Scenario,
    lived: Sequence[Lived],
    oil: bench.Fitted,
    case: bench.Fitted | None,
    rng: np.random.Generator,
) -> list[Made]:
    """The engine logger's of every session; of the hot one also trolley and scan tool."""
    level, build, hot = scenario.level, scenario.build, scenario.sessions[-1]
    made = [
        engine_recording(level, build, what, oil, case, session, rng)
        for session, what in zip(scenario.sessions, lived, strict=True)
    ]
    if case is not None and level.number > 1:
        made.append(slow_recording(level, lived[-1], case, hot, rng))
    return [*made, scan_recording(level, build, lived[-1], hot, rng)]


def _speeds(session: Session) -> tuple[float, ...]:
    return tuple(one.speed_rpm for one in session.stretches if one.speed_rpm is not None)


def _refuse_others(folder: Path) -> None:
    """A folder that holds anything but an untouched practice job is left alone."""
    if not folder.exists():
        return
    remedy = "name a folder that is new or empty"
    if not folder.is_dir():
        raise InputError(Problem(str(folder), "", "it is a file", remedy))
    found = {p.relative_to(folder).as_posix() for p in folder.rglob("*") if not p.is_dir()}
    if not found:
        return
    if SEALED not in found:
        held = f"it holds {sorted(found)[0]}, which gaugewright practise did not put there"
        raise InputError(Problem(str(folder), "", held, remedy))
    inside = opened(folder)
    others = sorted(found - {SEALED} - set(inside.truth.files))
    if others or inside.changed:
        name = (others or list(inside.changed))[0]
        held = f"it holds a practice job in which {name} is new or changed"
        raise InputError(Problem(str(folder), "", held, remedy))


def _put(folder: Path, files: Mapping[str, bytes]) -> None:
    """Put these files there as one folder, whole or not at all."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    place = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=folder.parent))
    try:
        for name, data in files.items():
            _write(place / "new" / name, data)
        if folder.exists():
            folder.rename(place / "old")
        (place / "new").rename(folder)
    except OSError:
        if (place / "old").exists() and not folder.exists():
            (place / "old").rename(folder)
        raise
    finally:
        with suppress(OSError):
            shutil.rmtree(place)


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
