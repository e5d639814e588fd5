"""The document's text: changed in place, never saying anything else than its tables."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugewright.job.dump import toml_of
from gaugewright.store import document
from gaugewright.store.changes import Change, Move, at, carried_out, move_of, path_of, tables_of
from gaugewright.store.document import after, typed

TEXT = """\
# kept by hand
format = 1
title = "Tick"                # what the owner says

[vehicle]
cylinders = 4
cycle = "four-stroke"         # of course

[[visit]]
name = "first"
date = 2031-03-04T09:30:00    # a Tuesday

[[visit]]                     # the proof
name = "second"

[[recording]]
name = "hot idle"
file = "recordings/hot-idle.csv"
time = "t"

  [[recording.signal]]
  column = "oil_v"
  quantity = "oil-pressure"
  unit = "kPa"

  [[recording.condition]]     # the engine as it came
  name = "as found"
  from = "5 s"
  to = "35 s"
"""
CONDITION = {"name": "cap off", "from": "40 s", "to": "60 s", "did": ["filler-cap-off"]}


def changed(*changes: Change) -> str:
    tables, moves = tables_of(TEXT), []
    for change in changes:
        moves.append(move_of(change, path_of(change.place), tables))
        tables = carried_out(tables, moves[-1:])
    text = after(TEXT, moves)
    assert tables_of(text) == tables
    return text


def test_a_value_changes_alone() -> None:
    text = changed(Change("recording.0.condition.0.to", "35 s", "31.5 s"))
    assert text == TEXT.replace('"35 s"', '"31.5 s"')


def test_remarks_and_order_survive_every_kind_of_change() -> None:
    text = changed(
        Change("title", "Tick", "Knock"),
        Change("recording.0.condition.-", None, CONDITION),
        Change("limit.-", None, {"name": "hot idle", "quantity": "oil-pressure", "min": "1 bar"}),
        Change("visit.1", {"name": "second"}),
        Change("place.altitude", None, "310 m"),
    )
    for remark in ("kept by hand", "what the owner says", "of course", "a Tuesday", "as it came"):
        assert remark in text
    assert "the proof" not in text
    assert text.index("[vehicle]") < text.index("[[visit]]") < text.index("[[recording]]")


def test_a_date_is_a_date_in_the_text() -> None:
    text = changed(Change("visit.1.date", None, "2031-03-11"))
    assert "date = 2031-03-11\n" in text
    assert typed({"date": "soon", "name": "2031-03-11"}) == {"date": "soon", "name": "2031-03-11"}


def test_what_cannot_be_changed_in_place_is_written_afresh(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(document, "_in_place", lambda *_: TEXT)
    text = changed(Change("title", "Tick", "Knock"))
    assert text == toml_of(typed({**tables_of(TEXT), "title": "Knock"}))


PLACES = st.sampled_from(
    [
        "title", "vehicle.name", "vehicle.firing_order", "place", "place.altitude",
        "place.barometer", "complaint.codes", "visit.0", "visit.1", "visit.1.work", "visit.-",
        "recording.0.condition.0", "recording.0.condition.0.did", "recording.0.condition.-",
        "recording.0.signal.0.hose", "recording.0.text.delimiter", "recording.0.text",
        "recording.0", "recording.-", "limit.-", "limit.0", "work.-", "sensor.-", "sensor.0.points",
    ]
)  # fmt: skip
WORDS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1, max_size=8
)
VALUES: dict[str, st.SearchStrategy[object]] = {
    "-": st.dictionaries(st.sampled_from(["name", "note", "file"]), WORDS, min_size=1),
    "codes": st.lists(WORDS, max_size=3),
    "firing_order": st.lists(st.integers(1, 16), max_size=4),
    "did": st.lists(WORDS, max_size=3),
    "points": st.lists(st.lists(WORDS, min_size=2, max_size=2), max_size=3),
}
TABLE = st.dictionaries(st.sampled_from(["name", "note"]), WORDS, min_size=1)


def value_for(place: str) -> st.SearchStrategy[object]:
    last = place.split(".")[-1]
    if last.isdecimal() or last in ("place", "text", "hose"):
        return st.one_of(st.none(), TABLE)
    return VALUES.get(last, st.one_of(st.none(), WORDS))


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_the_text_always_says_what_the_tables_say(data: st.DataObject) -> None:
    """Any run of changes, each on the text of the one before: text and tables never part."""
    text = TEXT
    for _ in range(data.draw(st.integers(1, 6))):
        tables = tables_of(text)
        place = data.draw(PLACES)
        new = data.draw(value_for(place))
        move = _move(place, new, tables)
        if move is None:
            continue
        wanted = carried_out(tables, [move])
        text = after(text, [move])
        assert tables_of(text) == wanted


def _move(place: str, new: object, tables: dict[str, object]) -> Move | None:
    """The change as a move, None where its place is not there."""
    from gaugewright.errors import InputError

    path = path_of(place)
    change = Change(place, None if path[-1] == "-" else at(tables, path), new)
    if change.old is None and new is None:
        return None
    try:
        return move_of(change, path, tables)
    except InputError:
        return None
