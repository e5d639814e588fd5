"""A remembered function gives the same as before, and only for the same arguments."""

from __future__ import annotations

import numpy as np

from gaugewright.evidence.memo import remembered


def test_the_same_arrays_are_worked_out_once() -> None:
    calls: list[float] = []

    @remembered(2)
    def total(values: np.ndarray, factor: float | None = None) -> float:
        calls.append(1.0)
        return float(values.sum()) * (factor or 1.0)

    one = np.arange(4.0)
    assert total(one) == total(one.copy()) == 6.0
    assert len(calls) == 1
    assert total(one, 2.0) == 12.0
    assert total(one, factor=2.0) == 12.0
    assert len(calls) == 3
    assert total(one) == 6.0
    assert len(calls) == 4, "only the last two are remembered"


def test_shape_kind_and_holes_tell_arrays_apart() -> None:
    @remembered(10)
    def seen(values: np.ndarray) -> str:
        return f"{values.dtype} {values.shape} {values.tolist()}"

    for values in (
        np.zeros(4),
        np.zeros((2, 2)),
        np.zeros(4, dtype=np.float32),
        np.zeros(8, dtype=np.float32),
        np.array([0.0, np.nan, 0.0, 0.0]),
        np.zeros(8)[::2],
    ):
        assert seen(values) == seen.__wrapped__(values)  # type: ignore[attr-defined]
