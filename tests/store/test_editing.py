"""Edits: one step of undo each, merged with others, never over them."""

from __future__ import annotations

import random
from typing import Any

import pytest

from gaugewright.errors import EditedElsewhere, InputError
from gaugewright.store.changes import Change, plain
from gaugewright.store.lines import Kept
from gaugewright.store.store import Store

LIMIT = {"name": "hot idle", "quantity": "oil-pressure", "min": "0.9 bar"}
FAST = {"name": "fast", "quantity": "oil-pressure", "min": "3 bar"}


def limits(kept: Kept) -> list[tuple[str, str]]:
    return [(limit["name"], limit["min"]) for limit in kept.tables.get("limit", [])]


def test_an_edit_is_kept_with_who_made_it(store: Store, kept: Kept) -> None:
    after = store.edit(kept.id, Change("limit.-", None, LIMIT), 1, "bay 2", "a limit")
    assert after.version == 2
    assert limits(after) == [("hot idle", "0.9 bar")]
    assert store.job(kept.id) == after
    line = store.history(kept.id)[0]
    assert (line.version, line.kind, line.what, line.device) == (2, "edit", "a limit", "bay 2")
    assert line.places == ("limit.0",)
    assert [old.kind for old in store.history(kept.id)] == ["edit", "new"]


def test_several_changes_are_one_edit(store: Store, kept: Kept) -> None:
    changes = [Change("limit.-", None, LIMIT), Change("limit.0.source", None, "manual")]
    after = store.edit(kept.id, changes, 1)
    assert (after.version, after.tables["limit"][0]["source"]) == (2, "manual")
    assert "limit" not in store.undo(kept.id, 2).tables


def test_edits_at_other_places_merge(store: Store, kept: Kept) -> None:
    store.edit(kept.id, [Change("limit.-", None, LIMIT), Change("limit.-", None, FAST)], 1)
    store.edit(kept.id, Change("limit.0", None, {**LIMIT, "name": "cold"}, insert=True), 2, "bay 1")
    store.edit(kept.id, Change("limit.1.min", "3 bar", "3.2 bar"), 2, "bay 2")
    after = store.edit(kept.id, Change("title", "Tick at hot idle", "Tick"), 2, "bay 3")
    assert limits(after) == [("cold", "0.9 bar"), ("hot idle", "0.9 bar"), ("fast", "3.2 bar")]
    assert after.tables["title"] == "Tick"


def test_the_very_place_is_never_written_over(store: Store, kept: Kept) -> None:
    store.edit(kept.id, Change("limit.-", None, LIMIT), 1)
    store.edit(kept.id, Change("limit.0.min", "0.9 bar", "13 psi"), 2, "bay 1")
    with pytest.raises(EditedElsewhere) as caught:
        store.edit(kept.id, Change("limit.0.min", "0.9 bar", "1 bar"), 2, "bay 2")
    error = caught.value
    assert (error.now, error.version, error.device) == ("13 psi", 3, "bay 1")
    assert 'changed elsewhere meanwhile on bay 1: "13 psi" stands there now' in str(error)
    assert store.version(kept.id) == 3
    store.edit(kept.id, Change("limit.0", store.job(kept.id).tables["limit"][0]), 3, "bay 1")
    with pytest.raises(EditedElsewhere, match="nothing stands there now"):
        store.edit(kept.id, Change("limit.0.min", "13 psi", "1 bar"), 3, "bay 2")


def test_the_same_value_from_two_devices_is_no_quarrel(store: Store, kept: Kept) -> None:
    store.edit(kept.id, Change("title", "Tick at hot idle", "Tick"), 1, "bay 1")
    after = store.edit(kept.id, Change("title", "Tick", "Tick"), 2, "bay 2")
    assert after.version == 2


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (Change("limit.0.min", "0.9 bar", "1 bra"), 'found "1 bra", whose unit "bra"'),
        (Change("limit.0.min", "0.9 bar", "-35 degC"), "a temperature where a pressure is"),
        (Change("limit.0.mni", None, "1 bar"), 'found the key "mni", which is not known'),
        (Change("limit.0.name", "hot idle", None), None),
        (Change("vehicle.cylinders", 4, "four"), "a whole number"),
        (Change("vehicle.wheels", None, {"front": 2}), "not known"),
        (Change("place", None, "here"), "where a table belongs"),
        (Change("switch", None, {"name": "low"}), "double brackets"),
        (Change("limit.-", None, LIMIT), 'the name "hot idle" is given to 2 limits'),
        (Change("complaint.codes", None, ["X17"]), "no trouble code"),
        (Change("id", None, "mine"), 'found the place "id"'),
        (Change("format", 1, 2), 'found the place "format"'),
        (Change("limit..min", None, "1 bar"), 'found the place "limit..min"'),
        (Change("0", None, "1 bar"), 'found the place "0"'),
        (Change("limit.-.min", None, "1 bar"), 'found the place "limit.-.min"'),
    ],
)
def test_a_wrong_value_is_refused_beside_its_field(
    store: Store, kept: Kept, change: Change, said: str | None
) -> None:
    before = store.edit(kept.id, Change("limit.-", None, LIMIT), 1)
    if said is None:  # what is only missing is kept so, and told
        after = store.edit(kept.id, change, 2)
        assert 'the key "name" is missing' in after.problems[0].found
        return
    with pytest.raises(InputError, match=said) as caught:
        store.edit(kept.id, change, 2)
    if caught.value.problems[0].path:
        assert ".".join(str(s) for s in caught.value.problems[0].path).startswith(
            change.place.replace("-", "1")
        )
    assert store.job(kept.id) == before


def test_words_of_the_history_are_made_fit_to_keep(store: Store, kept: Kept) -> None:
    store.edit(kept.id, Change("title", "Tick at hot idle", "T"), 1, "bay\x00\ud8001", "a\nb" * 99)
    line = store.history(kept.id)[0]
    assert line.device == "bay  1"
    assert len(line.what) <= 200
    assert "\n" not in line.what


def test_a_document_does_not_grow_without_end(store: Store, kept: Kept) -> None:
    with pytest.raises(InputError, match="keep long texts in files of their own"):
        store.edit(kept.id, Change("complaint.text", "ticks when hot", "x" * 1_000_001), 1)


def test_what_is_missing_elsewhere_stands_in_no_ones_way(store: Store, kept: Kept) -> None:
    after = store.edit(kept.id, Change("sensor.-", None, {"name": "transducer"}), 1)
    after = store.edit(kept.id, Change("place.altitude", None, "310 m"), after.version)
    assert [p.path for p in after.problems][:1] == [("sensor", 0)]
    assert after.model.place.altitude is not None


def test_undo_and_redo_walk_the_edits_back_and_forth(store: Store, kept: Kept) -> None:
    seen = [plain(kept.tables)]
    for value in ("a", "b", "c"):
        now = store.job(kept.id)
        title = now.tables["title"]
        seen.append(plain(store.edit(kept.id, Change("title", title, value), now.version).tables))
    for back in (2, 1, 0):
        assert store.undo(kept.id, store.version(kept.id)).tables == seen[back]
    with pytest.raises(InputError, match="there is nothing to undo"):
        store.undo(kept.id, store.version(kept.id))
    for forth in (1, 2):
        assert store.redo(kept.id, store.version(kept.id)).tables == seen[forth]
    assert store.undo(kept.id, store.version(kept.id)).tables == seen[1]
    assert store.redo(kept.id).tables == seen[2]
    store.edit(kept.id, Change("title", "b", "new"), store.version(kept.id))
    with pytest.raises(InputError, match="there is nothing to redo"):
        store.redo(kept.id)
    stands = {line.version: line.stands for line in store.history(kept.id) if line.kind == "edit"}
    assert stands == {2: True, 3: True, 4: False, 12: True}


def test_a_way_back_and_a_way_on_are_told_where_there_are_any(store: Store, kept: Kept) -> None:
    """What is told is what undo and redo then do."""
    assert store.ways(kept.id) == (False, False)
    with pytest.raises(InputError):
        store.undo(kept.id, 1)
    store.edit(kept.id, Change("limit.-", None, LIMIT), 1)
    assert store.ways(kept.id) == (True, False)
    store.undo(kept.id, 2)
    assert store.ways(kept.id) == (False, True)
    store.redo(kept.id)
    assert store.ways(kept.id) == (True, False)
    store.undo(kept.id, 4)
    store.edit(kept.id, Change("limit.-", None, FAST), 5)
    assert store.ways(kept.id) == (True, False)
    with pytest.raises(InputError):
        store.redo(kept.id)


def test_undo_takes_back_what_was_seen_not_what_came_since(store: Store, kept: Kept) -> None:
    store.edit(kept.id, Change("limit.-", None, LIMIT), 1, "bay 1")
    store.edit(kept.id, Change("title", "Tick at hot idle", "Tick"), 2, "bay 2")
    after = store.undo(kept.id, 2, "bay 1")
    assert "limit" not in after.tables
    assert after.tables["title"] == "Tick"


def test_undo_never_takes_what_was_built_on_it(store: Store, kept: Kept) -> None:
    store.edit(kept.id, Change("limit.-", None, LIMIT), 1, "bay 1")
    store.edit(kept.id, Change("limit.0.source", None, "manual"), 2, "bay 2")
    with pytest.raises(EditedElsewhere) as caught:
        store.undo(kept.id, 2, "bay 1")
    assert caught.value.now == {**LIMIT, "source": "manual"}
    assert store.version(kept.id) == 3


def test_any_edit_of_the_history_can_be_taken_back(store: Store, kept: Kept) -> None:
    store.edit(kept.id, Change("limit.-", None, LIMIT), 1)
    store.edit(kept.id, Change("limit.-", None, FAST), 2)
    store.edit(kept.id, Change("limit.0.min", "0.9 bar", "1 bar"), 3)
    after = store.take_back(kept.id, 3)
    assert limits(after) == [("hot idle", "1 bar")]
    assert limits(store.redo(kept.id)) == [("hot idle", "1 bar"), ("fast", "3 bar")]
    for version in (1, 5, 99):
        with pytest.raises(InputError, match="is no edit that can be taken back"):
            store.take_back(kept.id, version)


def test_a_taken_item_comes_back_under_what_was_done_to_it(store: Store, kept: Kept) -> None:
    """Edit, remove, undo the removal: the edit before it can still be taken back."""
    store.edit(kept.id, [Change("limit.-", None, LIMIT), Change("limit.-", None, FAST)], 1)
    store.edit(kept.id, Change("limit.1.min", "3 bar", "4 bar"), 2)
    store.edit(kept.id, Change("limit.1", {**FAST, "min": "4 bar"}), 3)
    with pytest.raises(EditedElsewhere):
        store.take_back(kept.id, 3)
    store.edit(kept.id, Change("limit.0", None, {**LIMIT, "name": "cold"}, insert=True), 4)
    store.take_back(kept.id, 4)
    assert limits(store.take_back(kept.id, 3))[-1] == ("fast", "3 bar")


def test_news_reach_those_who_wait(store: Store, kept: Kept) -> None:
    assert store.changes_since(kept.id, 1) == ()
    store.edit(kept.id, Change("title", "Tick at hot idle", "Tick"), 1)
    assert [line.version for line in store.changes_since(kept.id, 1, 5.0)] == [2]
    assert [line.version for line in store.changes_since(kept.id, 0)] == [1, 2]


@pytest.mark.parametrize("seed", range(6))
def test_whatever_is_done_can_be_undone_to_the_start(lite: Store, seed: int) -> None:
    """Random edits, undos, redos and takings back; then undo until nothing is left."""
    chance = random.Random(seed)
    kept = lite.new_job("Start", 4)
    start = plain(kept.tables)
    for number in range(60):
        kept = _anything(lite, kept, chance, number)
        assert lite.job(kept.id).tables == kept.tables
    while any(line.kind == "edit" and line.stands for line in lite.history(kept.id)):
        kept = lite.undo(kept.id, kept.version)
    assert kept.tables == start


def _anything(store: Store, kept: Kept, chance: random.Random, number: int) -> Kept:
    kind = chance.choice(["add", "add", "put", "put", "take", "undo", "redo", "back"])
    items: list[Any] = kept.tables.get("limit", [])
    try:
        if kind == "undo":
            return store.undo(kept.id, kept.version)
        if kind == "redo":
            return store.redo(kept.id)
        if kind == "back":
            return store.take_back(kept.id, chance.randint(1, kept.version))
        if kind == "add" or not items:
            new = {**LIMIT, "name": f"n{number}"}
            place = f"limit.{chance.randint(0, len(items))}"
            return store.edit(kept.id, Change(place, None, new, insert=bool(items)), kept.version)
        where = chance.randrange(len(items))
        if kind == "take":
            return store.edit(kept.id, Change(f"limit.{where}", items[where]), kept.version)
        old = items[where]["min"]
        change = Change(f"limit.{where}.min", old, f"{number + 1} kPa")
        return store.edit(kept.id, change, kept.version)
    except (InputError, EditedElsewhere):
        return kept
