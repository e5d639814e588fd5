"""Cylinder pressure against the polytrope, and its work against what it was made for."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.engine.build import Build
from gaugewright.engine.cylinder_trace import (
    EXPONENT,
    POINTS,
    Charges,
    burning_pa,
    firing_work,
    pressure,
    shapes,
)
from gaugewright.engine.held import Held
from gaugewright.engine.plan import planned
from gaugewright.engine.run import run
from gaugewright.engine.sound import sound
from gaugewright.physics.cylinder import running_compression, volume_ratio

CLEARANCE = 5e-4 / 9.0


def one_cycle(charge_pa=35e3, work_j=0.0, exhaust_pa=103e3):
    made = shapes(10.0)
    burning = burning_pa(work_j, CLEARANCE, made)
    charges = Charges(0, np.full(12, charge_pa), np.full(12, burning), exhaust_pa)
    degrees = np.arange(-360.0, 360.0, 0.25)
    found = pressure(1.0 + degrees / 720.0, 0, 4, made, charges)
    return degrees, found


def test_compression_follows_the_polytrope():
    """p V^n stays on the compression stroke, from the intake valve's closing on."""
    degrees, found = one_cycle()
    closed = (degrees > -110.0) & (degrees < -15.0)
    volume = np.asarray(volume_ratio(degrees[closed], 10.0))
    constant = found[closed] * volume**EXPONENT
    assert constant == pytest.approx(constant[0], rel=1e-3)


def test_running_compression():
    """Common practice: manifold pressure times the effective ratio to the power 1.25 to 1.3."""
    _, found = one_cycle()
    low, high = (running_compression(35e3, 10.0, 0.85, n) for n in (1.25, 1.31))
    assert low < found.max() < high


def test_the_work_is_the_work_asked_for():
    """The integral of p dV over one cycle, with and without the heat, differs by the work."""
    degrees, fired = one_cycle(work_j=80.0)
    _, idle = one_cycle(work_j=0.0)
    volume = CLEARANCE * np.asarray(volume_ratio(degrees, 10.0))
    gained = np.trapezoid(fired - idle, volume)
    assert gained == pytest.approx(80.0, rel=1e-3)


def test_intake_and_exhaust_are_at_their_pipes_pressures():
    degrees, found = one_cycle(work_j=80.0)
    assert found[np.abs(degrees + 250.0) < 20.0] == pytest.approx(35e3, rel=0.01)
    assert found[np.abs(degrees - 300.0) < 40.0] == pytest.approx(103e3, rel=0.01)


def test_firing_work_begins_and_ends_with_nothing():
    for count in (3, 4, 5, 6, 8):
        works = firing_work(shapes(10.0), count, CLEARANCE, 40)
        lent = works.lent(np.full(count, 35e3))
        assert lent[[0, -1]] == pytest.approx(0.0, abs=1e-6)
        assert works.burnt[[0, -1]] == pytest.approx([0.0, 1.0])
        assert np.all(np.diff(works.burnt) > -0.01)
        if count <= 4:
            assert lent.min() > -1.0, "slowest at top dead centre"
            assert lent.max() > 5.0


def test_the_cylinders_fire_in_their_order():
    build = Build()
    found = run(build, sound(build), planned([(3.0, Held())]), 20e3, 1)
    peaks = {}
    for number in build.firing_order:
        values = found.lanes[f"cylinder_{number}_pa"]
        window = (found.time_s > found.cycle_starts_s[5] - 0.01) & (
            found.time_s < found.cycle_starts_s[6] - 0.01
        )
        peaks[number] = found.time_s[window][np.argmax(values[window])]
    assert tuple(sorted(peaks, key=peaks.get)) == build.firing_order
    assert 700e3 < found.lanes["cylinder_1_pa"].max() < 1600e3


def test_points_are_every_half_degree():
    assert len(shapes(10.0).volume) == POINTS + 1 == 1441
