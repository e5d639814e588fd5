"""The first example: a light van that ticks at hot idle, three visits, its truth known."""

from __future__ import annotations

from pathlib import Path
from string import Template

import numpy as np
import numpy.typing as npt

from gaugewright.examples.shipped import shipped_text
from gaugewright.examples.van_files import write_first_logger, write_second_logger
from gaugewright.examples.van_run import STRETCHES, run
from gaugewright.examples.van_sensors import (
    Calibrated,
    crankcase_sensor,
    oil_sensor,
    points_text,
)
from gaugewright.examples.van_truth import VisitTruth, hand_value, truth

__all__ = ["SEED", "make", "truth"]

Floats = npt.NDArray[np.float64]

SEED = 20240305
KPA_PER_PSI = 6.894757
STATED_OFFSETS_S = ("-7.36", "-11.90", "-4.21")
"""What the technician noted for the second logger's clock; good to about 20 ms."""


def make(folder: Path, seed: int = SEED) -> None:
    """Write the example job into this folder: job.toml and six recordings.

    Parameters: the folder, made where it does not stand; the seed of every chance in it.
    Files of the same names are replaced.  The truth is not written: see `truth`.
    """
    rng = np.random.default_rng(seed)
    oil, crankcase = oil_sensor(rng), crankcase_sensor(rng)
    (folder / "recordings").mkdir(parents=True, exist_ok=True)
    for number, visit in enumerate(truth(), start=1):
        _record(folder / "recordings", number, visit, oil, crankcase, rng)
    (folder / "job.toml").write_text(_job_text(oil, crankcase), encoding="utf-8")


def _record(
    folder: Path,
    number: int,
    visit: VisitTruth,
    oil: Calibrated,
    crankcase: Calibrated,
    rng: np.random.Generator,
) -> None:
    lived = run(visit, int(rng.integers(2**31)))
    first, second = (folder / f"visit-{number}-{kind}.csv" for kind in ("engine", "crankcase"))
    write_first_logger(first, lived, oil.sensor, rng)
    write_second_logger(second, lived, crankcase.sensor, visit.clock_offset_s, rng)


def _job_text(oil: Calibrated, crankcase: Calibrated) -> str:
    recordings = "\n".join(
        _recordings_text(number, visit, offset)
        for number, (visit, offset) in enumerate(zip(truth(), STATED_OFFSETS_S, strict=True), 1)
    )
    found, _, changed = truth()
    return Template(shipped_text("van.toml")).substitute(
        oil_points=points_text(oil.points, "bar"),
        crankcase_points=points_text(crankcase.points, "kPa"),
        recordings=recordings,
        crankcase_psi=_psi(found.crankcase_kpa(np.array(found.idle_rpm)), 0.05),
        oil_psi=_psi(_gauge_at_idle(changed), 0.5),
    )


def _gauge_at_idle(visit: VisitTruth) -> Floats:
    idle = np.array(visit.idle_rpm)
    return visit.bearings_kpa(idle, np.array(79.8)) + visit.crankcase_kpa(idle)


def _psi(pressure_kpa: Floats, step: float) -> str:
    return f"{hand_value(float(pressure_kpa) / KPA_PER_PSI, step):g}"


def _recordings_text(number: int, visit: VisitTruth, stated_offset: str) -> str:
    first = Template(shipped_text("van-engine.toml")).substitute(number=number, visit=visit.name)
    second = Template(shipped_text("van-crankcase.toml")).substitute(
        number=number, visit=visit.name, offset=stated_offset
    )
    shift = -float(stated_offset)
    return "\n".join([first, _stretches_text(0.0), second, _stretches_text(shift)])


def _stretches_text(shift_s: float) -> str:
    blocks = [
        "  [[recording.condition]]\n"
        f'  name = "{name}"\n'
        f'  from = "{start + shift_s:.2f} s"\n'
        f'  to = "{end + shift_s:.2f} s"\n'
        f'  did = ["{did}"]\n'
        for name, start, end, did in STRETCHES
    ]
    return "\n".join(blocks)
