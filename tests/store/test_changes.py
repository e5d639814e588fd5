"""Places and changes of a document, without any database."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from gaugewright.errors import EditedElsewhere, InputError
from gaugewright.store.changes import (
    Change,
    Move,
    at,
    carried_out,
    inverse,
    move_of,
    path_of,
    plain,
)

TABLES: dict[str, Any] = {
    "title": "Tick",
    "vehicle": {"cylinders": 4, "firing_order": [1, 3, 4, 2]},
    "limit": [{"name": "hot idle", "min": "0.9 bar"}, {"name": "fast", "min": "3 bar"}],
}


def done(place: str, old: object = None, new: object = None, insert: bool = False) -> Any:
    change = Change(place, old, new, insert)
    return carried_out(TABLES, [move_of(change, path_of(place), TABLES)])


def test_a_key_is_set_changed_and_removed() -> None:
    assert done("title", "Tick", "Knock")["title"] == "Knock"
    assert done("vehicle.name", None, "van")["vehicle"]["name"] == "van"
    assert "title" not in done("title", "Tick", None)
    assert TABLES["title"] == "Tick"


def test_a_table_is_made_for_its_first_key_and_goes_with_its_last() -> None:
    made = done("place.altitude", None, "310 m")
    assert made["place"] == {"altitude": "310 m"}
    move = Move("put", ("place", "altitude"), "310 m", None)
    assert carried_out(made, [move]) == TABLES


def test_items_are_appended_put_in_and_taken_out() -> None:
    new = {"name": "cold"}
    assert [x["name"] for x in done("limit.-", None, new)["limit"]] == ["hot idle", "fast", "cold"]
    assert [x["name"] for x in done("limit.1", None, new, True)["limit"]] == [
        "hot idle",
        "cold",
        "fast",
    ]
    assert [x["name"] for x in done("limit.0", TABLES["limit"][0])["limit"]] == ["fast"]
    assert done("sensor.-", None, new)["sensor"] == [new]
    assert done("vehicle.firing_order.-", None, 5)["vehicle"]["firing_order"] == [1, 3, 4, 2, 5]


def test_something_else_at_the_place_is_told_with_what_it_is() -> None:
    with pytest.raises(EditedElsewhere) as caught:
        done("limit.0.min", "1 bar", "2 bar")
    assert caught.value.now == "0.9 bar"
    assert caught.value.place == "limit.0.min"
    assert str(caught.value) == (
        'job.toml, limit.0.min: it was changed elsewhere meanwhile: "0.9 bar" stands there now; '
        "look at it and change it again."
    )


@pytest.mark.parametrize(
    "place",
    [
        "limit.7.min",
        "limit.7",
        "limit.2",
        "title.x",
        "title.0",
        "limit.x",
        "vehicle.-",
        "sensor.0.name",
    ],
)
def test_a_place_that_cannot_be_is_refused(place: str) -> None:
    with pytest.raises(InputError, match="there is no such place in the job"):
        done(place, None, "x")


@pytest.mark.parametrize(
    "value",
    [{"a b": 1}, [None], "\x00", "\ud800", 2**70, {"x": [[[[[[[[[1]]]]]]]]]}, {1, 2}, float("nan")],
)
def test_a_value_that_no_toml_can_hold_is_refused(value: object) -> None:
    with pytest.raises(InputError, match="a value that cannot be kept"):
        done("vehicle.name", None, value)


def test_keys_that_hold_nothing_are_left_out() -> None:
    assert done("place", None, {"altitude": "3 m", "barometer": None})["place"] == {
        "altitude": "3 m"
    }


def test_the_opposite_takes_back() -> None:
    moves = [
        move_of(Change("limit.0", TABLES["limit"][0]), ("limit", 0), TABLES),
        Move("put", ("limit", 0, "min"), "3 bar", "4 bar"),
        Move("insert", ("sensor", 0), None, {"name": "x"}),
    ]
    after = carried_out(TABLES, moves)
    assert carried_out(after, inverse(moves)) == TABLES


def test_dates_are_texts_and_nothing_stands_where_nothing_is() -> None:
    assert plain({"date": dt.date(2031, 3, 4), "list": (1,)}) == {"date": "2031-03-04", "list": [1]}
    assert at(TABLES, ("limit", 5)) is None
    assert at(TABLES, ("title", "x")) is None
    assert at(TABLES, ()) == TABLES
