"""The overview of a lane, against plain minima, maxima and means of the samples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugewright.store.overview import BIN, STEP, Overview, build


def plainly(lane: np.ndarray, begin: float, end: float, columns: int) -> np.ndarray:
    """Each column's least, greatest and mean of the samples within its edges, NaN for none."""
    edges = np.clip(np.ceil(np.linspace(begin, end, columns + 1) - 1e-9), 0, len(lane))
    rows = []
    for first, last in zip(edges[:-1].astype(int), edges[1:].astype(int), strict=True):
        part = lane[first:last]
        part = part[~np.isnan(part)]
        rows.append((part.min(), part.max(), part.mean()) if len(part) else (np.nan,) * 3)
    return np.array(rows)


def lane_of(count: int, seed: int, missing: float = 0.0) -> np.ndarray:
    rng = np.random.default_rng(seed)
    lane = np.cumsum(rng.standard_normal(count)) + 40.0
    lane[rng.random(count) < missing] = np.nan
    return lane


@settings(max_examples=150, deadline=None)
@given(
    st.integers(1, 3000),
    st.integers(1, 60),
    st.floats(-0.3, 1.2),
    st.floats(1e-4, 1.5),
    st.sampled_from([0.0, 0.2, 0.999]),
)
def test_close_views_are_those_of_the_samples(
    count: int, columns: int, begin: float, width: float, missing: float
) -> None:
    """With less than two bins in a column the samples themselves are drawn: to the last bit."""
    lane = lane_of(count, count, missing)
    first, last = begin * count, (begin + width) * count
    if last - first >= 2 * BIN * columns or not last > first:
        return
    found = build(lane).window(first, last, columns)
    np.testing.assert_allclose(
        found, plainly(lane, first, last, columns), rtol=1e-6, equal_nan=True
    )


@pytest.mark.parametrize("missing", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("count", [1, BIN, BIN + 1, BIN * STEP * STEP, 300_007])
def test_wide_views_hold_every_extreme(count: int, missing: float) -> None:
    """A column takes whole bins: what it shows is that of its bins' samples, none left out."""
    lane = lane_of(count, 5, missing)
    overview = build(lane)
    for columns in (1, 7, 60):
        found = overview.window(0, count, columns)
        whole = plainly(lane, 0, count, 1)[0]
        if np.isnan(whole).all():
            assert np.isnan(found).all()
            continue
        assert np.nanmin(found[:, 0]) == np.float32(whole[0])
        assert np.nanmax(found[:, 1]) == np.float32(whole[1])
        inside = ~np.isnan(found[:, 2])
        assert (found[inside, 0] <= found[inside, 2] + 1e-4).all()
        assert (found[inside, 2] <= found[inside, 1] + 1e-4).all()


def test_a_column_reaches_over_its_edges_by_less_than_half_its_width() -> None:
    """Against columns whose edges are moved outward by half a width, and inward."""
    lane = lane_of(1_000_003, 9)
    overview = build(lane)
    begin, end, columns = 120_345.6, 987_654.3, 300
    width = (end - begin) / columns
    found = overview.window(begin, end, columns)
    for k in range(columns):
        first, last = begin + k * width, begin + (k + 1) * width
        outer = lane[int(first - width / 2) : int(last + width / 2) + 1]
        inner = lane[int(first + width / 2) + 1 : int(last)]
        assert outer.min() - 1e-3 <= found[k, 0]
        assert found[k, 1] <= outer.max() + 1e-3
        assert len(inner) == 0 or found[k, 0] <= inner.min() + 1e-3


def test_a_single_spike_is_seen_at_every_zoom() -> None:
    lane = np.zeros(5_000_000, dtype=np.float32)
    lane[3_141_592] = 7.0
    overview = build(lane)
    for width in (5_000_000, 400_000, 30_000, 2_000, 50):
        begin = 3_141_592 - width * 0.37
        assert np.nanmax(overview.window(begin, begin + width, 1200)[:, 1]) == 7.0


def test_the_mean_of_a_wide_column_weighs_every_sample_alike() -> None:
    lane = lane_of(BIN * STEP * 40, 3, missing=0.4)
    found = build(lane).window(0, len(lane), 1)[0, 2]
    assert found == pytest.approx(np.nanmean(lane), rel=1e-5)


def test_uneven_columns_are_drawn_too() -> None:
    lane = lane_of(100_000, 2)
    edges = np.sort(np.random.default_rng(1).uniform(0, len(lane), 201))
    edges[0], edges[-1] = 0, len(lane)
    found = build(lane).columns(edges)
    assert np.nanmin(found[:, 0]) == np.float32(lane.min())
    assert np.nanmax(found[:, 1]) == np.float32(lane.max())


def test_a_window_without_width_or_columns_is_refused() -> None:
    overview = build(np.arange(10.0))
    for begin, end, columns in ((1, 1, 5), (2, 1, 5), (0, 5, 0), (0, np.nan, 3)):
        with pytest.raises(ValueError, match="a window needs a column"):
            overview.window(begin, end, columns)


def test_an_empty_lane_draws_nothing() -> None:
    assert np.isnan(build(np.empty(0)).window(0, 10, 4)).all()
    assert isinstance(build(np.empty(0)), Overview)
