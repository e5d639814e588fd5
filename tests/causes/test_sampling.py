"""Draws: their lattice, their evidence where it is known, and when they are refused."""

from __future__ import annotations

import numpy as np
import pytest
from made_questions import (
    CAP_OFF,
    CRANKCASE,
    IDLE,
    OIL,
    OUTSIDE_PA,
    question,
    read_of,
    sound_engines,
)
from scipy.special import ndtr
from scipy.stats import kstest, norm
from test_marginal import NOISE, VALUES, exact, linear, straight

from gaugewright.causes import lines as drawn_lines
from gaugewright.causes import sampling
from gaugewright.causes.marginal import cells_of, evidence_of
from gaugewright.causes.model import asked
from gaugewright.causes.noise import noise_of
from gaugewright.causes.sampling import drawn, lattice

SIZES = [(24, 30), (160, 31), (400, 5)]


@pytest.mark.parametrize(("count", "size"), SIZES)
def test_the_lattice_has_the_moments_of_the_normal(count: int, size: int) -> None:
    points = lattice(count, size)
    assert points.shape == (count, size)
    assert np.abs(points.mean(axis=0)).max() < 1e-9
    slices = norm.ppf((np.arange(count) + 0.5) / count)
    assert points.std(axis=0) == pytest.approx(np.full(size, slices.std()))
    assert slices.std() == pytest.approx(1.0, abs=1.5 / count)
    assert np.sort(points, axis=0) == pytest.approx(np.tile(slices[:, None], size))


@pytest.mark.parametrize(("count", "size"), SIZES)
def test_no_column_of_the_lattice_follows_another(count: int, size: int) -> None:
    """As far as that many points allow: correlations as small as those of chance (4 sigma)."""
    off = np.corrcoef(lattice(count, size).T) - np.eye(size)
    assert np.abs(off).max() < 4.0 / np.sqrt(count)
    assert np.sqrt((off**2).mean()) < 1.15 / np.sqrt(count)


def test_lattices_of_different_sizes_do_not_follow_each_other() -> None:
    across = np.corrcoef(lattice(160, 9).T, lattice(160, 31).T)[:9, 9:]
    assert np.abs(across).max() < 4.0 / np.sqrt(160)


def test_a_lattice_is_always_the_same() -> None:
    assert np.array_equal(lattice(24, 6), lattice(24, 6))


@pytest.fixture
def lines(monkeypatch: pytest.MonkeyPatch) -> None:
    """The straight-line engine in place of the virtual one."""
    monkeypatch.setattr(drawn_lines, "scaled_predictions", linear)
    monkeypatch.setattr(sampling, "scaled_predictions", linear)


@pytest.mark.usefixtures("lines")
def test_draws_find_the_exact_evidence_and_the_exact_posterior() -> None:
    question_ = straight()
    cells = cells_of(question_, [()], NOISE, {0: 1})
    one = drawn(question_, cells, NOISE, 400)[()]
    assert one.log_evidence == pytest.approx(np.log(exact(0.0)), abs=0.02)
    assert one.effective > 300
    assert not one.refused
    [cell] = cells[()]
    mean = one.weight @ one.z
    assert mean == pytest.approx(cell.mean, abs=0.06)
    assert one.weight.sum() == pytest.approx(1.0)


@pytest.mark.usefixtures("lines")
def test_draws_of_a_severity_keep_inside_its_range() -> None:
    question_ = straight()
    cells = cells_of(question_, [("a",)], NOISE, {1: 5})
    one = drawn(question_, cells, NOISE, 600)[("a",)]
    assert np.all((one.severity >= 0.0) & (one.severity <= 1.0))
    assert one.log_evidence == pytest.approx(evidence_of(cells[("a",)]), abs=0.08)
    grid = np.linspace(0.0, 1.0, 501)
    weight = np.array([exact(s) for s in grid])
    assert one.weight @ one.severity[:, 0] == pytest.approx(weight @ grid / weight.sum(), abs=0.03)


@pytest.mark.usefixtures("lines")
def test_draws_around_the_wrong_place_are_refused() -> None:
    """Cells of other readings: hardly a draw comes near, and the straight lines stand."""
    wrong = cells_of(straight(VALUES + 30.0), [()], NOISE, {0: 1})
    one = drawn(straight(), wrong, NOISE, 160)[()]
    assert one.refused
    assert one.effective < sampling.LEAST_EFFECTIVE
    assert one.log_evidence == evidence_of(wrong[()])


@pytest.mark.usefixtures("lines")
def test_engines_that_never_run_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    cells = cells_of(straight(), [()], NOISE, {0: 1})
    monkeypatch.setattr(
        sampling, "scaled_predictions", lambda q, blocks: [np.nan * v for v in linear(q, blocks)]
    )
    one = drawn(straight(), cells, NOISE, 160)[()]
    assert one.refused
    assert one.log_evidence == evidence_of(cells[()])


def test_where_the_normal_of_a_cell_is_drawn_does_not_go_with_its_numbers() -> None:
    """Which cell a draw comes from is independent of where in the cell it lies."""
    seen = read_of(question([(IDLE, [OIL, CRANKCASE])]), {"worn-rings": 0.5})
    ask, near = asked(seen, sound_engines()), noise_of(seen, OUTSIDE_PA)
    cells = cells_of(ask, [("worn-rings",)], near, {1: 5})[("worn-rings",)]
    proposal = sampling._Proposal(cells, ask.healthy.count)
    at = proposal.draws(400)
    white = [
        np.linalg.solve(root, (at - mean).T).T
        for mean, root in zip(proposal.means, proposal.roots, strict=True)
    ]
    own = lattice(400, at.shape[1] + 1)
    which = np.searchsorted(np.cumsum(proposal.share), ndtr(own[:, -1]), side="right")
    shares = np.bincount(which, minlength=len(proposal.share)) / 400
    assert shares == pytest.approx(proposal.share, abs=1.5 / 400)
    for c, points in enumerate(white):
        mine = points[which == c]
        if len(mine) > 40:
            assert np.abs(mine.mean(axis=0)).max() < 4.0 / np.sqrt(len(mine))
            assert kstest(mine[:, 0], "norm").pvalue > 1e-4


def test_draws_correct_a_line_that_bends() -> None:
    """Cap off, the crankcase hardly moves with anything: straight lines miss by half a unit."""
    seen = read_of(question([(CAP_OFF, [CRANKCASE])]), {}, seed=6)
    ask, near = asked(seen, sound_engines()), noise_of(seen, OUTSIDE_PA)
    cells = cells_of(ask, [("worn-rings",)], near, {1: 5})
    few, many = (drawn(ask, cells, near, n)[("worn-rings",)] for n in (160, 2000))
    assert not few.refused
    own = np.hypot(few.effective**-0.5, many.effective**-0.5)
    assert few.log_evidence == pytest.approx(many.log_evidence, abs=3.0 * own)
