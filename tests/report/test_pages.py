"""Both pages as a reader finds them: one sheet, nothing cut off, nothing said that is not so."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from cause_sample import WEIGHED
from report_rendered import FORBIDDEN, files, handover, outside, record, screen, texts
from report_sample import VARIANTS, outcome, preferences

from gaugewright.report import pages, words

NAMES = sorted(VARIANTS)
EVERY = sorted(VARIANTS | WEIGHED)
OWNERS_OWN = {"long", "unbroken", "extreme"}
"""Variants in which the owner's own words fill the page."""


@pytest.mark.parametrize("paper", ["a4", pytest.param("letter", marks=pytest.mark.slow)])
@pytest.mark.parametrize("name", EVERY)
def test_the_handover_sheet_is_one_page_with_nothing_cut_off(name: str, paper: str) -> None:
    sheet = files(name, paper)["handover.pdf"]
    said = texts(sheet)
    assert len(said) == 1
    assert outside(sheet) == []
    for part in (
        words.HANDOVER,
        words.DONE,
        words.ADVISED,
        words.NOT_TESTED,
        words.STOP_BOLD,
        words.SIGN_OWNER,
        words.SIGN_WORKSHOP,
        "Workshop at the Mill",
        "6 March 2031",
    ):
        assert part in said[0]


@pytest.mark.parametrize("name", EVERY)
def test_the_work_record_counts_its_pages_and_keeps_within_them(name: str) -> None:
    made = files(name)["record.pdf"]
    said = texts(made)
    assert outside(made) == []
    for number, page in enumerate(said, start=1):
        assert f"Page {number} of {len(said)}" in page


@pytest.mark.parametrize("name", EVERY)
def test_no_page_acquits_an_engine(name: str) -> None:
    said = f"{handover(name)} {record(name)}".lower()
    for phrase in FORBIDDEN:
        assert phrase not in said


@pytest.mark.parametrize("name", sorted(set(EVERY) - OWNERS_OWN))
def test_the_owner_reads_no_percentage_and_no_odds(name: str) -> None:
    said = handover(name)
    assert "%" not in said
    assert not re.search(r"\bin 100\b|times in|probab|percent", said)


@pytest.mark.parametrize("name", NAMES)
def test_no_cause_is_named_while_none_was_weighed(name: str) -> None:
    said = handover(name).lower()
    for cause in words.CAUSE.values():
        assert cause not in said
    assert words.NOT_CAUSES.split(";")[0].lower()[:40] in said


def test_the_example_tells_its_story() -> None:
    said = handover("van")
    assert "The bearings got too little oil pressure. Now they get enough." in said
    assert "the gauge showed 95 kPa; the maker asks for 90 kPa or more" in said
    assert "Pressure in the crankcase held the gauge up by 11 kPa: the bearings got 84 kPa" in said
    assert "the maker states this limit for the gauge" in said
    assert "very sure that the gauge meets the limit" in said
    assert said.index("meets at the gauge") < said.index("falls short at the bearings")


def test_a_hidden_shortfall_names_what_falls_short() -> None:
    said = handover("hidden")
    assert "the bearings get too little" in said
    assert "falls short at the bearings" in said
    assert "meets at the gauge" in said
    assert "Have this put right before the car is driven:" in said


def test_bearings_that_get_enough_are_no_pass() -> None:
    said = handover("gauge_short_bearings_meet")
    assert "The oil pressure at the gauge falls short of the maker\u2019s limit." in said
    assert words.ENOUGH_NO_PASS in said
    assert "meets at the bearings" not in said
    assert "(an explanation, not a pass)" in said
    assert "The maker states this limit for the gauge, so what the bearings get" in said


def test_too_close_to_call_says_what_would_settle_it() -> None:
    said = handover("too_close")
    assert "too close to the limit to call" in said
    assert "a further test would settle it" in said
    assert "90.4 kPa" in said


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("no_limits", "There was no limit to judge it by."),
        ("hand_only", "There is no recording; the values were read by hand."),
        ("nothing_read", "Nothing could be measured yet."),
        ("unmeasured", "The oil pressure could not be judged yet."),
        ("exceeds", "The oil pressure is higher than the maker allows."),
        ("bounded", "The gauge showed at most 42 kPa"),
        ("disagreeing", "Two instruments disagree about the oil pressure: there is no verdict."),
        ("gauge_only", "What the bearings get is not known"),
        ("extreme", "The oil pressure meets the maker\u2019s limit, yet the oil lamp comes on."),
    ],
)
def test_hard_cases_are_said_in_words(name: str, sentence: str) -> None:
    assert sentence in handover(name)


def test_a_shortened_text_points_to_the_work_record_and_stands_there() -> None:
    assert words.CONTINUED in handover("long")
    whole = record("long")
    assert "100 % of the time it starts" in whole
    assert "piece of work 16" in whole
    assert "limit number 10 of the manual" in whole


def test_the_record_holds_the_evidence() -> None:
    said = record("van")
    for part in (
        "95.0 \u00b1 1.8 kPa",
        "+11.00 \u00b1 0.24 kPa",
        "823 rpm, 81 \u00b0C",
        "243 hunting",
        "printed \u201c0.9 bar / 13 psi\u201d",
        "workshop manual, lubrication",
        "over 99.9 %",
        "slope 0.97",
        "the maker states this limit for the gauge",
        "3 of 1320 ignition pulses were put back by the rhythm.",
        "delimiter semicolon; decimal comma",
        "12 samples missing",
        "5f1c90ab",
        "verdicts by JCGM 106",
        "1 inHg is 3386.389 Pa (conventional)",
        "across visits: shows the repair".capitalize(),
    ):
        assert part in said


def test_flags_and_one_sided_readings_stand_in_words() -> None:
    said = record("bounded")
    assert "at most 42.0 kPa" in said
    assert words.FLAG["at-stop"] in said
    assert words.FLAG["instruments-disagree"] in record("disagreeing")
    assert "Not measured." in record("unmeasured") or "not measured" in record("unmeasured")


def test_table_heads_come_again_on_every_page() -> None:
    said = texts(files("extreme")["record.pdf"])
    assert sum("done since the visit before" in page for page in said) > 1


def test_units_are_the_workshops_own() -> None:
    # 95 kPa / 6.894757 kPa = 13.78 psi; 11 kPa / 3.386389 kPa = 3.25 inHg (NIST SP 811, B.8)
    made = pages.render(outcome(), preferences(pressure_unit="psi", vacuum_unit="inHg"))
    sheet, whole = (" ".join(texts(made[name])) for name in ("handover.pdf", "record.pdf"))
    assert "13.78 \u00b1 0.31 psi" in sheet
    assert "the gauge showed 13.8 psi; the maker asks for 13.05 psi or more" in sheet
    assert "+3.25 \u00b1 0.07 inHg" in whole
    assert "kPa" not in sheet
    # 95 kPa = 0.950 bar; 11 kPa = 110 mbar, exact
    made = pages.render(outcome(), preferences(pressure_unit="bar", vacuum_unit="mbar"))
    whole = " ".join(texts(made["record.pdf"]))
    assert "0.950 \u00b1 0.018 bar" in whole
    assert "+110.0 \u00b1 2.4 mbar" in whole


@pytest.mark.parametrize("name", EVERY)
def test_the_html_file_asks_nobody(name: str) -> None:
    html = files(name)["pages.html"].decode("utf-8")
    reader = screen(name)
    assert reader.open == []
    assert all(address.startswith("#") for address in reader.addresses)
    assert not {"script", "link", "img", "iframe", "object", "form"} & set(reader.names)
    addresses = re.findall(r"url\(([^)]{0,40})", html)
    assert addresses
    assert all(address.startswith("data:font/") for address in addresses)
    assert "@import" not in html
    bare = html.replace("http://www.w3.org/2000/svg", "")
    assert "http" not in bare.replace("http-equiv", "")
    assert "default-src &#x27;none&#x27;" in html


def test_the_html_says_what_the_pages_say() -> None:
    said = " ".join(" ".join(screen("van").said).split())
    assert "The bearings got too little oil pressure. Now they get enough." in said
    for part in (words.NOT_TESTED, words.LIMITS, words.FILES, words.STOP_BOLD):
        assert part in said


def test_markup_in_the_owners_words_stays_words() -> None:
    said = " ".join(screen("unbroken").said)
    assert "<a>" in said
    assert "a" not in [n for n in screen("unbroken").names if n == "a"][2:]
    assert "#x *y* $z$ <a>" in record("unbroken")


def test_every_picture_says_in_words_what_it_shows() -> None:
    html = files("van")["pages.html"].decode("utf-8")
    pictures = html.count('<div class="picture">')
    assert pictures == html.count('<div class="picture"><svg') == html.count('role="img"')
    assert "as found: the gauge showed 95.0" in html.replace("\u00a0", " ")


def test_light_dark_and_print_are_all_there() -> None:
    html = files("van")["pages.html"].decode("utf-8")
    assert "prefers-color-scheme:dark" in html
    assert "@media print" in html


@pytest.mark.slow
def test_equal_input_gives_equal_bytes_in_another_process() -> None:
    here = Path(__file__).parent
    program = (
        "import hashlib, sys; sys.path.insert(0, sys.argv[1]);"
        "from report_sample import outcome, preferences; from gaugewright.report import pages;"
        "made = pages.render(outcome(), preferences());"
        "print(hashlib.sha256(b''.join(made[n] for n in sorted(made))).hexdigest())"
    )
    runs = set()
    for seed in ("1", "2"):
        source = str(here.parents[1] / "src")
        room = dict(os.environ, PYTHONHASHSEED=seed, PYTHONPATH=source)
        done = subprocess.run(
            [sys.executable, "-c", program, str(here)],
            env=room,
            check=True,
            capture_output=True,
            text=True,
        )
        runs.add(done.stdout.strip())
    assert len(runs) == 1
    assert len(runs.pop()) == 64
