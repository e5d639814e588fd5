"""Rotation from the ripple of a pressure itself: the last resort, and said as such.

The firing of the cylinders shows in most of an engine's pressures.  In short windows the
spectrum is searched for a rate whose multiples stand out together; the course of the rate is
kept where it stays steady from window to window, and integrated.  A pump's own ripple can be
taken for it, which no single signal can tell apart: the note says so.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaugewright.job.model import Vehicle
from gaugewright.quantities.said import said
from gaugewright.recording.types import Note
from gaugewright.rotation.cycles import cycle_degrees, joined, unbroken_runs
from gaugewright.rotation.types import Rotation

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

WINDOW_S = 1.0
HOP_S = 0.25
SPEEDS_RPM = (450.0, 6500.0)
STANDS_OUT = 30.0
"""A line of power this many times the median around it is no accident of noise."""
HARMONIC = 8.0
STEADY = 0.12
"""Most the rate may change from one window to the next (a quarter of a second)."""
PADDING = 4


def rotation_from_ripple(
    time_s: Floats, pressure: Floats, vehicle: Vehicle, label: str = "pressure ripple"
) -> Rotation | None:
    """Which cycles does the ripple of this pressure suggest?

    Parameters: `time_s`, `pressure` (n,) evenly sampled, at least 100 a second; the vehicle's
    cylinders give the firings in a cycle.
    Returns: a rotation with source "ripple" and the note `speed-from-ripple`, good only where
    the firing rate and its double both stand out and the rate is steady; None where that is
    so in less than a third of the windows.
    """
    interval = float(np.median(np.diff(time_s))) if len(time_s) > 1 else 0.0
    size = round(WINDOW_S / interval) if interval > 0.0 else 0
    if size < 100 or len(time_s) < 3 * size:
        return None
    starts = np.arange(0, len(time_s) - size + 1, max(1, round(HOP_S / interval)))
    per_cycle = float(vehicle.cylinders)
    degrees = cycle_degrees(vehicle)
    band = tuple(speed / (degrees / 6.0) * per_cycle for speed in SPEEDS_RPM)
    rate, clear = _rates(_power(pressure, starts, size), interval, size, (band[0], band[1]))
    clear &= _steady(rate, clear)
    if float(clear.mean()) < 1.0 / 3.0:
        return None
    middles = time_s[starts + size // 2]
    edges, good = joined(_runs(middles, rate / per_cycle, clear))
    if not len(good):
        return None
    speed = float(np.median(rate[clear])) / per_cycle * degrees / 6.0
    text = said(
        "{signal}: the speed (about {speed:.0f} rpm) comes from the pressure's own ripple, taken "
        "to be that of {firings} firings a cycle; low confidence, a pump's ripple can be taken for "
        "it",
        signal=label,
        speed=speed,
        firings=vehicle.cylinders,
    )
    note = Note("speed-from-ripple", text)
    return Rotation("ripple", label, edges, good, degrees, HOP_S, (note,))


def _power(pressure: Floats, starts: npt.NDArray[np.int64], size: int) -> Floats:
    """(windows, lines) power spectra of windows without their straight-line course."""
    ramp = np.linspace(-1.0, 1.0, size)
    shape = np.hanning(size)
    rows = []
    for start in starts.tolist():
        part = np.nan_to_num(
            pressure[start : start + size] - np.nanmean(pressure[start : start + size])
        )
        part = part - ramp * float(ramp @ part) / float(ramp @ ramp)
        rows.append(np.abs(np.fft.rfft(part * shape, PADDING * size)[: 4 * 1024 * PADDING]) ** 2)
    return np.array(rows)


def _rates(
    power: Floats, interval: float, size: int, band: tuple[float, float]
) -> tuple[Floats, Bools]:
    """(windows,) the likeliest firing rate in Hz of each window, and whether it is clear."""
    line = 1.0 / (PADDING * size * interval)
    low, high = int(np.ceil(band[0] / line)), int(min(band[1] / line, power.shape[1] / 2 - 2))
    if high <= low:
        return np.zeros(len(power)), np.zeros(len(power), dtype=bool)
    at = np.arange(low, high)
    floor = np.median(power[:, low : 2 * high], axis=1, keepdims=True) + 1e-300
    first, second = power[:, at] / floor, power[:, 2 * at] / floor
    score = np.log1p(first) + np.log1p(second)
    best = np.argmax(score, axis=1)
    rows = np.arange(len(power))
    clear = (first[rows, best] > STANDS_OUT) & (second[rows, best] > HARMONIC)
    return _between_lines(score, best, at) * line, clear


def _between_lines(score: Floats, best: npt.NDArray[np.int64], at: npt.NDArray[np.int64]) -> Floats:
    """The peak's place to a part of a line, by the parabola through its three points."""
    rows = np.arange(len(score))
    inner = np.clip(best, 1, score.shape[1] - 2)
    left, here, right = (score[rows, inner + side] for side in (-1, 0, 1))
    bend = left - 2.0 * here + right
    share = np.where(bend < 0.0, 0.5 * (left - right) / np.where(bend < 0.0, bend, 1.0), 0.0)
    return np.asarray(at[inner] + np.clip(share, -0.5, 0.5))


def _steady(rate: Floats, clear: Bools) -> Bools:
    """Windows whose rate goes on from a clear neighbour's."""
    near = np.abs(np.diff(np.log(np.maximum(rate, 1e-9)))) < STEADY
    both = near & clear[1:] & clear[:-1]
    return np.concatenate(([False], both)) | np.concatenate((both, [False]))


def _runs(middles: Floats, cycles_per_s: Floats, clear: Bools) -> list[Floats]:
    """The cycle edges of each run of clear windows, their rate joined by lines."""
    runs = []
    for first, last in unbroken_runs(clear[1:] & clear[:-1]):
        times, rates = middles[first : last + 1], cycles_per_s[first : last + 1]
        growth = 0.5 * (rates[1:] + rates[:-1]) * np.diff(times)
        phase = np.concatenate(([0.0], np.cumsum(growth)))
        edges = np.interp(np.arange(int(phase[-1]) + 1), phase, times)
        if len(edges) > 1:
            runs.append(edges)
    return runs
