"""The lines' values and slopes: those of engines each solved by itself, by plain differences."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from unittest.mock import patch

import numpy as np
import numpy.typing as npt
import pytest
from made_questions import (
    BLOCKED,
    BUILD,
    CAP_OFF,
    COLD,
    CRANKCASE,
    FAST,
    IDLE,
    MANIFOLD,
    OIL,
    SPEED,
    held,
    question,
    read_of,
    sound_engines,
)

from gaugewright.causes.lines import STEP_SEVERITY, STEP_Z, Line, Place, lines_at, rough_lines
from gaugewright.causes.model import Asked, Variants, asked, scaled_predictions
from gaugewright.causes.observation import TRIM
from gaugewright.engine import steady
from gaugewright.engine.build import Build
from gaugewright.engine.settling import settled_point

Floats = npt.NDArray[np.float64]

MENDED = held(gone=("oil-and-filter-changed",))
ROWS = [
    (IDLE, [OIL, CRANKCASE, MANIFOLD, SPEED, "air-flow"]),
    (FAST, [OIL, CRANKCASE]),
    (COLD, [OIL]),
    (CAP_OFF, [OIL, CRANKCASE]),
    (BLOCKED, [CRANKCASE]),
    (MENDED, [OIL]),
]
DIESEL = replace(BUILD, fuel="diesel", ignition="compression", metering="none")
CAUSES = [
    ("oil-thin",),
    ("breather-blocked",),
    ("crankcase-open",),
    ("worn-rings",),
    ("relief-valve-open", "worn-bearings"),
]
GRID = {0: 1, 1: 3, 2: 2}
OWN = {OIL: 3e-4, "air-flow": 3e-4, MANIFOLD: 3e-4, SPEED: 3e-4, CRANKCASE: 3.0, TRIM: 0.02}
"""What a slope for each standard deviation may be off by: a share of the reading where its
logarithm is weighed, else Pa and points of trim.  The brackets leave up to a ten-thousandth of a
balance, and a slope is four times the difference of two; all of it is a hundredth of what the
readings scatter by."""


def made(build: Build) -> Asked:
    rows = [(h, [*q, TRIM] if h is IDLE and build.metering != "none" else q) for h, q in ROWS]
    return asked(read_of(question(rows), {"nothing-wrong": 0.5}, build), sound_engines(build))


def plainly(asked_for: Asked, causes: tuple[str, ...], severity: Floats, z: Floats) -> Floats:
    """Each engine by itself, by the brackets alone."""
    with patch.object(steady, "settled", settled_point):
        [found] = scaled_predictions(asked_for, [Variants(causes, severity, z)])
    return found


def slopes_by_hand(asked_for: Asked, place: Place, at: Floats) -> Floats:
    """(m, d + k): the value a step on along each number less the value at the point."""
    d, k = asked_for.healthy.count, len(place.causes)
    z = np.vstack([at[:d], at[:d] + STEP_Z * np.eye(d), np.tile(at[:d], (k, 1))])
    severity = np.tile(place.severity + at[d:] * place.spread, (1 + d + k, 1))
    severity[1 + d :] += STEP_SEVERITY * np.eye(k)
    found = plainly(asked_for, place.causes, severity, z)
    size = np.concatenate([np.full(d, STEP_Z), STEP_SEVERITY / place.spread])
    return np.asarray((found[1:] - found[0]).T / size)


def allowed(asked_for: Asked) -> Floats:
    return np.array([OWN[item.quantity] for item in asked_for.observed.items])


def agree(found: Floats, wanted: Floats, asked_for: Asked) -> None:
    """Slopes (m, s) within what is allowed and a thousandth."""
    room = allowed(asked_for)[:, None] + 1e-3 * np.abs(wanted)
    assert np.all(np.abs(found - wanted) < room), np.max(np.abs(found - wanted) / room)


def points(asked_for: Asked, places: Sequence[Place]) -> list[Floats]:
    rng = np.random.default_rng(2)
    d = asked_for.healthy.count
    return [
        np.concatenate([0.7 * rng.standard_normal(d), rng.uniform(-1.0, 1.0, len(p.causes))])
        for p in places
    ]


@pytest.mark.parametrize("build", [BUILD, DIESEL], ids=["petrol", "diesel"])
def test_lines_are_those_of_engines_solved_whole(build: Build) -> None:
    wanted = made(build)
    places = [Place(h, np.full(len(h), 0.5), np.full(len(h), 0.4)) for h in CAUSES]
    at = points(wanted, places)
    for place, point, line in zip(places, at, lines_at(wanted, places, at), strict=True):
        agree(line.slopes, slopes_by_hand(wanted, place, point), wanted)
        severity = place.severity + point[wanted.healthy.count :] * place.spread
        value = plainly(wanted, place.causes, severity[None], point[None, : wanted.healthy.count])
        assert np.all(np.abs(line.value - value[0]) < 0.3 * allowed(wanted))


@pytest.mark.parametrize("build", [BUILD, DIESEL], ids=["petrol", "diesel"])
def test_rough_lines_have_the_slopes_of_their_middle_cell(build: Build) -> None:
    wanted = made(build)
    rough = rough_lines(wanted, CAUSES[:3], GRID)
    d = wanted.healthy.count
    for causes in CAUSES[:3]:
        place, line = rough.lines[causes][1]
        by_hand = slopes_by_hand(wanted, place, np.zeros(d + 1))
        agree(rough.along_z[causes], by_hand[:, :d], wanted)
        agree(line.slopes[:, :d], by_hand[:, :d], wanted)
        value = plainly(wanted, causes, place.severity[None], np.zeros((1, d)))
        assert np.all(np.abs(line.value - value[0]) < 0.3 * allowed(wanted))


def spoilt(lines: Callable[..., list[Line]], share: float) -> Callable[..., list[Line]]:
    def off(*given: object) -> list[Line]:
        return [replace(one, slopes=one.slopes * (1.0 + share)) for one in lines(*given)]

    return off


def test_slopes_off_by_half_a_per_cent_would_be_seen() -> None:
    wanted = made(BUILD)
    place = Place(("oil-thin",), np.array([0.5]), np.array([0.4]))
    [at] = points(wanted, [place])
    [line] = spoilt(lines_at, 5e-3)(wanted, [place], [at])
    with pytest.raises(AssertionError):
        agree(line.slopes, slopes_by_hand(wanted, place, at), wanted)
