"""A hum of the wiring is no engine: its rate stands still."""

from __future__ import annotations

import numpy as np

from gaugewright.analysis.lanes import wanders
from gaugewright.rotation.types import Rotation


def turning(speed_rpm: np.ndarray) -> Rotation:
    edges = np.concatenate([[0.0], np.cumsum(120.0 / speed_rpm)])
    return Rotation("ripple", "run/box", edges, np.ones(len(speed_rpm), bool), 720.0, 0.25)


def test_a_rate_that_stands_still_is_refused() -> None:
    assert not wanders(turning(np.full(200, 470.7)))


def test_an_idle_that_hunts_is_an_engine() -> None:
    assert wanders(turning(820.0 + 10.0 * np.sin(np.linspace(0.0, 30.0, 200))))
