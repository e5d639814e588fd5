"""Jobs: made, listed, put away, brought back."""

from __future__ import annotations

import datetime as dt

import pytest

from gaugewright.errors import InputError
from gaugewright.store.lines import PARTS, STATES, Kept
from gaugewright.store.store import Store


def test_a_new_job_is_kept_with_its_number_and_says_what_is_missing(store: Store) -> None:
    first = store.new_job("Tick", 4, name="light van", oil_grade="5W-30", complaint="it ticks")
    second = store.new_job("Whistle", 2, "two-stroke")
    assert (first.number, second.number) == (1, 2)
    assert first.version == 1
    assert first.tables["vehicle"] == {
        "cylinders": 4,
        "cycle": "four-stroke",
        "name": "light van",
        "oil_grade": "5W-30",
    }
    assert first.model.complaint.text == "it ticks"
    assert first.tables["id"] == first.id
    assert not first.ready
    assert [problem.found for problem in first.problems] == [
        "found neither a [[recording]] nor a [[reading]]"
    ]
    assert store.job(first.id) == first
    assert first.folder.is_dir()


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"title": "", "cylinders": 4}, "found an empty text"),
        ({"title": "x", "cylinders": 40}, "at most 16"),
        ({"title": "x", "cylinders": 4, "cycle": "rotary"}, "not a word for this key"),
        ({"title": "x", "cylinders": 4, "oil_grade": "salad"}, "no oil grade"),
        ({"title": "x", "cylinders": 4, "wheels": 4}, "not known"),
        ({"title": "\ud800", "cylinders": 4}, "a sign that no text can hold"),
    ],
)
def test_a_wrong_value_makes_no_job(store: Store, values: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        store.new_job(**values)  # type: ignore[arg-type]
    assert store.jobs() == ()


def test_a_job_that_is_not_there_is_told_in_one_sentence(store: Store) -> None:
    for ask in (store.job, store.history, store.set_aside, store.findings, store.check):
        with pytest.raises(InputError, match="job nothing: no job of this id is kept; open the"):
            ask("nothing")
    assert store.version("nothing") == 0


def test_the_list_shows_the_last_changed_first(store: Store, kept: Kept) -> None:
    other = store.new_job("Whistle", 6)
    from gaugewright.store.changes import Change

    store.edit(kept.id, Change("title", kept.tables["title"], "Tick"), kept.version)
    lines = store.jobs()
    assert [line.title for line in lines] == ["Tick", "Whistle"]
    assert lines[0].vehicle == "light van"
    assert lines[0].version == 2
    assert lines[1].id == other.id
    changed = dt.datetime.fromisoformat(lines[0].changed)
    assert abs(dt.datetime.now(dt.UTC) - changed) < dt.timedelta(minutes=5)
    for line in lines:
        assert tuple(line.parts) == PARTS
        assert set(line.parts.values()) <= set(STATES)


def test_a_job_put_away_comes_back_whole(store: Store, kept: Kept) -> None:
    store.set_aside(kept.id)
    assert store.jobs() == ()
    assert [line.id for line in store.jobs(set_aside=True)] == [kept.id]
    assert store.job(kept.id).set_aside
    store.bring_back(kept.id)
    assert store.job(kept.id) == kept
    assert [line.id for line in store.jobs()] == [kept.id]
