"""Made recordings of a turning engine whose truth is known."""

from __future__ import annotations

import numpy as np

from gaugewright.job.model import SignalEntry, Vehicle
from gaugewright.recording.types import Column, Recorded

FOUR = {"cylinders": 4, "cycle": "four-stroke"}


def vehicle(**more):
    return Vehicle(**{**FOUR, **more})


def column(values, rate_hz, name="signal", unit="V", step=0.0):
    values = np.asarray(values, dtype=float)
    return Column(name, np.arange(len(values)) / rate_hz, values, 1.0 / rate_hz, step, unit)


def recorded(*columns, name="run"):
    return Recorded(
        name,
        "first",
        "made.csv",
        "",
        len(columns[0].values),
        None,
        {each.name: each for each in columns},
        (),
        (),
    )


def entry(quantity, name="signal", **more):
    return SignalEntry(column=name, quantity=quantity, **more)


def hunting(seconds, rate_hz, rpm=820.0, swing=0.0, per_s=0.7):
    """Speed in rpm at each sample."""
    t = np.arange(round(seconds * rate_hz)) / rate_hz
    return rpm * (1.0 + swing * np.sin(2.0 * np.pi * per_s * t))


def turned(rpm, rate_hz):
    """Revolutions of the crank since the start at each sample."""
    return np.concatenate(([0.0], np.cumsum(rpm[:-1]))) / 60.0 / rate_hz


def instants(phase, rate_hz, every, offset=0.5):
    """When the phase passes offset, offset + every, ...; s, between the samples."""
    wanted = np.arange(offset, phase[-1], every)
    return np.interp(wanted, phase, np.arange(len(phase)) / rate_hz)


def sparked(at_s, samples, rate_hz, shape="ringing", height=5.0, noise=0.05, seed=1):
    """Pulses at these instants: `ringing` near 8 kHz, `square` or `spike`."""
    rng = np.random.default_rng(seed)
    values = rng.normal(0.0, noise, samples)
    heights = height * rng.uniform(0.8, 1.2, len(at_s))
    length = max(4, round(0.003 * rate_hz))
    for instant, high in zip(at_s, heights, strict=True):
        first = int(np.ceil(instant * rate_hz))
        after = np.arange(first, min(first + length, samples)) / rate_hz - instant
        if shape == "ringing":
            pulse = high * np.exp(-after / 1e-3) * np.cos(2.0 * np.pi * 8000.0 * after)
        elif shape == "square":
            pulse = np.where(after < 0.0025, high, 0.0)
        else:
            pulse = high * np.exp(-after / 2e-4)
        values[first : first + len(after)] += pulse
    return values


def wheel(phase, positions, missing, kind="square", rpm=None):
    """A toothed wheel's output over its own turns: `square` or `reluctance`."""
    within = (phase % 1.0) * positions
    present = within < positions - missing
    if kind == "square":
        return np.where(present & (within % 1.0 < 0.5), 5.0, 0.0)
    amplitude = 1.0 if rpm is None else rpm / 800.0
    return amplitude * np.where(present, np.sin(2.0 * np.pi * within), 0.0)


def worst_edge_s(rotation, true_s):
    """How far the farthest edge found is from the nearest true one."""
    at = np.clip(np.searchsorted(true_s, rotation.edges_s), 1, len(true_s) - 1)
    near = np.minimum(
        np.abs(true_s[at] - rotation.edges_s), np.abs(true_s[at - 1] - rotation.edges_s)
    )
    return float(near.max())


def counts(notes):
    return {note.code: note.count for note in notes}
