"""The overview for drawing, against a plain loop over the bins."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugewright.recording.overview import bins


@settings(max_examples=100, deadline=None)
@given(
    gaps=st.lists(st.floats(0.01, 3), min_size=1, max_size=60),
    count=st.integers(1, 40),
    start=st.floats(-5, 50),
    width=st.floats(0.1, 80),
    holes=st.sets(st.integers(0, 59)),
)
def test_each_bin_has_least_mean_and_greatest(
    gaps: list[float], count: int, start: float, width: float, holes: set[int]
) -> None:
    time_s = np.cumsum(gaps)
    values = np.cos(7 * time_s)
    values[[i for i in holes if i < values.size]] = np.nan
    middles, low, mean, high = bins(time_s, values, start, start + width, count)
    edges = np.linspace(start, start + width, count + 1)
    np.testing.assert_allclose(middles, (edges[1:] + edges[:-1]) / 2)
    for k in range(count):
        last = k == count - 1
        inside = (time_s >= edges[k]) & (
            (time_s <= edges[k + 1]) if last else time_s < edges[k + 1]
        )
        there = values[inside & ~np.isnan(values)]
        if there.size == 0:
            assert np.isnan([low[k], mean[k], high[k]]).all()
        else:
            expected = [there.min(), there.mean(), there.max()]
            np.testing.assert_allclose([low[k], mean[k], high[k]], expected)


def test_bins_need_a_width() -> None:
    with pytest.raises(ValueError, match="an end after the start"):
        bins(np.arange(3.0), np.arange(3.0), 2, 2, 5)
