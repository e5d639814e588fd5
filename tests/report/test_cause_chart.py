"""The picture of causes: spindles where the figures are, names at them, nothing past its edge."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from cause_sample import BREATHER, FUEL, RINGS, WEIGHED, predicted
from report_rendered import files
from report_sample import preferences

from gaugewright.evidence.results import CauseWeight, Predicted
from gaugewright.report import ruler
from gaugewright.report.cause_chart import MOST, NAMES, UNIT_ROOM, cause_pictures, compared, loudest

WIDTH = 473.0


def only(*rows: Predicted) -> CauseWeight:
    return replace(BREATHER, predicted=rows)


def shapes(drawn: str) -> list[tuple[float, float, str]]:
    """From where to where each outlined spindle runs, and its style."""
    found = []
    for data, style in re.findall(r'<path d="([^"]*Z)" style="([^"]*)"', drawn):
        x = [float(pair.split()[0]) for pair in re.split("[MLZ]", data) if pair.strip()]
        found.append((min(x), max(x), style))
    return found


def test_read_and_predicted_stand_where_their_figures_are() -> None:
    row = predicted("hot idle", "oil-pressure", "atmosphere", 95.0, 85.0, 1.0)
    [drawn] = cause_pictures([only(row)], preferences(), WIDTH)
    low, high = ruler.around(81.0, 96.0, 0.06)
    place = ruler.straight(low, high, NAMES, WIDTH - UNIT_ROOM).at
    (read_left, read_right, _), (left, right, _) = shapes(drawn.svg)
    # coordinates are written to a tenth of a point
    assert read_left == pytest.approx(place(94.0), abs=0.06)
    assert read_right == pytest.approx(place(96.0), abs=0.06)
    assert left == pytest.approx(place(81.0), abs=0.06)
    assert right == pytest.approx(place(89.0), abs=0.06)


def test_the_gauge_is_hollow_and_the_bearings_are_filled() -> None:
    gauge = predicted("hot idle", "oil-pressure", "atmosphere", 95.0, 94.0, 1.0)
    bearings = replace(gauge, reference="crankcase")
    [hollow] = cause_pictures([only(gauge)], preferences(), WIDTH)
    [filled] = cause_pictures([only(bearings)], preferences(), WIDTH)
    assert [style.split(";")[0] for *_, style in shapes(hollow.svg)] == ["fill:var(--paper)"] * 2
    inks = [style.split(";")[0] for *_, style in shapes(filled.svg)]
    assert inks == ["fill:var(--oil)", "fill:var(--ink)"]


def test_every_cause_is_named_at_its_spindle_and_every_rule_has_its_unit() -> None:
    drawn = cause_pictures([BREATHER, FUEL, RINGS], preferences(), WIDTH)
    first = drawn[0].svg
    for name in ("crankcase breather blocked", "fuel in the oil", "piston rings worn", "read"):
        assert f">{name}<" in first
    assert ">hot idle, at the gauge<" in first
    assert [re.findall(">(kPa|rpm|%)<", d.svg) for d in drawn] == [
        ["kPa"],
        ["kPa"],
        ["kPa"],
        ["rpm"],
        ["%"],
    ]
    assert all(d.words for d in drawn)
    assert "hot idle: read" in drawn[0].words


def test_idle_and_a_raised_speed_get_a_rule_each_and_neighbours_share_one() -> None:
    idle = predicted("hot idle", "oil-pressure", "atmosphere", 95.0, 94.0, 1.0)
    raised = predicted("held at 2000", "oil-pressure", "atmosphere", 218.0, 220.0, 1.0)
    near = predicted("filler cap off", "oil-pressure", "atmosphere", 84.0, 83.0, 1.0)
    assert len(cause_pictures([only(idle, raised)], preferences(), WIDTH)) == 2
    assert len(cause_pictures([only(idle, near)], preferences(), WIDTH)) == 1
    [own, _] = cause_pictures([only(idle, raised)], preferences(), WIDTH)
    assert "held at 2000" not in own.svg


def test_absolute_and_gauge_pressures_never_share_a_rule() -> None:
    outside = predicted("hot idle", "crankcase-pressure", "atmosphere", 11.0, 10.0, 1.0)
    absolute = replace(outside, reference="vacuum")
    assert len(cause_pictures([only(outside, absolute)], preferences(), WIDTH)) == 2


def test_a_reading_known_on_one_side_is_no_spindle() -> None:
    row = predicted("hot idle", "oil-pressure", "atmosphere", 42.0, 30.0, 1.0, read_low=None)
    [drawn] = cause_pictures([only(row)], preferences(), WIDTH)
    assert len(shapes(drawn.svg)) == 1
    assert "stroke-dasharray:3 2.4" in drawn.svg


def test_the_loudest_are_drawn_and_all_are_told() -> None:
    rows = tuple(
        predicted(f"c{i}", "oil-pressure", "atmosphere", 95.0, 94.0, 0.1 * i) for i in range(20)
    )
    told = compared([only(*rows)])
    assert len(told) == 20
    assert [row.read.condition for row in loudest(told)] == [f"c{i}" for i in range(8, 20)]
    assert len(loudest(told)) == MOST


def test_one_reading_of_two_causes_is_one_row() -> None:
    told = compared([BREATHER, FUEL, only(*RINGS.predicted[:2])])
    assert len(told) == len(BREATHER.predicted)
    assert [p is None for p in told[3].predictions] == [False, False, True]


@pytest.mark.parametrize("name", sorted(WEIGHED))
def test_nothing_is_drawn_past_the_pictures_edge(name: str) -> None:
    leading = [c for c in WEIGHED[name]().findings.causes if c.predicted][:4]
    for drawn in cause_pictures(leading, preferences(), WIDTH, visits=True):
        for data in re.findall(r'<path d="([^"]*)"', drawn.svg):
            points = [p.split() for p in re.split("[MLZ]", data) if p.strip()]
            assert all(0.0 <= float(x) <= WIDTH + 0.1 for x, _ in points)
            assert all(0.0 <= float(y) <= drawn.height + 0.1 for _, y in points)


@pytest.mark.slow
@pytest.mark.parametrize("width", [390, 820, 1366])
@pytest.mark.parametrize("name", ["weighed", "many", "long_names"])
def test_the_page_never_scrolls_sideways_on_the_screen(
    name: str, width: int, tmp_path: Path, chromium: Any
) -> None:
    page_file = tmp_path / "pages.html"
    page_file.write_bytes(files(name)["pages.html"])
    page = chromium.new_page(viewport={"width": width, "height": 900})
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_file.as_uri())
    wide = page.evaluate("document.documentElement.scrollWidth")
    stuck = page.evaluate(
        "[...document.querySelectorAll('.stack')].map(e => e.scrollWidth - e.clientWidth)"
    )
    page.close()
    assert wide <= width
    assert max(stuck) <= 1 or width > 700
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
