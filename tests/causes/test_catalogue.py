"""The catalogue holds every cause of the job format, and says nothing it must not say."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gaugewright.causes import catalogue
from gaugewright.causes.catalogue import ALONE, CAUSES, FAULTS, NAMES
from gaugewright.causes.view import JobView
from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS as ENGINE_FAULTS
from gaugewright.job.words import LASTING, PASSING

DOCS = Path(__file__).parents[2] / "docs/reference"
ACQUITS = re.compile(r"\bsafe|drive on|\bfine\b|no fault in|nothing to fear|healthy|[%0-9]", re.I)


def test_every_fault_of_the_virtual_engine_is_a_cause() -> None:
    assert set(NAMES) == {*ENGINE_FAULTS, "none-of-these"}
    assert set(FAULTS) == set(NAMES) - set(ALONE)


@pytest.mark.parametrize("name", NAMES)
def test_the_owner_reads_a_sentence_without_numbers_or_acquittal(name: str) -> None:
    owner = CAUSES[name].owner
    assert owner[0].isupper()
    assert owner.endswith(".")
    assert not ACQUITS.search(owner)
    assert 0 < len(CAUSES[name].phrase) < 70


def test_an_acquittal_would_be_found() -> None:
    assert ACQUITS.search("It is safe to drive on.")
    assert ACQUITS.search("Likely at 40 %.")


@pytest.mark.parametrize("name", NAMES)
def test_which_engines_can_have_it_agrees_with_the_virtual_engine(name: str) -> None:
    if name == "none-of-these":
        return
    for build in (
        Build(),
        Build(ventilation="orifice"),
        Build(oil_pump="two-stage"),
        Build(oil_pump="variable"),
        Build(fuel="diesel", metering="none", ignition="compression"),
    ):
        view = JobView(ventilation=build.ventilation, oil_pump=build.oil_pump, fuel=build.fuel)
        assert catalogue.suits(name, view) == ENGINE_FAULTS[name].suits(build)
    assert catalogue.suits(name, JobView())


def test_an_oil_change_takes_away_what_is_in_the_sump_and_the_filter() -> None:
    for name in ("oil-level-low", "oil-aerated", "oil-thin", "fuel-in-oil", "filter-restricted"):
        assert catalogue.mended(name, "oil-changed") > 0.8
    for name in ("worn-bearings", "worn-pump", "intake-leak", "ventilation-regulator-torn"):
        assert catalogue.mended(name, "oil-changed") < 0.1
    assert catalogue.mended("oil-level-low", "oil-topped-up") > 0.9
    assert catalogue.mended("oil-thin", "level-corrected") == 0.0
    assert catalogue.mended("oil-thin", "repaired") == 0.5
    assert catalogue.mended("none-of-these", "repaired") == 0.0


def test_shares_are_shares_and_name_known_things() -> None:
    for cause in CAUSES.values():
        assert set(cause.mended) <= set(LASTING)
        assert set(cause.brings) <= set(FAULTS) - {cause.name}
        assert set(cause.not_with) <= set(FAULTS)
        assert all(0.0 < share < 1.0 for share in [*cause.mended.values(), *cause.brings.values()])
    assert all(catalogue.mended(name, action) == 0.0 for name in NAMES for action in PASSING)


def test_no_two_causes_bring_each_other() -> None:
    for cause in CAUSES.values():
        assert not any(cause.name in CAUSES[second].brings for second in cause.brings)


def test_pairs_hold_every_two_faults_once_but_opposites() -> None:
    pairs = catalogue.pairs()
    assert len({frozenset(pair) for pair in pairs}) == len(pairs) == 20 * 19 // 2 - 2
    assert ("relief-valve-open", "relief-valve-shut") not in pairs
    assert not any(set(pair) & set(ALONE) for pair in pairs)


def test_a_ventilation_fault_burns_oil_and_the_level_falls() -> None:
    assert catalogue.link(("ventilation-regulator-torn", "oil-level-low")) == "consequence"
    assert catalogue.link(("worn-rings", "fuel-in-oil")) == "consequence"
    assert catalogue.link(("breather-blocked", "fuel-in-oil")) == "unrelated"
    assert catalogue.link(("oil-thin",)) == "single"
    with pytest.raises(KeyError):
        catalogue.link(("relief-valve-open", "relief-valve-shut"))


def test_every_cause_stands_in_the_reference_page() -> None:
    text = (DOCS / "odds.md").read_text(encoding="utf-8")
    assert [name for name in NAMES if f"`{name}`" not in text] == []
