"""Slow channels in fast rows: found where the values leave no doubt, and only there."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from gaugewright.recording import carried
from gaugewright.recording.types import Recorded

Reader = Callable[..., Recorded]


def round_robin(rows: int, channels: int, seed: int, slip: int = 0) -> np.ndarray:
    """A logger that asks one channel after the other, writes a row each, and repeats the rest."""
    random = np.random.default_rng(seed)
    held = np.full(channels, np.nan)
    table = np.empty((rows, channels))
    asked = 0
    for row in range(rows):
        if slip and row == slip:
            asked += 1
        held[asked % channels] = np.round(50 + 20 * np.sin(row / 400) + random.normal(0, 2))
        table[row] = held
        asked += 1
    return table


def found(values: np.ndarray) -> carried.Refreshes | None:
    return carried.find({"x": values}).get("x")


@pytest.mark.parametrize("channels", [2, 3, 10])
def test_round_robin_keeps_just_the_refreshes(channels: int) -> None:
    table = round_robin(3000, channels, 8)
    slow = carried.find({str(i): table[:, i] for i in range(channels)})
    for index in range(channels):
        assert slow[str(index)].period == channels
        assert_array_equal(slow[str(index)].rows, np.arange(index, 3000, channels))


def test_round_robin_that_slips_once() -> None:
    slow = found(round_robin(3000, 10, 9, slip=1500)[:, 4])
    assert slow is not None
    expected = np.concatenate([np.arange(4, 1500, 10), np.arange(1503, 3000, 10)])
    assert np.isin(expected, slow.rows).mean() > 0.99
    assert abs(slow.rows.size - expected.size) <= 1


def test_few_changes_are_believed_when_the_other_channels_agree() -> None:
    table = round_robin(2000, 5, 10)
    table[:, 3] = np.where(np.arange(2000) < 1003, 20.0, 21.0)
    table[1703:, 3] = 22.0
    assert found(table[:, 3]) is None
    slow = carried.find({str(i): table[:, i] for i in range(5)})
    assert_array_equal(slow["3"].rows, np.arange(3, 2000, 5))


def test_refreshes_that_keep_their_own_time() -> None:
    random = np.random.default_rng(11)
    due = np.round(np.arange(0, 30000, 53.7) + random.uniform(-1.5, 1.5, 559)).astype(int)
    due[0] = 0
    speed = np.round(850 + random.normal(0, 12, due.size))
    values = speed[np.searchsorted(due, np.arange(30000), side="right") - 1]
    slow = found(values)
    assert slow is not None
    assert slow.period == pytest.approx(53.7, rel=0.02)
    changed = np.flatnonzero(np.diff(values)) + 1
    assert np.isin(changed, slow.rows).all()
    assert slow.rows.size == pytest.approx(due.size, abs=3)


def test_a_speed_worked_out_once_a_cycle_and_held() -> None:
    random = np.random.default_rng(15)
    speed = 820 * (1 + 0.12 * np.sin(np.arange(300) / 7)) + random.normal(0, 4, 300)
    due = np.concatenate([[0], np.cumsum(120 / speed * 1000).astype(int)])[:-1]
    held = np.round(speed)[np.searchsorted(due, np.arange(due[-1]), side="right") - 1]
    slow = found(held)
    assert slow is not None
    assert slow.period == pytest.approx(146, rel=0.1)
    assert np.isin(np.flatnonzero(np.diff(held)) + 1, slow.rows).all()
    assert slow.rows.size == pytest.approx(due.size, abs=12)


@pytest.mark.parametrize(
    "name",
    ["warming", "flicker", "ramp", "triangle", "noise", "constant", "switch", "sine", "ripple"],
)
def test_really_sampled_signals_are_left_alone(name: str) -> None:
    random = np.random.default_rng(12)
    row = np.arange(20000)
    signals = {
        "warming": np.round(20 + 70 * (1 - np.exp(-row / 8000))),
        "flicker": np.round(80 + row / 4000 + random.normal(0, 0.1, row.size)),
        "ramp": np.floor(row / 50),
        "triangle": np.abs(np.floor(row / 50) % 200 - 100),
        "noise": random.normal(0, 1, row.size),
        "constant": np.full(row.size, 5.0),
        "switch": np.where((row // 20) % 60 == 0, 5.0, 0.0),
        "ripple": np.array([3.0, 4.0, 5.0, 4.0])[
            np.searchsorted([12, 40, 52], row % 80, side="right")
        ],
        "sine": np.round(30 * np.sin(row / 900)),
    }
    assert found(signals[name]) is None


def test_ten_quantised_walks_are_left_alone() -> None:
    for seed in range(10):
        random = np.random.default_rng(seed)
        walk = np.round(80 + np.cumsum(random.normal(0, 0.02, 50000)))
        assert found(walk) is None


def test_a_log_of_that_dialect(reading: Reader) -> None:
    table = round_robin(600, 6, 13)
    names = ["coolant [Â°C]", "map [kPa]", "rpm", "speed", "air [g/s]", "pedal"]
    lines = ["Time," + ",".join(names)]
    clock = 8 * 3600 + np.cumsum(np.random.default_rng(14).uniform(0.05, 0.12, 600))
    for second, row in zip(clock, table, strict=True):
        stamp = f"{int(second // 3600):02d}:{int(second // 60 % 60):02d}:{second % 60:06.3f}"
        lines.append(stamp + "".join("," if np.isnan(x) else f",{x:.1f}" for x in row))
    recorded = reading("\n".join(lines), "coolant", "rpm", time="Time")
    column = recorded.columns["rpm"]
    assert_array_equal(column.values, table[2::6, 2])
    assert column.interval_s == pytest.approx(0.51, rel=0.05)
    (note,) = column.notes
    assert (note.code, note.count) == ("carried-forward", 598 - 100)
    assert "a new value comes only every 6 rows (about every 0.5" in note.text
    assert column.time_s[0] == pytest.approx(clock[2] - clock[0], abs=1e-3)


def test_pulses_are_never_taken_as_carried(reading: Reader) -> None:
    row = np.arange(6000)
    levels = np.select([row % 120 < 20, row % 120 < 40], [5.0, 2.5], 0.0)
    text = "v\n" + "".join(f"{v}\n" for v in levels)
    signal = [{"column": "v", "quantity": "crank"}]
    assert reading(text, rate_hz=1e4, signal=signal).columns["v"].values.size == 6000


def test_a_column_filled_only_here_and_there(reading: Reader) -> None:
    rows = [f"{n / 100},1.{n % 7},{820 + n % 5 if n % 10 == 3 else ''}" for n in range(200)]
    recorded = reading("t,p,rpm\n" + "\n".join(rows), "p", "rpm", time="t")
    column = recorded.columns["rpm"]
    assert column.values.size == 20
    assert column.time_s[0] == pytest.approx(0.03)
    assert column.interval_s == pytest.approx(0.1)
    assert [(n.code, n.count) for n in column.notes] == [("sparse", 180)]


def test_empty_cells_until_the_first_answer(reading: Reader) -> None:
    rows = [f"{n / 100},{'' if n < 30 else 1.5 + n % 7}" for n in range(200)]
    column = reading("t,p\n" + "\n".join(rows), "p", time="t").columns["p"]
    assert np.isnan(column.values[:30]).all()
    assert np.isfinite(column.values[30:]).all()
    assert column.notes[0].text == "30 values are missing, 30 of them before the first value"
