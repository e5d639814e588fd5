"""Stretches that look held are offered, and only those that last."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made import Stretch, recording

from gaugewright.evidence.offers import offered

IDLE = Stretch("as found", 95.0, 11.0)


def test_a_step_of_pressure_parts_two_offers() -> None:
    run = replace(recording(IDLE), spans=())
    signal = run.signals[0]
    values = signal.values + np.where(signal.time_s > 14.0, 40_000.0, 0.0)
    stepped = replace(run, signals=(replace(signal, values=values),))
    found = offered(stepped)
    assert len(found) == 2
    assert found[0][1] == pytest.approx(14.0, abs=2.0)
    assert found[1][0] == pytest.approx(14.0, abs=2.0)


def test_one_held_idle_is_one_offer() -> None:
    assert len(offered(replace(recording(IDLE), spans=()))) == 1
