"""How a speed is read: smoothed where its pulses jitter, as it is where they don't."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import savgol_filter

from gaugewright.evidence.lateness import WINDOWS_S, evidence_of_window, smoothed, window_of

TIME = 0.06 * np.arange(400)
HUNTING = 2000.0 + 15.0 * np.sin(2 * np.pi * 0.5 * TIME)
CYCLE_S = 0.06


def chosen(speed: np.ndarray, pressure: np.ndarray) -> float:
    speeds = [smoothed(speed, CYCLE_S, window) for window in WINDOWS_S]
    return window_of([evidence_of_window(TIME, pressure, speeds)])


def test_a_parabola_is_left_as_it_is() -> None:
    parabola = 3.0 + 2.0 * TIME - 0.7 * TIME**2
    inner = smoothed(parabola, CYCLE_S, 0.75)[10:-10]
    assert inner == pytest.approx(parabola[10:-10])


def test_the_weights_are_those_of_savitzky_and_golay() -> None:
    noise = np.random.default_rng(1).standard_normal(200)
    theirs = savgol_filter(noise, 13, 2)
    assert smoothed(noise, CYCLE_S, 0.75)[10:-10] == pytest.approx(theirs[10:-10])
    assert not np.allclose(smoothed(noise, CYCLE_S, 0.6)[10:-10], theirs[10:-10])


def test_jittering_pulses_are_smoothed_and_steady_ones_are_not() -> None:
    rng = np.random.default_rng(2)
    pressure = 177.0 + 0.06 * (HUNTING - 2000.0) + 0.02 * rng.standard_normal(400)
    assert chosen(HUNTING + 8.0 * rng.standard_normal(400), pressure) > 0.0
    assert chosen(HUNTING, pressure) == 0.0


def test_a_speed_that_truly_scatters_is_followed() -> None:
    rng = np.random.default_rng(3)
    speed = HUNTING + 8.0 * rng.standard_normal(400)
    pressure = 177.0 + 0.06 * (speed - 2000.0) + 0.02 * rng.standard_normal(400)
    assert chosen(speed, pressure) == 0.0
