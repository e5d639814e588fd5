"""Clocks: stamps of every kind, and what is done about missing, repeated and backward ones."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from gaugewright.recording.clock import ClockError, settle
from gaugewright.recording.types import Recorded

Reader = Callable[..., Recorded]


def stamped(stamps: list[str]) -> str:
    return "clock,p\n" + "".join(f"{stamp},{n}.5\n" for n, stamp in enumerate(stamps))


def notes_of(recorded: Recorded) -> dict[str, int]:
    return {note.code: note.count for note in recorded.notes}


@pytest.mark.parametrize(
    "form",
    [
        "11:53:{:06.3f}",
        "2031-03-04T11:53:{:06.3f}",
        "2031-03-04 11:53:{:06.3f}",
        "2031-03-04T11:53:{:06.3f}Z",
        "2031-03-04T11:53:{:06.3f}+01:00",
        "04.03.2031 11:53:{:06.3f}",
        "03/04/2031 11:53:{:06.3f} AM",
        "1:53:{:06.3f} PM",
        "53:{:06.3f}",
    ],
)
def test_stamps_of_many_forms_count_from_the_first(reading: Reader, form: str) -> None:
    recorded = reading(stamped([form.format(2 + n / 4) for n in range(8)]), "p", time="clock")
    assert_allclose(recorded.columns["p"].time_s, np.arange(8) / 4, atol=1e-9)
    first = form.format(2)
    assert f"time counts from the first stamp, {first}" in recorded.guesses
    assert not recorded.notes


def test_microseconds_after_a_blank(reading: Reader) -> None:
    stamps = ["2031-03-04 11:53:02 900000", "2031-03-04 11:53:02 950000"]
    stamps += ["2031-03-04 11:53:03 0", "2031-03-04 11:53:03 50000"]
    recorded = reading(stamped(stamps), "p", time="clock")
    assert_allclose(recorded.columns["p"].time_s, [0, 0.05, 0.1, 0.15], atol=1e-9)


def test_decimal_comma_in_stamps(reading: Reader) -> None:
    text = "clock;p\n" + "".join(f"11:53:0{n},5;{n},5\n" for n in range(5))
    assert_allclose(reading(text, "p", time="clock").columns["p"].time_s, range(5))


@pytest.mark.parametrize("day", ["", "2031-03-04 "])
def test_time_of_day_passes_midnight(reading: Reader, day: str) -> None:
    stamps = [f"{day}23:59:5{n}.0" for n in range(10)]
    stamps += [f"{day.replace('04', '05')}00:00:0{n}.0" for n in range(5)]
    recorded = reading(stamped(stamps), "p", time="clock")
    assert_allclose(recorded.columns["p"].time_s, range(15))
    assert notes_of(recorded) == ({} if day else {"midnight": 1})


def test_whole_second_stamps_are_spread_within_their_second(reading: Reader) -> None:
    stamps = [f"11:53:{30 + n // 3}" for n in range(30)]
    recorded = reading(stamped(stamps), "p", time="clock")
    assert_allclose(recorded.columns["p"].time_s, np.arange(30) / 3, atol=1e-9)
    assert notes_of(recorded) == {"stamps-coarse": 20}
    assert any("spread evenly within" in guess for guess in recorded.guesses)


def test_a_first_and_a_last_second_cut_short(reading: Reader) -> None:
    true = 0.6 + np.arange(47) / 5
    recorded = reading(stamped([f"11:53:{30 + int(t + 1e-9)}" for t in true]), "p", time="clock")
    assert_allclose(recorded.columns["p"].time_s, true, atol=1e-9)


def test_a_gap_in_whole_second_stamps_is_not_filled(reading: Reader) -> None:
    stamps = [f"11:53:{10 + n // 2}" for n in range(20)]
    stamps += [f"11:53:{40 + n // 2}" for n in range(20)]
    recorded = reading(stamped(stamps), "p", time="clock")
    assert recorded.columns["p"].time_s[19] == pytest.approx(9.5)
    assert recorded.columns["p"].time_s[20] == pytest.approx(30)
    assert notes_of(recorded) == {"stamps-coarse": 20, "gaps": 1}


@pytest.mark.parametrize(
    ("header", "factor", "says"),
    [
        ("t [ms]", 1e3, "time is in milliseconds, as the header says"),
        ("time_us", 1e6, "time is in microseconds, as the header says"),
        ("Time (s)", 1.0, "time is in seconds, as the header says"),
        ("t", 1e3, "time is taken to be in milliseconds"),
        ("t", 1e6, "time is taken to be in microseconds"),
        ("t", 1.0, "time is taken to be in seconds"),
    ],
)
def test_time_unit_by_header_or_plausibility(
    reading: Reader, header: str, factor: float, says: str
) -> None:
    time_s = np.arange(2000) * 0.02
    text = f"{header},p\n" + "".join(f"{t * factor:.8g},1.5\n" for t in time_s)
    recorded = reading(text, "p", time=header)
    assert_allclose(recorded.columns["p"].time_s, time_s, atol=1e-9)
    assert any(says in guess for guess in recorded.guesses)


def test_stated_time_unit_wins(reading: Reader) -> None:
    text = "t,p\n" + "".join(f"{n * 20},1.5\n" for n in range(100))
    recorded = reading(text, "p", time="t", time_unit="us")
    assert recorded.columns["p"].time_s[-1] == pytest.approx(99 * 20e-6)
    assert not any("time" in guess for guess in recorded.guesses)


def test_seconds_since_a_far_date_count_from_the_first(reading: Reader) -> None:
    text = "t,p\n" + "".join(f"{1930000000 + n / 4:.2f},1.5\n" for n in range(9))
    recorded = reading(text, "p", time="t")
    assert_allclose(recorded.columns["p"].time_s, np.arange(9) / 4)
    assert any("time counts from the first stamp" in guess for guess in recorded.guesses)


def grid(count: int = 100) -> tuple[np.ndarray, np.ndarray]:
    return np.arange(count) / 10, np.random.default_rng(4).normal(size=count)


def test_a_sound_clock_is_handed_on_as_it_is() -> None:
    time_s, values = grid()
    clock = settle(time_s, {"p": values})
    assert clock.time_s is time_s
    assert clock.rows is None
    assert clock.notes == ()
    assert clock.interval_s == pytest.approx(0.1)


def test_gaps_are_counted_and_the_longest_is_placed() -> None:
    time_s, values = grid()
    time_s[40:] += 2
    time_s[70:] += 5
    (note,) = settle(time_s, {"p": values}).notes
    assert (note.code, note.count) == ("gaps", 2)
    assert "the longest 5.1 s at 8.9 s" in note.text


def test_missing_stamps_are_put_between_their_neighbours() -> None:
    time_s, values = grid()
    holed = time_s.copy()
    holed[[10, 11, 50]] = np.nan
    clock = settle(holed, {"p": values})
    assert_allclose(clock.time_s, time_s)
    assert [(n.code, n.count) for n in clock.notes] == [("stamps-missing", 3)]


def test_rows_without_time_that_cannot_be_placed_are_counted() -> None:
    time_s, values = grid()
    time_s[:2] = np.nan
    time_s[-1] = np.nan
    clock = settle(time_s, {"p": values})
    assert clock.rows is not None
    assert_array_equal(clock.rows, np.arange(2, 99))
    assert [(n.code, n.count) for n in clock.notes] == [("rows-without-time", 3)]


def test_repeated_rows_are_merged_and_repeated_stamps_spread() -> None:
    time_s, values = grid()
    rows = np.insert(np.arange(100), 30, 30)
    clock = settle(time_s[rows], {"p": values[rows]})
    assert_allclose(clock.time_s, time_s)
    assert [(n.code, n.count) for n in clock.notes] == [("rows-repeated", 1)]
    values2 = values[rows]
    values2[31] = 7
    clock = settle(time_s[rows], {"p": values2})
    assert clock.time_s.size == 101
    assert np.all(np.diff(clock.time_s) > 0)
    assert clock.time_s[31] == pytest.approx(3.05)
    assert [(n.code, n.count) for n in clock.notes] == [("stamps-repeated", 1)]


def test_a_block_written_twice_is_merged() -> None:
    time_s, values = grid()
    rows = np.concatenate([np.arange(50), np.arange(40, 100)])
    clock = settle(time_s[rows], {"p": values[rows]})
    assert_allclose(clock.time_s, time_s)
    assert clock.rows is not None
    assert_array_equal(values[rows][clock.rows], values)
    assert {n.code: n.count for n in clock.notes}["rows-repeated"] == 10


def test_local_disorder_is_sorted() -> None:
    time_s, values = grid()
    rows = np.arange(100)
    rows[[20, 21]] = [21, 20]
    rows[60:64] = [62, 63, 60, 61]
    clock = settle(time_s[rows], {"p": values[rows]})
    assert_allclose(clock.time_s, time_s)
    assert clock.rows is not None
    assert_array_equal(values[rows][clock.rows], values)
    assert [(n.code, n.count) for n in clock.notes] == [("rows-out-of-order", 2)]


def test_a_clock_set_back_goes_on_after_what_came_before() -> None:
    time_s, values = grid(2000)
    jumped = time_s.copy()
    jumped[1200:] -= 110
    clock = settle(jumped, {"p": values})
    assert_allclose(clock.time_s, time_s)
    assert clock.rows is None or np.array_equal(clock.rows, np.arange(2000))
    assert [(n.code, n.count) for n in clock.notes] == [("clock-jumped", 1)]


def test_disorder_after_a_clock_set_back_is_still_local() -> None:
    time_s, values = grid(2000)
    rows = np.arange(2000)
    rows[[1600, 1601]] = [1601, 1600]
    jumped = time_s.copy()
    jumped[1200:] -= 110
    jumped[300:] += 40
    clock = settle(jumped[rows], {"p": values[rows]})
    assert_allclose(clock.time_s[:300], time_s[:300])
    assert_allclose(clock.time_s[300:], time_s[300:] + 40)
    assert clock.rows is not None
    assert_array_equal(values[rows][clock.rows], values)
    found = {n.code: n.count for n in clock.notes}
    assert found == {"clock-jumped": 1, "rows-out-of-order": 1, "gaps": 1}


def test_single_stamps_far_off_are_replaced() -> None:
    time_s, values = grid()
    damaged = time_s.copy()
    damaged[30] = 0.0
    damaged[60] = 9999.0
    clock = settle(damaged, {"p": values})
    assert_allclose(clock.time_s, time_s)
    assert [(n.code, n.count) for n in clock.notes] == [("stamps-damaged", 2)]


@pytest.mark.parametrize(
    ("time_s", "reason"),
    [
        ([1.0, 1.0, 1.0], "stays at the same stamp"),
        ([3.0, 2.0, 1.0], "runs backward"),
        ([np.nan, np.nan, 1.0], "no two rows with a time stamp"),
        ([1.0], "only 1 row"),
    ],
)
def test_what_is_no_clock(time_s: list[float], reason: str) -> None:
    with pytest.raises(ClockError, match=reason):
        settle(np.array(time_s), {})
