"""Made sensors and columns whose truth is known."""

from __future__ import annotations

import numpy as np

from gaugewright.job.model import Sensor, SignalEntry
from gaugewright.quantities.physical import Physical
from gaugewright.quantities.units import parse
from gaugewright.recording.types import Column, Recorded


def pressure(text):
    return parse(text, "pressure")


def volts(text):
    return parse(text, "voltage")


def sensor(points=(("0.5 V", "0 bar"), ("4.5 V", "10 bar")), **more):
    """A pressure sensor; texts of pressures are read, `supply` as a voltage."""
    read = {
        key: value if key == "reference" else (volts(value) if key == "supply" else pressure(value))
        for key, value in more.items()
        if key != "range"
    }
    if "range" in more:
        read["range"] = tuple(pressure(end) for end in more["range"])
    pairs = tuple((volts(v), pressure(p)) for v, p in points)
    return Sensor(name="oil transducer", points=pairs, **read)


def plain(outputs, values, **more):
    """A sensor whose points are given as bare house values."""
    pairs = tuple(
        (Physical(f"{x} V", x), Physical(f"{y} Pa", y))
        for x, y in zip(outputs, values, strict=True)
    )
    read = {key: Physical(f"{value} Pa", value) for key, value in more.items() if key != "range"}
    if "range" in more:
        read["range"] = tuple(Physical(f"{end} Pa", end) for end in more["range"])
    return Sensor(name="s", points=pairs, **read)


def column(values, rate_hz=1000.0, name="p", unit="V", step=0.0):
    values = np.asarray(values, dtype=float)
    return Column(name, np.arange(len(values)) / rate_hz, values, 1.0 / rate_hz, step, unit)


def recorded(*columns):
    return Recorded(
        "run",
        "first",
        "run.csv",
        "",
        len(columns[0].values),
        None,
        {each.name: each for each in columns},
        (),
        (),
    )


def entry(quantity="oil-pressure", name="p", **more):
    return SignalEntry(column=name, quantity=quantity, **more)


def stepped(values, step):
    return np.round(np.asarray(values) / step) * step


def codes(notes):
    return {note.code: note.count for note in notes}


def engine(seconds=60.0, rate_hz=20_000.0, noise=0.01, seed=1):
    """An oil pressure's output: hunting, firing and pump ripple, noise; V."""
    t = np.arange(round(seconds * rate_hz)) / rate_hz
    rng = np.random.default_rng(seed)
    phase = 27.0 * t + 1.2 * np.sin(2.0 * np.pi * 0.7 * t)
    ripple = 0.10 * np.sin(2.0 * np.pi * phase) + 0.03 * np.sin(4.0 * np.pi * phase + 1.0)
    pump = 0.02 * np.sin(2.0 * np.pi * 9.7 * phase)
    slow = 0.05 * np.sin(2.0 * np.pi * 0.7 * t)
    return 1.5 + ripple + pump + slow + rng.normal(0.0, noise, len(t))
