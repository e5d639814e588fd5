"""What the workshop keeps beside its jobs: sensor cards, loggers' layouts, devices."""

from __future__ import annotations

import pytest

from gaugewright.errors import EditedElsewhere, InputError
from gaugewright.store.layouts import signature
from gaugewright.store.lines import Kept
from gaugewright.store.store import Store

SENSOR = {
    "name": "oil transducer",
    "points": [["0.5 V", "0 bar"], ["4.5 V", "10 bar"]],
    "accuracy": "50 mbar",
}


def test_a_card_is_kept_and_copied_into_a_job(store: Store, kept: Kept) -> None:
    card = store.cards.save(SENSOR)
    assert (card.version, card.name, card.sensor) == (1, "oil transducer", SENSOR)
    assert store.cards.all() == (card,)
    after = store.edit(kept.id, store.cards.into_job(card.id, kept.tables), 1)
    assert after.tables["sensor"] == [SENSOR]
    again = store.edit(kept.id, store.cards.into_job(card.id, after.tables), 2)
    assert [s["name"] for s in again.tables["sensor"]] == ["oil transducer", "oil transducer 2"]


def test_a_card_is_saved_over_the_version_that_was_seen(store: Store) -> None:
    card = store.cards.save(SENSOR)
    after = store.cards.save({**SENSOR, "supply": "5 V"}, card.id, 1)
    assert after.version == 2
    with pytest.raises(EditedElsewhere):
        store.cards.save(SENSOR, card.id, 1)
    assert store.cards.card(card.id) == after


def test_a_card_may_wait_for_its_points_but_hold_nothing_wrong(store: Store) -> None:
    assert store.cards.save({"name": "new"}).sensor == {"name": "new"}
    for wrong, said in (
        ({"points": []}, "it has no name"),
        ({**SENSOR, "accuracy": "50 kg"}, "50 kg"),
        ({**SENSOR, "points": [["0.5 V", "0 bar"]]}, "point"),
        ({**SENSOR, "colour": "red"}, "not known"),
    ):
        with pytest.raises(InputError, match=said):
            store.cards.save(wrong)
    with pytest.raises(InputError, match="no sensor card of this id"):
        store.cards.card("nothing")
    assert len(store.cards.all()) == 1


def test_a_card_put_away_comes_back(store: Store) -> None:
    card = store.cards.save(SENSOR)
    store.cards.set_aside(card.id)
    assert store.cards.all() == ()
    assert [c.id for c in store.cards.all(set_aside=True)] == [card.id]
    store.cards.set_aside(card.id, False)
    assert store.cards.all() == (card,)


def test_a_loggers_layout_is_known_by_its_header(store: Store) -> None:
    mapping = {"time": "t", "signal": [{"column": "ch1", "quantity": "oil-pressure"}]}
    store.layouts.remember(["t", "Ch1", "ch 2"], mapping, "the old logger")
    found = store.layouts.recall(["T", "ch1 ", "Ch  2"])
    assert found is not None
    assert (found.name, found.mapping) == ("the old logger", mapping)
    assert store.layouts.recall(["t", "ch1"]) is None
    assert store.layouts.recall(["ch1", "t", "ch 2"]) is None
    store.layouts.remember(["t", "Ch1", "ch 2"], {"rate": "1 kHz"})
    assert [layout.mapping for layout in store.layouts.all()] == [{"rate": "1 kHz"}]


def test_a_signature_tells_columns_apart_whatever_is_in_their_names() -> None:
    assert signature(["a", "b"]) != signature(['a", "b'])
    assert signature([]) != signature([""])


def test_a_device_is_let_in_and_out(store: Store) -> None:
    store.devices.add("a" * 64, "tablet")
    store.devices.add("b" * 64, "laptop")
    assert store.devices.known("a" * 64)
    assert not store.devices.known("c" * 64)
    assert [device.name for device in store.devices.all()] == ["tablet", "laptop"]
    store.devices.let_out("a" * 64)
    assert not store.devices.known("a" * 64)
    assert [device.name for device in store.devices.all()] == ["laptop"]
