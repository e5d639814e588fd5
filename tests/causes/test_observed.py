"""From a job's readings to one vector with its covariance: each source once, shared errors kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from gaugewright.analysis.lanes import lanes_of
from gaugewright.analysis.questions import (
    barometer_of,
    hand_values,
    oils_of,
    questions_of,
    with_instruments,
)
from gaugewright.causes.observation import ALL, MARGIN, TRIM, Observed
from gaugewright.causes.observed import observed
from gaugewright.causes.stated import Least, with_limits
from gaugewright.evidence.case import Case
from gaugewright.evidence.weigh import weigh, with_common_blocks
from gaugewright.job.folder import opened

HEAD = """\
format = 1
title = "Read by hand"
[vehicle]
cylinders = 4
cycle = "four-stroke"
[place]
barometer = "98 kPa"
"""
GAUGE = """
[[instrument]]
name = "gauge"
accuracy = "4 kPa"
range = ["0 kPa", "1000 kPa"]
"""


def hand(quantity: str, value: str, condition: str, **keys: str) -> str:
    """One reading by hand, at a known speed and oil temperature."""
    usual = {
        "uncertainty": "1 kPa" if "pressure" in quantity else "",
        "speed": "800 rpm",
        "oil_temperature": "90 degC",
    }
    stated = {key: text for key, text in {**usual, **keys}.items() if text}
    rows = "".join(f'{key} = "{text}"\n' for key, text in stated.items())
    text = f'\n[[reading]]\nquantity = "{quantity}"\nvalue = "{value}"\ncondition = "{condition}"\n'
    return text + rows


Seen = Callable[..., Observed]


@pytest.fixture
def seen(tmp_path: Path) -> Seen:
    """What the causes see of a job with these tables."""

    def of(*tables: str) -> Observed:
        (tmp_path / "job.toml").write_text(HEAD + "".join(tables), encoding="utf-8")
        return observed(case_of(tmp_path), ["first"])

    return of


def case_of(folder: Path) -> Case:
    """The case of a job without recordings."""
    with opened(folder) as (job, place):
        lanes = lanes_of(job, place, None, lambda _: None)
        barometer, error = barometer_of(job)
        book = with_instruments(lanes.book, job)
        book = with_common_blocks(book, tuple(v.name for v in job.visits), error)
        _, case = weigh(
            lanes.sensed, hand_values(job), book, barometer, oils_of(job), questions_of(job)
        )
    return case


def named(found: Observed) -> list[tuple[str, str, str | None, float]]:
    return [
        (found.holds[i.place].condition, i.quantity, i.reference, round(i.value, 6))
        for i in found.items
    ]


def test_readings_of_one_gauge_share_its_error(seen: Seen) -> None:
    """4 kPa common, 1 kPa each: the difference is known to 1.4 kPa, each alone to 4.1."""
    found = seen(
        GAUGE,
        hand("oil-pressure", "80 kPa", "idle", instrument="gauge", speed="790 rpm"),
        hand("oil-pressure", "75 kPa", "fast", instrument="gauge", speed="2500 rpm"),
    )
    assert found.covariance == pytest.approx(np.array([[17e6, 16e6], [16e6, 17e6]]))
    difference = np.array([1.0, -1.0])
    assert difference @ found.covariance @ difference == pytest.approx(2e6)


def test_readings_of_two_gauges_share_nothing(seen: Seen) -> None:
    other = GAUGE.replace('"gauge"', '"second"')
    found = seen(
        GAUGE,
        other,
        hand("oil-pressure", "80 kPa", "idle", instrument="gauge"),
        hand("crankcase-pressure", "-2 kPa", "idle", instrument="second"),
    )
    assert found.covariance[0, 1] == 0.0


def test_a_source_counts_once(seen: Seen) -> None:
    """Gauge and crankcase give the bearings' pressure too, but not as a reading of its own."""
    found = seen(
        hand("oil-pressure", "80 kPa", "idle"), hand("crankcase-pressure", "-2 kPa", "idle")
    )
    assert named(found) == [
        ("idle", "oil-pressure", "atmosphere", 80e3),
        ("idle", "crankcase-pressure", "atmosphere", -2e3),
    ]


def test_an_absolute_reading_stays_absolute(seen: Seen) -> None:
    found = seen(
        hand("oil-pressure", "178 kPa", "idle", reference="vacuum"),
        hand("manifold-pressure", "-60 kPa", "idle"),
    )
    assert named(found) == [
        ("idle", "oil-pressure", "vacuum", 178e3),
        ("idle", "manifold-pressure", "vacuum", 38e3),
    ]


def test_a_differential_sensor_is_taken_as_it_measured(seen: Seen) -> None:
    found = seen(
        hand("oil-pressure", "82 kPa", "idle", reference="crankcase"),
        hand("crankcase-pressure", "-2 kPa", "idle"),
    )
    assert {(q, r) for _, q, r, _ in named(found)} == {
        ("oil-pressure", "crankcase"),
        ("crankcase-pressure", "atmosphere"),
    }


def test_two_gauges_stay_two_readings_whether_they_agree_or_not(seen: Seen) -> None:
    """That they agree speaks against a fault of the test, that they don't for one."""
    second = GAUGE.replace('"gauge"', '"second"')
    one = hand("oil-pressure", "80 kPa", "idle", instrument="gauge")
    for value in ("81 kPa", "99 kPa"):
        both = seen(GAUGE, second, one, hand("oil-pressure", value, "idle", instrument="second"))
        assert [item.value for item in both.items] == [80e3, float(value.split()[0]) * 1e3]
        assert [item.beside for item in both.items] == [False, True]
        assert both.covariance[0, 1] == 0.0


def trim(name: str, value: str) -> str:
    return hand(f"fuel-trim-{name}", value, "idle", uncertainty="1 %")


def test_a_trim_alone_is_weaker_than_both(seen: Seen) -> None:
    """Both add up; one alone keeps a share of itself and two points for the other (judgement)."""
    both = seen(trim("short", "4 %"), trim("long", "8 %"))
    assert [(i.quantity, i.value) for i in both.items] == [(TRIM, 12.0)]
    assert both.items[0].own == pytest.approx(2.0)
    [alone] = seen(trim("long", "8 %")).items
    assert alone.value == 8.0
    assert alone.own == pytest.approx(1.0 + (0.35 * 8.0) ** 2 + 2.0**2)


def test_what_is_held_by_foot_is_known_by_word_or_by_speed(seen: Seen) -> None:
    found = seen(
        hand("oil-pressure", "80 kPa", "idle"),
        hand("oil-pressure", "150 kPa", "faster", speed="1200 rpm"),
        hand("oil-pressure", "250 kPa", "fast", speed="2500 rpm"),
        hand("engine-speed", "2500 rpm", "fast"),
        hand("engine-speed", "800 rpm", "idle"),
    )
    raised = {h.condition: h.raised for h in found.holds}
    assert raised == {"idle": False, "faster": True, "fast": True}
    assert [c for c, q, _, _ in named(found) if q == "engine-speed"] == ["idle"]


SHORT = """
[[recording]]
name = "run"
file = "recordings/run.csv"
rate = "1 Hz"
  [[recording.signal]]
  column = "oil"
  quantity = "oil-pressure"
  unit = "kPa"
"""


def condition(name: str, did: str, start: int) -> str:
    return (
        f'\n  [[recording.condition]]\n  name = "{name}"\n  from = "{start} s"\n'
        f'  to = "{start + 18} s"\n  did = ["{did}"]\n'
    )


def recorded(folder: Path, *did: str) -> Observed:
    """Oil pressure alone, 20 s for each action."""
    rng = np.random.default_rng(1)
    values = 80.0 + 0.3 * rng.standard_normal(20 * len(did))
    (folder / "recordings").mkdir()
    rows = "\n".join(f"{v:.3f}" for v in values)
    (folder / "recordings/run.csv").write_text(f"oil\n{rows}\n", encoding="utf-8")
    text = HEAD + SHORT + "".join(condition(d, d, 20 * k + 1) for k, d in enumerate(did))
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return observed(case_of(folder), ["first"])


def test_what_has_no_steady_state_is_left_out(tmp_path: Path) -> None:
    found = recorded(tmp_path, "nothing", "engine-off", "cranking", "snap", "filler-cap-off")
    assert [h.condition for h in found.holds] == ["nothing", "filler-cap-off"]
    assert [sorted(h.did) for h in found.holds] == [["nothing"], ["filler-cap-off"]]


def test_raised_without_a_known_speed_is_left_out(tmp_path: Path) -> None:
    found = recorded(tmp_path, "nothing", "speed-raised")
    assert [h.condition for h in found.holds] == ["nothing"]


def test_a_lasting_action_splits_the_history(tmp_path: Path) -> None:
    found = recorded(tmp_path, "nothing", "oil-changed", "filler-cap-off", "repaired")
    assert [(h.condition, h.gone) for h in found.holds] == [
        ("nothing", ()),
        ("oil-changed", ("oil-changed",)),
        ("filler-cap-off", ("oil-changed",)),
    ]


def test_the_length_of_a_stretch_and_its_place_are_kept(tmp_path: Path) -> None:
    found = recorded(tmp_path, "nothing", "vent-port-blocked")
    assert all(14.0 < h.length_s <= 18.0 for h in found.holds)
    assert [i.place for i in found.items] == [0, 1]


def test_oil_temperature_noted_and_not_noted(seen: Seen) -> None:
    noted = seen(hand("oil-pressure", "80 kPa", "idle", oil_temperature="96 degC"))
    assert noted.holds[0].oil_degc == pytest.approx(96.0)
    silent = seen(hand("oil-pressure", "80 kPa", "idle", oil_temperature=""))
    assert silent.holds[0].oil_degc is None
    assert silent.covariance[0, 0] > noted.covariance[0, 0]


def test_other_visits_are_left_out(seen: Seen, tmp_path: Path) -> None:
    tables = (
        '\n[[visit]]\nname = "first"\n[[visit]]\nname = "after"\nwork = "repaired"\n',
        hand("oil-pressure", "80 kPa", "idle", visit="first"),
        hand("oil-pressure", "180 kPa", "idle", visit="after"),
    )
    assert [i.value for i in seen(*tables).items] == [80e3]
    assert len(observed(case_of(tmp_path), ["first", "after"]).items) == 2


def test_nothing_read_is_nothing_seen(seen: Seen) -> None:
    found = seen(hand("coolant-temperature", "90 degC", "idle", uncertainty="1 K"))
    assert found.items == ()
    assert found.covariance.shape == (0, 0)


def test_a_second_idle_read_by_hand_alone_is_left_out(seen: Seen) -> None:
    """Nobody tells what was done to the engine in it: a cap may have been off."""
    found = seen(
        hand("oil-pressure", "80 kPa", "idle"), hand("oil-pressure", "75 kPa", "cap lifted")
    )
    assert [h.condition for h in found.holds] == ["idle"]


def test_without_a_reading_the_others_stay_as_they_are(seen: Seen) -> None:
    whole = seen(
        GAUGE,
        hand("oil-pressure", "80 kPa", "idle", instrument="gauge", speed="790 rpm"),
        hand("oil-pressure", "75 kPa", "fast", instrument="gauge", speed="2500 rpm"),
        hand("crankcase-pressure", "-2 kPa", "idle"),
    )
    fewer = whole.without(1)
    assert fewer.values == pytest.approx(whole.values[[0, 2]])
    assert fewer.covariance == pytest.approx(whole.covariance[np.ix_([0, 2], [0, 2])])


def test_a_limit_anchors_the_sound_engine(seen: Seen) -> None:
    """One limit lies a usual factor of 1.75 below it; two makers' limits share most of that."""
    base = seen(hand("oil-pressure", "80 kPa", "idle"))
    two = [Least(90e3, 820.0, 80.0), Least(250e3, 2000.0, 80.0)]
    found = with_limits(base, two, "first")
    assert [i.quantity for i in found.items] == ["oil-pressure", MARGIN, MARGIN]
    assert [h.gone for h in found.holds] == [(), (ALL,), (ALL,)]
    assert found.values[1:] == pytest.approx(np.log([1.75, 1.75]))
    part = found.covariance[1:, 1:]
    assert part == pytest.approx(np.array([[0.28**2 + 0.15**2, 0.28**2],
                                           [0.28**2, 0.28**2 + 0.15**2]]))  # fmt: skip
    assert np.all(found.covariance[0, 1:] == 0.0)
    assert found.holds[1].raised
    assert not with_limits(base, [Least(90e3, None, None)], "first").holds[-1].raised
