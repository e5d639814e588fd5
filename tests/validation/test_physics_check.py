"""The physics computed again: the store holds, and a wrong coefficient does not get through."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from validation.physics import __main__ as command
from validation.physics import engines, store
from validation.physics.compared import Compared
from validation.physics.reynolds import Grid, film
from validation.physics.topics import TOPICS

from gaugewright.engine import air_path, oil_circuit, steady
from gaugewright.engine.build import Build
from gaugewright.physics import (
    atmosphere,
    bearing_chart,
    blend,
    cylinder,
    gas_flow,
    journal_bearing,
    oil,
    oil_properties,
    pressure_line,
)

BY_NAME = {topic.name: topic for topic in TOPICS}


def test_everything_is_stored_within_its_gate() -> None:
    assert store.stored_beyond(TOPICS) == []
    assert {"piston-start", "road-log-a", "road-log-b"} <= store.stored()["recordings"].keys()
    assert set(store.stored()["libraries"]) == set(store.LIBRARIES)


@pytest.mark.parametrize("name", ["atmosphere", "oil", "oil flow"])
def test_a_fast_topic_comes_out_as_stored(name: str) -> None:
    assert store.disagreements(BY_NAME[name]) == []


def test_the_shipped_recording_comes_out_as_stored() -> None:
    assert store.recording_moved() == []


def test_the_page_tells_the_figures_of_the_store() -> None:
    page = (Path(__file__).parents[2] / "docs/explanation/physics-checked.md").read_text("utf-8")
    rows = {line.split("|")[1].strip(): line for line in page.splitlines() if "|" in line[:1]}
    for topic in TOPICS:
        kept = store.stored()["topics"][topic.name]
        farthest = f"{abs(kept['largest']['difference']):.1e}" if topic.pinned else "5e-04"
        assert f"| {kept['numbers']} |" in rows[topic.name], topic.name
        assert farthest in rows[topic.name], topic.name


@pytest.mark.slow
def test_the_whole_check_passes() -> None:
    assert command.check() == 0


def factor(module: Any, name: str, by: float) -> Any:
    """The same function, its result off by a factor."""
    plain = getattr(module, name)
    return lambda *given, **named: plain(*given, **named) * by


@pytest.mark.slow
@pytest.mark.parametrize(
    ("topic", "module", "name", "by"),
    [
        ("gas", gas_flow, "air_flow", 1.0001),
        ("gas", gas_flow, "mass_flow", 1.00001),
        ("atmosphere", atmosphere, "pressure_at_altitude", 1.00001),
        ("oil", oil_properties, "density", 1.0001),
        ("compression", cylinder, "mean_pressure", 1.0001),
        ("compression", cylinder, "piston_travel", 1.00001),
        ("bearings", journal_bearing, "fed_flow", 1.0001),
        ("bearings", bearing_chart, "short_bearing_sommerfeld", 1.0001),
        ("hoses", pressure_line, "first_resonance", 1.001),
    ],
)
def test_a_formula_that_is_off_is_found(
    monkeypatch: pytest.MonkeyPatch, topic: str, module: Any, name: str, by: float
) -> None:
    monkeypatch.setattr(module, name, factor(module, name, by))
    assert [row.name for row in BY_NAME[topic].compare() if not row.agrees] != []


@pytest.mark.parametrize(
    ("module", "name", "value", "topic"),
    [
        (atmosphere, "EXPONENT", 5.2561, "atmosphere"),
        (atmosphere, "LAPSE_K_PER_M", 0.00649, "atmosphere"),
        (oil, "KELVIN", 273.0, "oil"),
        (oil_properties, "LUBE_K1", 0.6, "oil"),
        (gas_flow, "AIR_GAS_CONSTANT", 287.1, "gas"),
    ],
)
def test_a_wrong_coefficient_fails_the_check(
    monkeypatch: pytest.MonkeyPatch, module: Any, name: str, value: float, topic: str
) -> None:
    monkeypatch.setattr(module, name, value)
    assert store.disagreements(BY_NAME[topic]) != []


@pytest.mark.slow
@pytest.mark.parametrize(
    ("module", "name", "value"),
    [
        (air_path, "CHOKED", 0.688),
        (oil_circuit, "GRAVITY", 10.3),
        (blend, "SHIFT", 0.7),
        (oil_properties, "LUBE_K1", 0.6),
    ],
)
def test_a_wrong_coefficient_shows_in_the_engine(
    monkeypatch: pytest.MonkeyPatch, module: Any, name: str, value: float
) -> None:
    assert [row.name for row in engines.compare(6) if not row.agrees] == []
    monkeypatch.setattr(module, name, value)
    assert [row.name for row in engines.compare(6) if not row.agrees] != []


def test_no_engine_rests_at_a_stop_that_its_governor_would_leave() -> None:
    """At the least throttle it runs too fast, at the most too slow, or the stop is none."""
    some = engines.engines(Build(), 300, engines.SEED)
    found = steady.solve(Build(), some, [engines.HOLDS["idle"], engines.HOLDS["cap off"]])
    least, most, aim = (
        np.asarray(getattr(some.air, name))
        for name in ("throttle_least_m2", "throttle_most_m2", "idle_rpm")
    )
    low, high = found.throttle_m2 <= 1.000001 * least, found.throttle_m2 >= 0.999999 * most
    assert low.any()
    assert np.all(found.speed_rpm[low] > 0.9998 * np.broadcast_to(aim, low.shape)[low])
    assert np.all(found.speed_rpm[high] < 1.0002 * np.broadcast_to(aim, high.shape)[high])


def test_a_wrong_coefficient_fails_the_command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(command, "TOPICS", [BY_NAME["atmosphere"]])
    assert command.check() == 0
    monkeypatch.setattr(atmosphere, "SEA_LEVEL_PA", 101320.0)
    assert command.check() == 1
    assert "atmosphere: integrated, geopotential 1000 m" in capsys.readouterr().out


def test_a_store_that_was_altered_is_found(monkeypatch: pytest.MonkeyPatch, tmp_path: Any) -> None:
    altered = store.stored()
    altered["topics"]["atmosphere"]["compared"]["height of 1000 m"]["other"] += 0.1
    altered["topics"]["gas"]["compared"].popitem()
    path = tmp_path / "physics.json"
    path.write_text(json.dumps(altered), encoding="utf-8")
    monkeypatch.setattr(store, "STORED", path)
    assert len(store.disagreements(BY_NAME["atmosphere"])) == 1
    assert len(store.disagreements(BY_NAME["gas"])) == 1


def test_a_number_that_is_none_does_not_agree() -> None:
    row = Compared("flow", 1.0, 1.0, 1e-6)
    assert row.agrees
    assert not dataclasses.replace(row, ours=float("nan")).agrees
    assert not dataclasses.replace(row, ours=1.00001).agrees


def test_the_grid_converges() -> None:
    coarse, fine = film(0.8, 1.0, Grid(90, 8)), film(0.8, 1.0, Grid(180, 16))
    finest = film(0.8, 1.0, Grid(360, 32))
    for what in ("sommerfeld", "friction", "flow"):
        first, second, third = (float(getattr(f, what)) for f in (coarse, fine, finest))
        assert abs(third - second) < 0.6 * abs(second - first), what


def test_the_film_that_was_found_obeys_its_own_balance() -> None:
    """What enters at the widest gap leaves by the sides or goes round with the shaft."""
    found = film(0.6, 0.5)
    around = found.flow * (1.0 - found.side_share) / (2.0 * np.pi)
    assert 0.5 * (1.0 - 0.6) < around < 0.5
