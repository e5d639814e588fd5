"""The odds before any evidence, and how a shop makes them its own."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.causes import catalogue, odds_file
from gaugewright.causes.catalogue import ALONE, NAMES
from gaugewright.causes.odds import COLUMNS, followed, mixture_of, odds_of, updated
from gaugewright.causes.view import JobView, Observed
from gaugewright.errors import InputError

LAMP_ODDS = {
    "oil-level-low": 22, "oil-aerated": 4, "oil-thin": 8, "fuel-in-oil": 4,
    "pickup-restricted": 5, "pickup-sucks-air": 3, "filter-restricted": 8,
    "relief-valve-open": 3, "relief-valve-shut": 1, "worn-pump": 3, "pump-control-stuck": 3,
    "worn-bearings": 6, "internal-leak": 2, "indication-fault": 24,
    "ventilation-regulator-torn": 1, "breather-blocked": 1, "crankcase-open": 0.3,
    "intake-leak": 2, "worn-rings": 0.5, "test-fault": 3,
}  # fmt: skip
"""Judged odds among cars that come for an oil lamp, written down before this table was made
(judgement; common practice, no source)."""

KINDS = st.builds(
    JobView,
    fuel=st.sampled_from([None, "petrol", "diesel", "gas"]),
    oil_pump=st.sampled_from([None, "fixed", "two-stage", "variable", "controlled"]),
    ventilation=st.sampled_from([None, "regulator", "orifice", "valve", "open"]),
    codes=st.sampled_from([(), ("P0524",), ("P0171",)]),
)


def lamp(word: str, **kind: str) -> JobView:
    return JobView(seen=(Observed("first", "lamp", word),), **kind)


def test_the_lamp_column_is_the_trades() -> None:
    column = odds_file.shipped().columns["lamp"]
    assert {name: column[name] for name in LAMP_ODDS} == LAMP_ODDS
    assert set(column) == set(NAMES)


@given(KINDS)
def test_odds_add_up_and_none_is_zero(view: JobView) -> None:
    found = odds_of(odds_file.shipped(), view)
    assert sum(found.values()) == pytest.approx(1.0, abs=1e-12)
    assert min(found.values()) > 0.0
    assert {key[0] for key in found if len(key) == 1} == set(NAMES)
    assert all(catalogue.suits(name, view) for key in found if len(key) == 2 for name in key)


def test_one_faulty_car_in_four_has_two_faults() -> None:
    found = odds_of(odds_file.shipped(), JobView())
    faulty = sum(p for key, p in found.items() if not set(key) & set(ALONE))
    double = sum(p for key, p in found.items() if len(key) == 2)
    brought = sum(p for key, p in found.items() if catalogue.link(key) == "consequence")
    assert double / faulty == pytest.approx(0.25)
    assert brought / double == pytest.approx(0.60)


def test_unrelated_pairs_go_by_the_product_of_their_odds() -> None:
    found = odds_of(odds_file.shipped(), lamp("on at hot idle"))
    table = odds_file.shipped()
    of = table.columns["lamp"]
    ratio = found["oil-thin", "indication-fault"] / found["oil-aerated", "indication-fault"]
    assert ratio == pytest.approx(of["oil-thin"] / of["oil-aerated"], rel=0.15)


def test_the_reference_page_prints_the_table() -> None:
    page = Path(__file__).parents[2] / "docs/reference/odds.md"
    text, columns = page.read_text(encoding="utf-8"), odds_file.shipped().columns
    for name in NAMES:
        odds = " | ".join(f"{columns[column][name]:g}" for column in COLUMNS)
        assert f"| {odds} |" in next(x for x in text.splitlines() if x.startswith(f"| `{name}`"))


def test_what_the_job_says_chooses_the_column() -> None:
    assert mixture_of(lamp("flickers at idle"))["lamp"] > 0.9
    assert mixture_of(lamp("dark with the ignition on"))["lamp"] > 0.9
    assert mixture_of(lamp("never on"))["lamp"] < 0.1
    assert mixture_of(JobView(codes=("P0524",)))["lamp"] > 0.9
    assert mixture_of(JobView())["lamp"] == 0.4
    for view in (JobView(), lamp("never on"), lamp("on at speed")):
        assert sum(mixture_of(view).values()) == pytest.approx(1.0)


def test_a_known_kind_of_engine_moves_what_only_some_can_have() -> None:
    table = odds_file.shipped()

    def chance(view: JobView) -> float:
        return odds_of(table, view)[("ventilation-regulator-torn",)]

    known, silent = JobView(ventilation="regulator"), JobView()
    assert chance(known) > chance(silent) > chance(JobView(ventilation="valve")) > 0.0


def test_closed_jobs_follow_dirichlet_counts() -> None:
    """Posterior mean (strength share + n) / (strength + N), worked by hand for three causes."""
    table = odds_file.shipped()
    total = sum(table.columns["lamp"].values())
    after = updated(table, {("worn-pump",): 30.0, ("oil-thin",): 20.0}, strength=50.0)
    column = after.columns["lamp"]
    shares = {name: odds / sum(column.values()) for name, odds in column.items()}
    assert shares["worn-pump"] == pytest.approx((50.0 * 3.0 / total + 30.0) / 100.0)
    assert shares["oil-thin"] == pytest.approx((50.0 * 8.0 / total + 20.0) / 100.0)
    assert shares["oil-level-low"] == pytest.approx(50.0 * 22.0 / total / 100.0)
    assert after.two_faults == pytest.approx(50.0 * 0.25 / 100.0)
    assert after.columns["running"] == table.columns["running"]


def test_two_faults_in_one_closed_job_count_half_each() -> None:
    table = odds_file.shipped()
    pair = ("oil-level-low", "ventilation-regulator-torn")
    after = updated(table, {pair: 10.0}, strength=50.0)
    assert after.two_faults == pytest.approx((50.0 * 0.25 + 10.0) / 60.0)
    assert after.consequences == pytest.approx((50.0 * 0.25 * 0.6 + 10.0) / (12.5 + 10.0))
    shares = {n: o / sum(after.columns["lamp"].values()) for n, o in after.columns["lamp"].items()}
    total = sum(table.columns["lamp"].values())
    assert shares["oil-level-low"] == pytest.approx((50.0 * 22.0 / total + 5.0) / 60.0)


def test_nothing_learnt_changes_nothing() -> None:
    table = odds_file.shipped()
    after = updated(table, {})
    for column in COLUMNS:
        assert after.columns[column] == pytest.approx(table.columns[column])
    assert (after.two_faults, after.consequences) == (0.25, 0.6)


@pytest.mark.parametrize(
    ("counts", "strength", "told"),
    [
        ({("oil-thick",): 1.0}, 50.0, "oil-thick"),
        ({("oil-thin",): -1.0}, 50.0, "0 or more"),
        ({("oil-thin",): math.nan}, 50.0, "0 or more"),
        ({("oil-thin", "oil-thin"): 1.0}, 50.0, "two different"),
        ({("oil-thin",): 1.0}, 0.0, "above 0"),
    ],
)
def test_counts_that_cannot_be_are_refused(
    counts: dict[tuple[str, ...], float], strength: float, told: str
) -> None:
    with pytest.raises(ValueError, match=told):
        updated(odds_file.shipped(), counts, strength)


def shop(tmp_path: Path, **changes: str) -> Path:
    """The shipped table in a file of a shop's own, with lines changed."""
    text = odds_file.written(odds_file.shipped())
    for old, new in changes.items():
        assert old.replace("_", "-") in text or old in text
        text = text.replace(old.replace("_", "-"), new, 1)
    path = tmp_path / "our-odds.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_written_table_reads_back(tmp_path: Path) -> None:
    assert odds_file.read(shop(tmp_path)) == odds_file.shipped()


def sentences(path: Path) -> list[str]:
    with pytest.raises(InputError) as refused:
        odds_file.read(path)
    return [problem.sentence for problem in refused.value.problems]


def test_every_error_of_a_shops_table_is_told_at_once(tmp_path: Path) -> None:
    path = shop(tmp_path)
    text = path.read_text(encoding="utf-8")
    text = text.replace("worn-pump = 3", "worn-pump = 0", 1).replace("oil-thin = 8", "thin = 8", 1)
    path.write_text(text.replace("two_faults = 0.25", "two_faults = 1.5"), encoding="utf-8")
    assert sentences(path) == [
        f"{path}, two_faults: found 1.5; give a share above 0 and below 1.",
        f"{path}, lamp.thin: the key is not known; use one of {', '.join(NAMES)}.",
        f"{path}, lamp.oil-thin: nothing is stated; give a number above 0; "
        "what never happened yet gets a small one.",
        f"{path}, lamp.worn-pump: found 0; give a number above 0; "
        "what never happened yet gets a small one.",
    ]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("format = 1\nlamp = 3\n", "lamp: found 3"),
        ("format = 2\n", "format: found 2; write format = 1."),
        ("format = 1\n[kinds]\nfuel = 1\n", "kinds.fuel: found 1; give a table [kinds.fuel]."),
        ("format = 1\n[lamp]\noil-thin = true\n", "lamp.oil-thin: found True"),
        ("format = 1\n[lamp]\noil-thin = nan\n", "lamp.oil-thin: found nan"),
        ("format = \n", "not TOML"),
    ],
)
def test_each_error_names_file_and_key(tmp_path: Path, text: str, place: str) -> None:
    path = tmp_path / "odds.toml"
    path.write_text(text, encoding="utf-8")
    found = sentences(path)
    assert any(place in sentence for sentence in found)
    assert all(sentence.startswith(str(path)) for sentence in found)
    assert all("\n" not in sentence for sentence in found)


def test_a_missing_table_is_one_sentence(tmp_path: Path) -> None:
    [sentence] = sentences(tmp_path / "none.toml")
    assert "it cannot be read (No such file or directory)" in sentence


def test_closed_jobs_are_counted_by_column(tmp_path: Path) -> None:
    path = tmp_path / "closed.toml"
    path.write_text(
        'format = 1\n[[closed]]\ncauses = ["oil-thin"]\ncount = 4\n'
        '[[closed]]\ncauses = ["oil-thin"]\n'
        '[[closed]]\ncauses = ["intake-leak"]\ncolumn = "running"\n',
        encoding="utf-8",
    )
    counts = odds_file.read_closed(path)
    assert counts["lamp"] == {("oil-thin",): 5.0}
    assert counts["running"] == {("intake-leak",): 1.0}


def test_columns_follow_their_own_jobs_and_the_shares_follow_all() -> None:
    table = odds_file.shipped()
    after = followed(
        table,
        {"lamp": {("oil-thin",): 10.0}, "running": {("worn-rings", "oil-level-low"): 10.0}},
        strength=50.0,
    )
    assert after.columns["pressure"] == table.columns["pressure"]
    share = {
        column: after.columns[column]["oil-thin"] / sum(after.columns[column].values())
        for column in ("lamp", "running")
    }
    before = {
        column: table.columns[column]["oil-thin"] / sum(table.columns[column].values())
        for column in ("lamp", "running")
    }
    assert share["lamp"] == pytest.approx((50.0 * before["lamp"] + 10.0) / 60.0)
    assert share["running"] == pytest.approx(50.0 * before["running"] / 60.0)
    assert after.two_faults == pytest.approx((50.0 * 0.25 + 10.0) / 70.0)


def test_errors_of_closed_jobs_name_their_place(tmp_path: Path) -> None:
    path = tmp_path / "closed.toml"
    path.write_text(
        'format = 1\n[[closed]]\ncauses = ["oil-thick"]\ncount = 0\n'
        '[[closed]]\ncauses = []\ncolumn = "lamps"\nwhy = 1\n',
        encoding="utf-8",
    )
    with pytest.raises(InputError) as refused:
        odds_file.read_closed(path)
    places = [problem.place for problem in refused.value.problems]
    assert places == [
        "closed 1, causes", "closed 1, count", "closed 2, why", "closed 2, causes",
        "closed 2, column",
    ]  # fmt: skip
