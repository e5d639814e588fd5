"""A case as a job folder, and its truth in a file of its own."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

import polars as pl
import tomlkit

from validation.elsewhere.bench import Sensor, crank_sensor, oil_sensor
from validation.elsewhere.byhand import by_hand
from validation.elsewhere.case import Case, stream
from validation.elsewhere.session import Recording, columns, recordings
from validation.elsewhere.tables import Rng
from validation.elsewhere.told import file_name, job

DIGITS = {"t": 4, "crank_p": 4, "oil_p": 4}


def write_job(case: Case, folder: Path) -> None:
    """Write the job folder; the same case gives the same bytes."""
    rng = stream(case.kind, case.seed, case.number, "write")
    sensors = _sensors(rng, case)
    made = () if case.plan.by_hand else recordings(rng, case)
    readings, instruments = by_hand(rng, case)
    (folder / "recordings").mkdir(parents=True, exist_ok=True)
    for one in made:
        _write_file(case, one, sensors, folder)
    told = job(case, made, sensors, readings, instruments)
    (folder / "job.toml").write_text(tomlkit.dumps(told), encoding="utf-8")


def _sensors(rng: Rng, case: Case) -> dict[str, Sensor]:
    oil, crank = oil_sensor(rng), crank_sensor(rng)
    used = {"oil": case.plan.oil, "crank": case.plan.crank}
    return {what: one for what, one in (("oil", oil), ("crank", crank)) if used[what] == "volts"}


def _write_file(case: Case, one: Recording, sensors: dict[str, Sensor], folder: Path) -> None:
    values = columns(case, one, sensors)
    frame = pl.DataFrame(
        {name: column.round(DIGITS.get(name, 3)) + 0.0 for name, column in values.items()}
    )
    path = folder / file_name(case, one)
    if case.plan.parquet:
        frame.write_parquet(path, compression="zstd", statistics=False)
        return
    comma = case.plan.comma
    frame.write_csv(path, separator=";" if comma else ",", decimal_comma=comma)


def truth_of(case: Case) -> dict[str, Any]:
    """What is sealed: causes, severity and what was hidden, as plain values."""
    levels = {held.name: asdict(case.level(held)) for held in case.stretches}
    truth = case.truth
    return {
        "kind": case.kind,
        "seed": case.seed,
        "number": case.number,
        "causes": list(truth.causes),
        "link": truth.link,
        "severity": dict(zip(truth.causes, truth.severity, strict=True)),
        "holds": holds(case),
        "hidden": {
            "car": asdict(case.car),
            "effects": {cause: asdict(found) for cause, found in case.effects.items()},
            "levels": levels,
        },
    }


def holds(case: Case) -> dict[str, Any]:
    """What the job holds, for the rows of the score."""
    plan = case.plan
    return {
        "stretches": [held.kind for held in case.stretches],
        "oil": plan.oil,
        "oil_temperature": plan.oil_degc,
        "crankcase": plan.crank,
        "trims": plan.trims,
        "manifold": plan.manifold,
        "second_gauge": plan.second_gauge,
        "limits": [limit.name for limit in case.limits],
        "seen": dict(case.seen),
        "codes": list(case.codes),
        "richness": round(plan.richness, 3),
    }


def write_truth(case: Case, path: Path) -> None:
    """Write the sealed truth beside the jobs, never into one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(truth_of(case), indent=1), encoding="utf-8")
