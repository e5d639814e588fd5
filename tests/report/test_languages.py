"""Every language says all that English says, with the same blanks, and nothing of it in English."""

from __future__ import annotations

import ast
import re
import threading
from collections.abc import Iterator
from pathlib import Path
from string import Formatter
from types import ModuleType
from typing import Any

import pytest
from cause_sample import WEIGHED
from report_rendered import outside, texts
from report_sample import VARIANTS, preferences

import gaugewright
from gaugewright.analysis.outcome import Outcome
from gaugewright.causes import catalogue as causes_table
from gaugewright.causes import leaks, next_test, symptoms, tests, traces
from gaugewright.engine.faults import FAULTS
from gaugewright.job.words import OBSERVATIONS, TESTED
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.said import said
from gaugewright.report import (
    causes,
    display,
    handover,
    pages,
    phrases,
    record,
    screen,
    words,
    words_de,
    words_en,
)
from gaugewright.report.blocks import as_data
from gaugewright.report.carried import carried, catalogue, remade
from gaugewright.report.language import LANGUAGES, speaking, spoken

SOURCE = Path(gaugewright.__file__).parent
OTHERS = {"de": words_de}
LONG = 12
"""Texts of more signs than this are looked for in pages of another language."""
OWN_WORDS = ("SEAMS",)
"""Names whose keys are words of the language itself."""


def names(module: ModuleType) -> dict[str, Any]:
    return {k: v for k, v in vars(module).items() if k.isupper() or k == "OR"}


def blanks(text: str) -> list[tuple[str, str]]:
    parts = Formatter().parse(text)
    return sorted((name, form or "") for _, name, form, _ in parts if name is not None)


def told(value: Any, place: str) -> Iterator[tuple[str, str]]:
    """Every text of a catalogue with its place in it."""
    if isinstance(value, str):
        yield place, value
    elif isinstance(value, dict):
        for key, part in value.items():
            yield from told(part, f"{place}[{key}]")
    elif isinstance(value, tuple):
        for number, part in enumerate(value):
            yield from told(part, f"{place}.{number}")


def texts_of(module: ModuleType) -> dict[str, str]:
    kept = {k: v for k, v in names(module).items() if k not in OWN_WORDS}
    return dict(pair for name, value in kept.items() for pair in told(value, name))


# The catalogues -----------------------------------------------------------------------


@pytest.mark.parametrize("other", OTHERS.values(), ids=OTHERS)
def test_every_language_has_the_same_names_and_blanks(other: ModuleType) -> None:
    assert set(names(other)) == set(names(words_en))
    mine, theirs = texts_of(words_en), texts_of(other)
    assert set(theirs) == set(mine)
    assert {k: blanks(v) for k, v in theirs.items()} == {k: blanks(v) for k, v in mine.items()}
    for name, value in names(words_en).items():
        assert type(getattr(other, name)) is type(value), name


def test_there_is_a_catalogue_for_every_language() -> None:
    assert {"en", *OTHERS} == set(LANGUAGES)


def patterns() -> set[str]:
    """Every pattern that is handed to `said` or `counted` in the source."""
    found: set[str] = set()
    for path in sorted(SOURCE.rglob("*.py")):
        if path.relative_to(SOURCE).parts[0] in ("report", "web", "cli"):
            continue
        text = path.read_text(encoding="utf-8")
        if "quantities.said import" not in text and "counted" not in text:
            continue
        found |= set(_patterns(ast.parse(text)))
    return found - {"{count} "}


def _patterns(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            texts = [a.value for a in node.args if isinstance(a, ast.Constant)]
            if node.func.id == "said":
                yield from (t for t in texts if isinstance(t, str))
            if node.func.id == "counted":
                yield from (f"{{count}} {t}" for t in texts if isinstance(t, str))
            for one in node.args:
                if node.func.id in ("Caveat", "Note") and isinstance(one, ast.Constant):
                    yield from (t for t in (one.value,) if isinstance(t, str) and " " in t)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            plain = node.value
            if re.search(r"{[a-z_]\w*(:[^}]*)?}", plain) and "\n" not in plain:
                yield plain


def sentences() -> set[str]:
    """Every sentence that a table or a rule hands to the findings."""
    stated = tests._file()
    found = {*stated["cautions"].values(), *stated["not_when"].values()}
    for test in tests.every_test():
        found |= {test.title, test.how, *test.outcomes}
    found |= {cause.owner for cause in causes_table.CAUSES.values()}
    found |= {fault.words for fault in FAULTS.values()} | {hole.path for hole in leaks.HOLES}
    found |= {word for sign in symptoms.signs().values() for word in sign.rows.words}
    found |= {kind.word for kind in QUANTITIES.values()} | set(QUANTITIES)
    for trace in traces.traces().values():
        found |= {trace.title, trace.told}
    found |= {tests.KNOCK, tests.NO_PRESSURE, next_test.DONE, next_test.OUTSIDE}
    return found | {next_test.NOTHING_SHOWN, next_test.NOTHING_WORTH} | set(words_en.CAUSE)


@pytest.mark.parametrize("language", list(OTHERS))
def test_all_that_the_findings_carry_is_there(language: Any) -> None:
    known = catalogue(language)
    pulses = {"ignition", "crank", "cam"}
    assert sentences() - set(known) - pulses == set()
    assert patterns() - set(known) == set()
    assert {k: blanks(v) for k, v in known.items()} == {k: blanks(k) for k in known}


def test_what_was_seen_is_told_as_the_app_tells_it() -> None:
    from gaugewright.web.wording import words_of

    saws = {saw for words_ in OBSERVATIONS.values() for saw in words_} - {"not known"}
    with speaking("de"):
        ours = {saw: carried(saw) for saw in saws if saw in catalogue("de")}
    theirs = {saw: words_of("de")(f"saw.{saw}") for saw in ours}
    assert ours == theirs
    assert len(ours) > 40


def test_what_a_test_can_show_is_told_in_german() -> None:
    assert {word for words_ in TESTED.values() for word in words_} <= set(catalogue("de"))


# What is spoken -----------------------------------------------------------------------


def test_a_language_holds_for_what_is_within_and_for_no_other_thread() -> None:
    heard: list[str] = []
    with speaking("de"):
        aside = threading.Thread(target=lambda: heard.append(words.HANDOVER))
        aside.start()
        aside.join()
        heard.append(words.HANDOVER)
        with speaking("en"):
            heard.append(words.HANDOVER)
        heard.append(words.HANDOVER)
    ours, theirs = words_en.HANDOVER, words_de.HANDOVER
    assert [*heard, words.HANDOVER] == [ours, theirs, ours, theirs, ours]


def test_it_is_over_when_something_fails() -> None:
    with pytest.raises(ZeroDivisionError), speaking("de"):
        raise ZeroDivisionError
    assert spoken() == "en"


def test_figures_dates_and_lists_in_german() -> None:
    here = preferences()
    with speaking("de"):
        assert display.digits(-1.25, 2) == "\u22121,25"
        assert display.digits(12345.6, 1) == "12\u202f345,6"
        number = display.number(84.36, 0.8, display.shown("oil-pressure", "kPa", here))
        assert (number.whole, number.fraction) == ("84", ",4")
        assert display.stated(90.5, display.shown("oil-pressure", "kPa", here)) == "90,5\u00a0kPa"
        assert display.rpm(820.0) == "820\u00a01/min"
        assert phrases.listed(["a", "b", "c"]) == "a, b und c"
        assert phrases.date(here.printed) == "6.\u00a0März 2031"


def test_a_sentence_of_the_findings_in_german_with_its_figures() -> None:
    saw = said("{what} {low:.1f} to {high:.1f} {unit}", what=said("oil pressure"), low=84.5,
               high=90.25, unit=said("kPa"))  # fmt: skip
    bar = preferences(pressure_unit="bar")
    assert carried(saw) == saw == "oil pressure 84.5 to 90.2 kPa"
    with speaking("de"):
        assert carried(saw) == "Öldruck 84,5 bis 90,2 kPa"
        assert display.in_own_units(saw, bar) == "Öldruck 0,845 bis 0,902\u00a0bar"
        assert carried("A deep crankcase vacuum pulls the seals: no longer than the reading needs."
                       ).startswith("Tiefer Unterdruck")  # fmt: skip


def test_what_was_typed_is_never_translated() -> None:
    with speaking("de"):
        assert remade("fuel") == "fuel"
        assert carried(said("column {column}", column="fuel")) == "Spalte fuel"
        assert carried("a sentence of our own") == "a sentence of our own"
        assert phrases.breakable("Kurbelgehäuseentlüftung", 18).replace("\u00ad", "") == (
            "Kurbelgehäuseentlüftung"
        )


# The pages ----------------------------------------------------------------------------

RENDERED = VARIANTS | WEIGHED
NEVER = ("fahrbereit", "verkehrssicher", "fehlerfrei", "kein fehler", "ohne fehler",
         "alles gut", "in ordnung", "sicher zu fahren", "unbedenklich")  # fmt: skip


def seen(page: Any) -> str:
    """All the text of a page's blocks, drawings and what they say too."""
    flat = " ".join(text for text in _strings(as_data(page)))
    plain = re.sub(r"<[^>]+>", " ", flat)
    return " ".join(re.sub("[\u00ad\u200b]", "", plain).replace("\u00a0", " ").split())


def _strings(part: Any) -> Iterator[str]:
    if isinstance(part, str):
        yield part
    elif isinstance(part, list | dict):
        for one in part if isinstance(part, list) else part.values():
            yield from _strings(one)


def english() -> set[str]:
    """What no German page may hold: the long stretches between the blanks of English texts."""
    german = " ".join([*texts_of(words_de).values(), *catalogue("de").values()])
    all_of_it = [*texts_of(words_en).values(), *catalogue("de")]
    parts = {p.strip() for text in all_of_it for p in re.split(r"{[^}]*}|\n", text)}
    return {p for p in parts if len(p) > LONG and p not in german}


@pytest.fixture(scope="module")
def van(van_folder: Path) -> Outcome:
    from gaugewright.analysis.analyse import analyse
    from gaugewright.job.folder import read

    return analyse(*read(van_folder))


@pytest.fixture(scope="module")
def german(van: Outcome) -> dict[str, bytes]:
    return pages.render(van, preferences(language="de"))


def own_words(outcome: Outcome) -> str:
    """All that the job itself holds."""
    return repr(outcome.job).lower()


def test_the_vans_pages_in_german_hold_nothing_english(
    van: Outcome, german: dict[str, bytes]
) -> None:
    here = preferences(language="de")
    sheet, protocol = handover.handover_page(van, here, 0), record.record_page(van, here)
    printed = " ".join(texts(german["handover.pdf"]) + texts(german["record.pdf"]))
    whole = f"{seen(sheet)} {seen(protocol)} {printed}".replace("\u202f", " ")
    job = own_words(van)
    left = {p for p in english() if p.lower() in whole.lower() and p.lower() not in job}
    assert left == set()
    for there in (words_de.HANDOVER, words_de.RECORD, words_de.TESTS_HEAD):
        assert there in whole
    assert words_de.STOP_REST.strip() in whole


def test_english_would_be_found(van: Outcome) -> None:
    whole = seen(record.record_page(van, preferences())).lower()
    job = own_words(van)
    found = [p for p in english() if p.lower() in whole and p.lower() not in job]
    assert len(found) > 60


def test_the_vans_figures_carry_commas(van: Outcome, german: dict[str, bytes]) -> None:
    point = re.compile(r"\d\.\d+ ?(?:kPa|%|s\b|mm|1/min|°C|bit|u\b)")
    whole = " ".join(texts(german["record.pdf"]))
    assert [f for f in point.findall(whole) if f.lower() not in own_words(van)] == []
    assert len(re.findall(r"\d,\d+ kPa", whole)) > 20
    drawn = re.findall(r">[\u2212+]?\d+[.,]\d+<", german["pages.html"].decode())
    assert drawn
    assert not [figure for figure in drawn if "." in figure]


def test_the_file_says_its_language(van: Outcome, german: dict[str, bytes]) -> None:
    assert b'<html lang="de">' in german["pages.html"]
    assert b"/Lang(de)" in german["record.pdf"]
    sheet = handover.handover_page(van, preferences(), 0)
    assert '<html lang="en">' in screen.html(sheet, sheet)


@pytest.mark.parametrize("name", sorted(RENDERED))
def test_the_owners_page_acquits_nobody_in_german(name: str) -> None:
    page = handover.handover_page(RENDERED[name](), preferences(language="de"), 0)
    said_ = seen(page).lower()
    assert [phrase for phrase in NEVER if phrase in said_] == []
    assert words_de.STOP_BOLD.lower() in said_


@pytest.mark.parametrize("name", sorted(WEIGHED))
def test_the_owner_reads_words_and_no_percentage_in_german(name: str) -> None:
    with speaking("de"):
        shown = [w for w in words.OWNER_WORD.values()]
        found = WEIGHED[name]().findings
        assert all(causes.owner_word(c) in (*words.OWNER_WORD, "hardly") for c in found.causes)
    page = seen(handover.handover_page(WEIGHED[name](), preferences(language="de"), 0))
    behind = page.partition(words_de.OWNER_CAUSES[:4])[2].partition(words_de.DONE)[0]
    assert "%" not in behind
    assert any(word in page for word in shown) or words_de.OWNER_QUIET in page


@pytest.mark.parametrize("name", ["long", "long_names", "lamp_on", "bounded", "five_visits"])
@pytest.mark.parametrize("paper", ["a4", pytest.param("letter", marks=pytest.mark.slow)])
def test_the_owners_page_stays_one_page_in_german(name: str, paper: str) -> None:
    here = preferences(language="de", paper=paper, pressure_unit="bar", vacuum_unit="mbar")
    made = pages.one_sheet(RENDERED[name](), here)[1]
    assert len(texts(made)) == 1
    assert outside(made) == []


def test_english_pages_are_as_if_there_were_no_other(van: Outcome) -> None:
    before = seen(record.record_page(van, preferences()))
    with speaking("de"):
        within = seen(record.record_page(van, preferences()))
    assert within == before
