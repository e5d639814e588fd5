"""Several kinds of engine: what was only glanced at, against the same kind looked at whole."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made_questions import (
    BUILD,
    CAP_OFF,
    CRANKCASE,
    FAST,
    IDLE,
    OIL,
    OUTSIDE_PA,
    SPEED,
    VIEW,
    question,
    read_of,
    sound_engines,
)

from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.glance import Glance, glance_at
from gaugewright.causes.observation import TRIM, Observed
from gaugewright.causes.odds import odds_of
from gaugewright.causes.odds_file import shipped
from gaugewright.causes.weighing import Weighed, weighed, weighed_alike
from gaugewright.engine.build import Build

UNTOLD = replace(VIEW, ventilation=None, metering=None)
VALVE = replace(BUILD, ventilation="valve")
OTHER = replace(BUILD, ventilation="valve", metering="manifold-pressure")
TORN = "ventilation-regulator-torn"


def glanced(seen: Observed, build: Build) -> Glance:
    return glance_at(seen, sound_engines(build), odds_of(shipped(), UNTOLD), {}, OUTSIDE_PA)


def readings(faults: dict[str, float], seed: int) -> Observed:
    rows = [(IDLE, [OIL, CRANKCASE, SPEED, TRIM]), (FAST, [OIL, TRIM]), (CAP_OFF, [OIL, CRANKCASE])]
    return read_of(question(rows), faults, VALVE, seed=seed)


def probabilities(one: Weighed) -> dict[Hypothesis, float]:
    return {h.causes: h.probability for h in one.hypotheses}


def test_a_kind_is_told_by_itself_as_it_was_looked_at() -> None:
    """What the closer look changed, put on top of the same glance, is the closer look."""
    glance = glanced(readings({"breather-blocked": 0.6}, 5), VALVE)
    closer = weighed(glance)
    again = weighed_alike(glance, glance, closer)
    assert again.log_total == pytest.approx(closer.log_total)
    assert probabilities(again) == pytest.approx(probabilities(closer))


@pytest.mark.slow
def test_a_glance_comes_near_to_the_whole_look() -> None:
    """Share of the probability that lies elsewhere: a tenth in the mean; by the glance alone, with
    nothing taken over, a quarter."""
    off = []
    for cause in ("breather-blocked", "intake-leak", "oil-level-low"):
        seen = readings({cause: 0.6}, 5)
        first = glanced(seen, VALVE)
        closer = weighed(first)
        for build in (BUILD, OTHER):
            other = glanced(seen, build)
            told, whole = weighed_alike(other, first, closer), weighed(other)
            assert told.log_total == pytest.approx(whole.log_total, abs=1.0)
            about, exact = probabilities(told), probabilities(whole)
            assert set(about) == set(exact)
            off.append(0.5 * sum(abs(about[h] - exact[h]) for h in exact))
    assert np.mean(off) < 0.12


def test_what_the_other_kind_cannot_have_is_weighed_by_the_glance() -> None:
    """A torn regulator, of which an engine with a valve knows nothing, is found by the glance."""
    rows = [(IDLE, [OIL, CRANKCASE, SPEED, TRIM]), (CAP_OFF, [OIL, CRANKCASE, SPEED])]
    seen = read_of(question(rows), {TORN: 0.8}, BUILD, seed=3)
    first, other = glanced(seen, VALVE), glanced(seen, BUILD)
    told = weighed_alike(other, first, weighed(first))
    assert told.hypotheses[0].causes == (TORN,)
    assert sum(probabilities(told).values()) == pytest.approx(1.0)
    assert np.isfinite(told.log_total)


def test_where_nothing_was_read_every_kind_is_as_the_odds_have_it() -> None:
    first, other = (glanced(question([]), build) for build in (VALVE, BUILD))
    told = weighed_alike(other, first, weighed(first))
    assert probabilities(told) == pytest.approx(probabilities(weighed(other)))


def test_nothing_gains_beyond_what_it_came_to_where_it_was_looked_at() -> None:
    """Where no cause alone fits by the glance, two together are better by any amount; that amount
    says nothing of a kind in which one does."""
    glance = glanced(readings({"oil-level-low": 0.2}, 5), VALVE)
    closer = weighed(glance)
    sunk = replace(glance, evidence={h: e - 100.0 for h, e in glance.evidence.items()})
    told = weighed_alike(glance, sunk, closer)
    there = {h.causes: h.log_readings for h in closer.hypotheses}
    for h in (one for one in told.hypotheses if one.causes in glance.race):
        alone = max(glance.evidence[(cause,)] for cause in h.causes)
        assert h.log_readings <= max(alone, there[h.causes]) + 1e-9
    assert told.hypotheses[0].causes == closer.hypotheses[0].causes
