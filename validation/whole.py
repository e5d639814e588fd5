"""A pair of stretches written as a whole job, for the stretches that go through everything."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import tomlkit

from validation.classes import Pair, Scene, Stretch
from validation.noise import Floats

RATE_HZ = 500.0
FLANK_S = 0.008


def _edges(stretch: Stretch) -> Floats:
    start = stretch.time_s[0] - 0.5 * stretch.duration_s[0]
    return np.concatenate([[start], start + np.cumsum(stretch.duration_s)])


def _spark(time_s: Floats, edges: Floats) -> Floats:
    """(n,) one pulse a cycle whose straight flank passes half its height at the cycle's edge."""
    before = edges[0] - (edges[1] - edges[0])
    after = edges[-1] + (edges[-1] - edges[-2])
    every = np.concatenate([[before], edges, [after]])
    last = every[np.clip(np.searchsorted(every, time_s + FLANK_S) - 1, 0, len(every) - 1)]
    since = (time_s - last) / FLANK_S
    return np.asarray(5.0 * np.clip(np.minimum(since + 0.5, 3.0 - since), 0.0, 1.0))


def _frame(stretch: Stretch, scene: Scene, rng: np.random.Generator) -> dict[str, Floats]:
    edges = _edges(stretch)
    time_s = np.arange(edges[0] - 0.5, edges[-1] + 0.5, 1.0 / RATE_HZ)
    cycle = np.clip(np.searchsorted(edges, time_s) - 1, 0, len(edges) - 2)
    middle = 0.5 * (edges[0] + edges[-1])
    phase = (time_s - edges[cycle]) / np.diff(edges)[cycle]
    ripple = np.sin(8.0 * np.pi * phase)
    oil = stretch.gauge_kpa[cycle] + scene.white_kpa * ripple
    box = stretch.crankcase_kpa[cycle] + 0.1 * ripple
    fresh = rng.standard_normal((2, len(time_s)))
    oil, box = oil + 0.3 * scene.white_kpa * fresh[0], box + 0.02 * fresh[1]
    frame = {"t": time_s, "oil": oil, "box": box}
    frame["degc"] = scene.middle_degc + scene.warming_k_per_min / 60.0 * (time_s - middle)
    if scene.kind != "slow-late-speed":
        frame["spark"] = _spark(time_s, edges)
        return frame
    step = float(rng.choice([0.25, 1.0, 4.0]))
    taken = np.floor(time_s / scene.refresh_s) * scene.refresh_s - scene.delay_s
    shown = np.interp(taken, stretch.time_s, stretch.true_rpm)
    frame["rpm"] = np.round(shown / step) * step
    return frame


def _recording(
    name: str, did: str, stretch: Stretch, scene: Scene, offset_s: float
) -> dict[str, Any]:
    edges = _edges(stretch)
    signals = [
        {"column": "oil", "quantity": "oil-pressure", "unit": "kPa", "reference": "atmosphere"},
        {
            "column": "box",
            "quantity": "crankcase-pressure",
            "unit": "kPa",
            "reference": "atmosphere",
        },
        {"column": "degc", "quantity": "oil-temperature", "unit": "degC"},
    ]
    if scene.kind == "slow-late-speed":
        signals.append({"column": "rpm", "quantity": "engine-speed", "unit": "rpm"})
    else:
        signals.append({"column": "spark", "quantity": "ignition", "unit": "V"})
    held = {"name": name, "from": f"{edges[0]:.4f} s", "to": f"{edges[-1]:.4f} s", "did": [did]}
    table = {"name": name, "visit": "only", "file": f"{name}.csv", "time": "t"}
    table["clock_offset"] = f"{offset_s} s"
    return table | {"signal": signals, "condition": [held]}


def write_pair(pair: Pair, number: int, folder: Path) -> None:
    """A job folder with both stretches, each in its own file."""
    rng = np.random.default_rng([number, 1])
    recordings = []
    parts = (("as found", "nothing", pair.first), ("cap off", "filler-cap-off", pair.second))
    for place, (name, did, stretch) in enumerate(parts):
        frame = pl.DataFrame(_frame(stretch, pair.scene, rng))
        frame.write_csv(folder / f"{name}.csv", float_precision=5)
        recordings.append(_recording(name, did, stretch, pair.scene, 60.0 * place))
    vehicle = {"cylinders": 4, "cycle": "four-stroke", "ignition": "coil-on-plug"}
    job = {"format": 1, "title": "pair", "vehicle": vehicle | {"oil_grade": "5W-30"}}
    job |= {"visit": [{"name": "only"}], "recording": recordings}
    (folder / "job.toml").write_text(tomlkit.dumps(job), encoding="utf-8")


def whole_findings(pair: Pair, number: int) -> Any:
    """What the whole analysis finds in a pair written as a job."""
    from gaugewright.analysis.analyse import analyse
    from gaugewright.job.folder import opened

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_pair(pair, number, folder)
        with opened(folder) as (job, base):
            return analyse(job, base).findings
