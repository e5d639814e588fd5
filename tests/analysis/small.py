"""Small job folders, written quickly: an engine of known pressures at 1 kHz."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from gaugewright.analysis.analyse import analyse
from gaugewright.analysis.lanes import Memory
from gaugewright.analysis.outcome import Outcome
from gaugewright.evidence.results import Findings
from gaugewright.job.folder import opened

RATE_HZ = 1000

HEAD = """\
format = 1
title = "Small"

[vehicle]
cylinders = 4
cycle = "four-stroke"
ignition = "coil-on-plug"
oil_grade = "5W-30"
"""

LIMIT = """
[[limit]]
name = "hot idle"
quantity = "oil-pressure"
min = "90 kPa"
speed = "830 rpm"
speed_tolerance = "50 rpm"
crankcase = "0 kPa"
"""


@dataclass(frozen=True)
class Held:
    """One way in which the small engine is held, `length_s` long."""

    name: str
    gauge_kpa: float
    crankcase_kpa: float = 0.0
    rpm: float = 830.0
    length_s: float = 10.0
    did: str = "nothing"


AS_FOUND = Held("as found", 95.0, 11.0)
CAP_OFF = Held("cap off", 85.0, 1.0, did="filler-cap-off")
ENGINE_OFF = Held("engine off", 0.0, 0.0, 0.0, 4.0, "engine-off")


def lived(
    stretches: tuple[Held, ...], seed: int = 1, hunt_rpm: float = 12.0
) -> dict[str, np.ndarray]:
    """Columns t (s), oil, crankcase (kPa against the outside air), rpm and spark (V)."""
    rng = np.random.default_rng(seed)
    parts: dict[str, list[np.ndarray]] = {"oil": [], "crankcase": [], "rpm": []}
    for held in stretches:
        count = round(held.length_s * RATE_HZ)
        wave = np.sin(2 * np.pi * np.arange(count) / RATE_HZ / 3.3)
        rpm = np.zeros(count) if held.rpm == 0 else held.rpm + 1.4 * hunt_rpm * wave
        lift = 1.0 if held.rpm == 0 else (rpm / held.rpm) ** 0.8
        oil = (held.gauge_kpa - held.crankcase_kpa) * lift + held.crankcase_kpa
        parts["oil"].append(oil + np.zeros(count))
        parts["crankcase"].append(np.full(count, held.crankcase_kpa))
        parts["rpm"].append(rpm)
    whole = {name: np.concatenate(part) for name, part in parts.items()}
    count = len(whole["rpm"])
    whole["oil"] = whole["oil"] + 1.5 * rng.standard_normal(count)
    whole["crankcase"] = whole["crankcase"] + 0.15 * rng.standard_normal(count)
    turned = np.cumsum(whole["rpm"]) / 120.0 / RATE_HZ
    since = turned - np.floor(turned)
    fired = (since * 120.0 / np.maximum(whole["rpm"], 1.0) < 0.004) & (whole["rpm"] > 0)
    whole["spark"] = 5.0 * fired + 0.02 * rng.standard_normal(count)
    return {"t": np.arange(count) / RATE_HZ, **whole}


def csv(columns: dict[str, np.ndarray], *names: str) -> str:
    """A table of these columns, five significant digits after the point."""
    table = np.column_stack([columns[name] for name in names])
    rows = "\n".join(",".join(f"{value:.5f}" for value in row) for row in table.tolist())
    return ",".join(names) + "\n" + rows + "\n"


def signal_text(column: str, quantity: str, **more: str) -> str:
    keys = "".join(f'  {key} = "{value}"\n' for key, value in more.items())
    return f'\n  [[recording.signal]]\n  column = "{column}"\n  quantity = "{quantity}"\n{keys}'


OIL = signal_text("oil", "oil-pressure", unit="kPa", reference="atmosphere")
CRANKCASE = signal_text("crankcase", "crankcase-pressure", unit="kPa", reference="atmosphere")
SPARK = signal_text("spark", "ignition", unit="V")
RPM = signal_text("rpm", "engine-speed", unit="rpm")


def conditions(stretches: tuple[Held, ...], shift_s: float = 0.0) -> str:
    """The stretches as conditions, each marked without its first and last 0.2 s."""
    text, begin = "", shift_s
    for held in stretches:
        text += (
            f'\n  [[recording.condition]]\n  name = "{held.name}"\n'
            f'  from = "{begin + 0.2:.3f} s"\n  to = "{begin + held.length_s - 0.2:.3f} s"\n'
            f'  did = ["{held.did}"]\n'
        )
        begin += held.length_s
    return text


def recording(name: str = "run", *parts: str, **more: str) -> str:
    keys = "".join(f'{key} = "{value}"\n' for key, value in {"time": "t", **more}.items())
    return f'\n[[recording]]\nname = "{name}"\nfile = "recordings/{name}.csv"\n{keys}' + "".join(
        parts
    )


def write(folder: Path, toml: str, **files: str | bytes) -> Path:
    """A job folder of this job.toml and these recordings (name without .csv)."""
    (folder / "recordings").mkdir(parents=True, exist_ok=True)
    (folder / "job.toml").write_text(toml, encoding="utf-8")
    for name, content in files.items():
        raw = content.encode() if isinstance(content, str) else content
        (folder / "recordings" / f"{name}.csv").write_bytes(raw)
    return folder


def usual(folder: Path, *stretches: Held, head: str = "", seed: int = 1) -> Path:
    """The usual small job: oil, crankcase and spark over these stretches, and one limit."""
    held = stretches or (AS_FOUND, CAP_OFF)
    text = HEAD + head + LIMIT + recording("run", OIL, CRANKCASE, SPARK, conditions(held))
    return write(folder, text, run=csv(lived(held, seed), "t", "oil", "crankcase", "spark"))


def outcome_of(folder: Path, memory: Memory | None = None) -> Outcome:
    with opened(folder) as (job, place):
        return analyse(job, place, memory=memory)


def findings_of(folder: Path) -> Findings:
    return outcome_of(folder).findings


def reading(findings: Findings, quantity: str, reference: str | None, **more: Any) -> Any:
    """The last reading of this kind: the combined one where there is one."""
    found = [
        r
        for r in findings.readings
        if (r.quantity, r.reference) == (quantity, reference)
        and all(getattr(r, key) == value for key, value in more.items())
    ]
    assert found, (quantity, reference, more)
    return found[-1]
