"""The workshop's sensor cards: sensors that are kept beside the jobs and copied into them."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Engine, Row, select

from gaugewright.errors import EditedElsewhere, InputError, Problem
from gaugewright.job.dump import toml_of
from gaugewright.store.changes import Change, cleaned
from gaugewright.store.database import reading, writing
from gaugewright.store.looks import look
from gaugewright.store.rows import now
from gaugewright.store.schema import cards

STAND_IN = {
    "format": 1,
    "title": "a sensor card",
    "vehicle": {"cylinders": 4, "cycle": "four-stroke"},
}


@dataclass(frozen=True)
class Card:
    """A sensor card: `sensor` holds the keys of a [[sensor]]; `version` rises with each save."""

    id: str
    version: int
    name: str
    sensor: Mapping[str, Any]
    changed: str
    set_aside: bool = False


@dataclass(frozen=True)
class Cards:
    """The sensor cards of a store."""

    engine: Engine

    def all(self, set_aside: bool = False) -> tuple[Card, ...]:
        """The cards by name; with `set_aside`, those put away."""
        query = select(cards).where(cards.c.set_aside == set_aside).order_by(cards.c.name)
        with reading(self.engine) as connection:
            return tuple(_card(row) for row in connection.execute(query))

    def card(self, card: str) -> Card:
        """One card.  Raises InputError where there is none of this id."""
        with reading(self.engine) as connection:
            return _card(_row(connection, card))

    def save(self, sensor: Mapping[str, Any], card: str | None = None, based_on: int = 0) -> Card:
        """Keep a sensor as a new card, or as the next version of one.

        Raises InputError for a value that is wrong (no points yet are no reason), and
        EditedElsewhere when the card is no longer at version `based_on`.
        """
        kept = cleaned(sensor, "sensor")
        _refuse_wrong(kept)
        line: dict[str, Any] = {
            "name": str(kept["name"]),
            "card": json.dumps(kept),
            "changed": now(),
        }
        with writing(self.engine) as connection:
            if card is None:
                card = uuid.uuid4().hex
                line |= {"id": card, "version": 1, "set_aside": False}
                connection.execute(cards.insert().values(**line))
            else:
                row = _row(connection, card, write=True)
                if row.version != based_on:
                    raise EditedElsewhere("sensor", row.name, row.version)
                change = cards.update().where(cards.c.id == card)
                connection.execute(change.values(version=row.version + 1, **line))
        return self.card(card)

    def set_aside(self, card: str, aside: bool = True) -> None:
        """Put a card away, or back with `aside` False; nothing is deleted."""
        with writing(self.engine) as connection:
            _row(connection, card, write=True)
            change = cards.update().where(cards.c.id == card)
            connection.execute(change.values(set_aside=aside))

    def into_job(self, card: str, tables: Mapping[str, Any]) -> Change:
        """The change that copies a card into a job with these tables, as its own [[sensor]].

        A sensor of the same name in the job is not replaced: the copy gets a number.
        """
        sensor = dict(self.card(card).sensor)
        taken = {other.get("name") for other in tables.get("sensor") or []}
        name, number = sensor["name"], 2
        while sensor["name"] in taken:
            sensor["name"], number = f"{name} {number}", number + 1
        return Change("sensor.-", None, sensor)


def _card(row: Row[Any]) -> Card:
    sensor = json.loads(row.card)
    return Card(row.id, row.version, row.name, sensor, row.changed, row.set_aside)


def _row(connection: Connection, card: str, write: bool = False) -> Row[Any]:
    query = select(cards).where(cards.c.id == card)
    row = connection.execute(query.with_for_update() if write else query).first()
    if row is None:
        found = "no sensor card of this id is kept"
        raise InputError(Problem(f"sensor card {card}", "", found, "open the list of sensors"))
    return row


def _refuse_wrong(sensor: Mapping[str, Any]) -> None:
    name = sensor.get("name")
    if not isinstance(name, str) or not name.strip():
        raise InputError(Problem("sensor card", "name", "it has no name", "give it one"))
    found = look(toml_of({**STAND_IN, "sensor": [dict(sensor)]}))
    missing_points = "points" not in sensor
    wrong = [
        problem
        for problem in found.problems
        if problem.path[:1] == ("sensor",) and not (missing_points and len(problem.path) == 2)
    ]
    if wrong:
        raise InputError(wrong)
