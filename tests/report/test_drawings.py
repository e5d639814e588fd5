"""The drawings: what stands where on the rule, and that nothing is drawn past its place."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib.resources import files
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_sample import VARIANTS, outcome, picture, preferences

from gaugewright.analysis.outcome import Outcome
from gaugewright.report import display, limit_chart, marks, ruler, svg
from gaugewright.report.lane_chart import lane_picture
from gaugewright.report.slope_chart import slope_picture
from gaugewright.report.story import Story, story_of

NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")


def story(made: Outcome) -> Story:
    found = story_of(made.job, made.findings)
    assert found is not None
    return found


def extents(drawn: str, look: str) -> list[tuple[float, float]]:
    """From where to where, left to right, each path of this look runs."""
    found = []
    for data, style in re.findall(r'<path d="([^"]*)" style="([^"]*)"', drawn):
        if look in style:
            x = [float(pair.split()[0]) for pair in re.split("[MLZ]", data) if pair.strip()]
            found.append((min(x), max(x)))
    return found


def test_a_spindle_is_as_long_as_its_interval() -> None:
    made = story(outcome())
    how = display.shown("oil-pressure", "kPa", preferences())
    drawn = limit_chart.limit_picture(made, ("a", "b", "c"), how, 473.0)
    filled = extents(drawn.svg, "fill:var(--oil)")
    left, right = limit_chart.LABEL_WIDTH, 473.0 - 130.0 - 78.0 - 8.0
    low, high = limit_chart.axis_range(made, {"min": 90.0, "max": 350.0})
    scale = (right - left) / (high - low)
    bearings = [told.bearings for told in made.told]
    for (x1, x2), side in zip(filled, bearings, strict=True):
        assert side is not None
        assert side.low is not None
        assert side.high is not None
        # coordinates are written to a tenth of a point
        assert x1 == pytest.approx(left + (side.low - low) * scale, abs=0.06)
        assert x2 == pytest.approx(left + (side.high - low) * scale, abs=0.06)


def test_before_and_after_stand_on_one_axis_with_the_wall() -> None:
    made = story(outcome())
    low, high = limit_chart.axis_range(made, {"min": 90.0, "max": 350.0})
    assert low < 79.0
    assert 107.0 < high < 150.0
    assert limit_chart.walls_outside(made) == ["max"]


@pytest.mark.parametrize("name", ["bounded", "exceeds", "too_close", "no_limits", "hand_only"])
def test_every_picture_says_in_words_what_it_shows(name: str) -> None:
    made = story(VARIANTS[name]())
    how = display.shown("oil-pressure", "kPa", preferences())
    labels = tuple("x" for _ in made.told)
    drawn = limit_chart.limit_picture(made, labels, how, 473.0)
    assert "kPa" in drawn.words


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6), st.integers(1, 12))
def test_ticks_lie_within_the_rule_at_round_values(low: float, span: float, most: int) -> None:
    step = ruler.round_step(span, most)
    assert span / step <= most + 1e-6
    assert f"{step:.0e}"[0] in "125"
    scale = ruler.straight(low, low + span, 0.0, 100.0)
    long, brief = ruler.ticks(scale)
    assert all(-1e-3 <= scale.at(v) <= 100.001 for v in [*long, *brief])


def test_a_broken_rule_keeps_order_and_gives_both_groups_room() -> None:
    scale = ruler.broken_where_needed([84.0, 95.0, 218.0], 80.0, 222.0, 0.0, 100.0)
    assert scale.broken
    places = [scale.at(v) for v in (80.0, 84.0, 95.0, 150.0, 218.0, 222.0)]
    assert places == sorted(places)
    plain = ruler.straight(80.0, 222.0, 0.0, 100.0)
    assert scale.at(95.0) - scale.at(84.0) > 2.5 * (plain.at(95.0) - plain.at(84.0))
    assert not ruler.broken_where_needed([84.0, 120.0, 160.0], 80.0, 165.0, 0.0, 100.0).broken


def test_lanes_are_pale_between_conditions_and_hatched_where_left_out() -> None:
    made = outcome()
    drawn = lane_picture(
        made.pictures[0], made.findings.readings, made.findings.limit_checks, preferences(), 473.0
    )
    assert "stroke-opacity:0.38" in drawn.svg
    assert "stroke:var(--line);stroke-width:0.5" in drawn.svg
    for name in ("hot idle", "filler cap off", "held at 2000", "Oil pressure", "at the gauge"):
        assert f">{name}<" in drawn.svg
    dashed = re.findall(r"stroke:var\(--temperature\)[^\"]*stroke-dasharray", drawn.svg)
    assert dashed


def test_a_slow_signal_is_drawn_as_one_line_and_a_gap_as_a_gap() -> None:
    made = picture("as found", 95.0, 11.0)
    slow = made.lanes[2]
    every_third = np.arange(slow.time_s.size) % 3 == 0
    mean = np.where(every_third, slow.mean, np.nan)
    mean[600:700] = np.nan
    lane = replace(slow, mean=mean, low=mean - 1.0, high=mean + 1.0)
    drawn = lane_picture(replace(made, lanes=(lane,), stretches=()), (), (), preferences(), 473.0)
    assert len(extents(drawn.svg, "stroke:var(--speed)")) == 2


def test_a_lane_without_a_sample_is_said_not_drawn() -> None:
    made = picture("as found", 95.0, 11.0)
    nothing = np.full_like(made.lanes[0].mean, np.nan)
    lane = replace(made.lanes[0], mean=nothing, low=nothing, high=nothing)
    drawn = lane_picture(replace(made, lanes=(lane,)), (), (), preferences(), 473.0)
    assert ">not measured<" in drawn.svg


def test_bracket_names_do_not_touch() -> None:
    made = VARIANTS["many_conditions"]()
    drawn = lane_picture(made.pictures[0], (), (), preferences(), 473.0)
    boxes: dict[float, list[tuple[float, float]]] = {}
    head = r'<text x="([\d.]+)" y="([\d.]+)" text-anchor="middle"'
    pattern = head + r"[^>]*font-weight:600[^>]*>step ([^<]*)<"
    for x, y, name in re.findall(pattern, drawn.svg):
        half = svg.text_width(f"step {name}", 8.6, True) / 2
        boxes.setdefault(float(y), []).append((float(x) - half, float(x) + half))
    assert len(boxes) > 1
    for row in boxes.values():
        row = sorted(set(row))
        assert all(a[1] <= b[0] for a, b in pairwise(row))


def test_the_reference_check_is_drawn_from_matches_only() -> None:
    made = outcome()
    check = made.findings.reference_checks[0]
    drawn = slope_picture(check, made.findings, preferences(), 473.0)
    assert drawn is not None
    assert ">hot idle<" in drawn.svg
    assert ">filler cap off<" in drawn.svg
    bare = replace(made.findings, matches=())
    assert slope_picture(check, bare, preferences(), 473.0) is None


def test_printed_colours_are_real_colours() -> None:
    drawn = svg.on_paper(marks.sign("falls short") + marks.triangle(True))
    assert "var(" not in drawn
    assert "#211C15" in drawn


def contrast(one: str, other: str) -> float:
    """The contrast of two colours by WCAG 2.2 (relative luminance, 1.4.3)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white_is_21() -> None:
    # WCAG 2.2: "contrast ratios can range from 1 to 21"
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0, abs=1e-9)


@pytest.mark.parametrize("name", sorted(set(svg.PRINTED) - {"paper", "line", "hair"}))
def test_everything_that_says_something_reads_on_paper(name: str) -> None:
    # WCAG 2.2, 1.4.3: at least 4.5 to 1
    assert contrast(svg.PRINTED[name], "#ffffff") >= 4.5


def themes() -> dict[str, dict[str, str]]:
    """The colours of the screen's two themes, from the style sheet that is shipped."""
    style = files("gaugewright.report").joinpath("page.css").read_text(encoding="utf-8")
    found = re.findall(r":root\{([^}]*)\}", style)
    light, dark = (dict(re.findall(r"--(\w+):(#\w{6})", rule)) for rule in found[:2])
    return {"light": light, "dark": dark}


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_everything_that_says_something_reads_on_screen(theme: str) -> None:
    # WCAG 2.2, 1.4.3: at least 4.5 to 1
    colours = themes()[theme]
    assert set(svg.PRINTED) <= set(colours)
    saying = set(svg.PRINTED) - {"paper", "line", "hair"}
    assert min(contrast(colours[name], colours["paper"]) for name in saying) >= 4.5
