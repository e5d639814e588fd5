"""The whole `analyse` of a 60 s, 4-signal, 20 kHz job, against a plain pandas and SciPy script.

The job: 1.2 million rows of CSV (time, oil pressure, crankcase pressure, manifold pressure,
ignition), two conditions, no pages.  The plain script reads the file, finds the pulses and
computes each signal's mean over whole cycles of both conditions, and nothing else.  Both are
whole processes, run in turn in pairs.  At most 3 times is allowed; more ends with exit code 1.
"""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

RATE_HZ, LENGTH_S = 20_000, 60
PAIRS = 5
ALLOWED = 3.0
CONDITIONS = ((2.0, 30.0), (32.0, 58.0))

JOB = """\
format = 1
title = "Benchmark"

[vehicle]
cylinders = 4
cycle = "four-stroke"
ignition = "coil-on-plug"

[[recording]]
name = "run"
file = "recordings/run.csv"
time = "t"
"""

SIGNALS = (
    ("oil", "oil-pressure", 'unit = "kPa"'),
    ("crankcase", "crankcase-pressure", 'unit = "kPa"'),
    ("manifold", "manifold-pressure", 'unit = "kPa"\n  reference = "vacuum"'),
    ("spark", "ignition", 'unit = "V"'),
)

PLAIN = """\
import json, sys
import pandas
from scipy.integrate import cumulative_trapezoid
import numpy as np

table = pandas.read_csv(sys.argv[1])
time, spark = table["t"].to_numpy(), table["spark"].to_numpy()
edges = time[1:][(spark[1:] > 2.5) & (spark[:-1] <= 2.5)]
edges = edges[np.diff(edges, prepend=-1.0) > 0.02]
means = {}
for name in ("oil", "crankcase", "manifold"):
    area = cumulative_trapezoid(table[name].to_numpy(), time, initial=0.0)
    for begin, end in json.loads(sys.argv[2]):
        inside = edges[(edges >= begin) & (edges <= end)][[0, -1]]
        low, high = np.interp(inside, time, area)
        means[f"{name} {begin:g}"] = (high - low) / (inside[1] - inside[0])
print(json.dumps(means))
"""


def write_job(folder: Path) -> None:
    """The job folder: an idle that hunts, its pulses, pump and firing ripple."""
    rng = np.random.default_rng(60)
    time_s = np.arange(RATE_HZ * LENGTH_S) / RATE_HZ
    rpm = 830.0 + 15.0 * np.sin(2 * np.pi * time_s / 3.7)
    turned = np.cumsum(rpm) / 120.0 / RATE_HZ
    since_s = (turned - np.floor(turned)) * 120.0 / rpm
    held = time_s > 31.0
    oil = np.where(held, 85.0, 95.0) * (rpm / 830.0) ** 0.8 + 6.0 * np.sin(26.0 * turned)
    crankcase = np.where(held, 1.0, 11.0) + 0.4 * np.sin(8.0 * np.pi * turned)
    manifold = 35.0 + 3.0 * np.sin(8.0 * np.pi * turned)
    spark = 8.0 * np.exp(-since_s / 2e-4) * np.cos(2 * np.pi * 6000 * since_s)
    columns = [time_s] + [
        lane + size * rng.standard_normal(len(time_s))
        for lane, size in ((oil, 1.0), (crankcase, 0.2), (manifold, 0.5), (spark, 0.03))
    ]
    (folder / "recordings").mkdir(parents=True, exist_ok=True)
    names = ",".join(["t", *(name for name, _, _ in SIGNALS)])
    np.savetxt(
        folder / "recordings/run.csv",
        np.column_stack(columns),
        fmt=["%.5f", "%.3f", "%.3f", "%.3f", "%.3f"],
        delimiter=",",
        header=names,
        comments="",
    )
    (folder / "job.toml").write_text(job_text(), encoding="utf-8")


def job_text() -> str:
    """The job.toml: four signals, two conditions."""
    text = JOB
    for column, quantity, unit in SIGNALS:
        text += f'\n  [[recording.signal]]\n  column = "{column}"\n  quantity = "{quantity}"\n'
        text += f"  {unit}\n"
    for name, (begin, end) in zip(("as found", "cap off"), CONDITIONS, strict=True):
        text += f'\n  [[recording.condition]]\n  name = "{name}"\n'
        text += f'  from = "{begin} s"\n  to = "{end} s"\n'
    return text


def seconds(command: list[str]) -> tuple[float, str]:
    """The time one run of this command takes, s, and what it printed."""
    start = time.perf_counter()
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return time.perf_counter() - start, done.stdout


def same_means(plain: dict[str, float], findings: Path) -> bool:
    """Do both agree on what was held?  A ratio of two different things would say nothing."""
    told = json.loads(findings.read_text(encoding="utf-8"))["readings"]
    ours = {
        f"{r['quantity'].removesuffix('-pressure')} {begin:g}": r["value"]
        for r in told
        for name, (begin, _) in zip(("as found", "cap off"), CONDITIONS, strict=True)
        if r["condition"] == name and r["signals"] and r["reference"] in ("atmosphere", "vacuum")
    }
    return all(abs(ours[key] - value) < 0.3 for key, value in plain.items())


def main() -> int:
    """Measure, print one line, and say by the exit code whether it is allowed."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write_job(folder)
        findings = folder / "findings.json"
        analyse = [sys.executable, "-m", "gaugewright", "analyse", str(folder)]
        analyse += ["--json", str(findings)]
        script = [sys.executable, "-c", PLAIN, str(folder / "recordings/run.csv")]
        script += [json.dumps(CONDITIONS)]
        plain = json.loads(seconds(script)[1])
        seconds(analyse)
        if not same_means(plain, findings):
            print("analyse: the two do not agree on the means")
            return 1
        pairs = [(seconds(script)[0], seconds(analyse)[0]) for _ in range(PAIRS)]
    bare, ours = (statistics.median(pair[k] for pair in pairs) for k in (0, 1))
    ratio = ours / bare
    print(
        f"analyse, {RATE_HZ * LENGTH_S} rows: {ours:.2f} s, plain script {bare:.2f} s: "
        f"{ratio:.2f} times (under {ALLOWED:g})"
    )
    return 0 if ratio < ALLOWED else 1


if __name__ == "__main__":
    sys.exit(main())
