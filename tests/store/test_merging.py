"""Where a place of an earlier version is now, against items that are known by their names."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from gaugewright.errors import EditedElsewhere
from gaugewright.store.changes import Change, Move, carried_out, inverse, plain
from gaugewright.store.editing import _moves
from gaugewright.store.merging import Step, carried

INSERT = Move("insert", ("limit", 1), None, {"name": "new"})
TAKE = Move("take", ("limit", 1), {"name": "old"}, None)


def test_items_before_move_a_path_and_items_behind_do_not() -> None:
    assert carried(("limit", 2, "min"), [Step(2, (INSERT,))]) == ("limit", 3, "min")
    assert carried(("limit", 0, "min"), [Step(2, (INSERT,))]) == ("limit", 0, "min")
    assert carried(("limit", 2, "min"), [Step(2, (TAKE,))]) == ("limit", 1, "min")
    assert carried(("limit", 0, "min"), [Step(2, (TAKE,))]) == ("limit", 0, "min")
    assert carried(("switch", 2), [Step(2, (TAKE, INSERT))]) == ("switch", 2)
    assert carried(("limit", "-"), [Step(2, (TAKE,))]) == ("limit", "-")


def test_what_was_taken_is_gone_until_its_own_undo() -> None:
    taken = Step(2, (TAKE,))
    assert carried(("limit", 1, "min"), [taken]) is None
    assert carried(("limit", 1, "min"), [taken, Step(3, (INSERT,))]) is None
    back = Step(2, inverse((TAKE,)))
    assert carried(("limit", 1, "min"), [taken, back]) == ("limit", 1, "min")
    moved = Step(2, (Move("insert", ("limit", 4), None, {"name": "old"}),))
    assert carried(("limit", 1, "min"), [taken, Step(3, (INSERT,)), moved]) == ("limit", 4, "min")


def test_lists_within_lists() -> None:
    steps = [Step(2, (Move("take", ("recording", 0), {}, None),))]
    assert carried(("recording", 1, "condition", 3), steps) == ("recording", 0, "condition", 3)
    inner = [Step(2, (Move("take", ("recording", 1, "condition", 0), {}, None),))]
    assert carried(("recording", 1, "condition", 3), inner) == ("recording", 1, "condition", 2)
    assert carried(("recording", 0, "condition", 3), inner) == ("recording", 0, "condition", 3)


@dataclass
class Two:
    """What is kept, its history, and what a page that looked at an earlier version knows."""

    now: dict[str, Any]
    steps: list[Step] = field(default_factory=list)
    looked: dict[str, Any] = field(default_factory=dict)
    names: int = 10

    def names_in(self, tables: dict[str, Any]) -> list[str]:
        return [item["name"] for item in tables.get("limit", [])]

    def do(self, moves: list[Move]) -> None:
        self.now = carried_out(self.now, moves)
        self.steps.append(Step(len(self.steps) + 2, tuple(moves)))

    def meanwhile(self, kind: str, place: int) -> None:
        """Another device puts an item in, takes one out, or changes one."""
        count = len(self.now.get("limit", []))
        if kind == "insert" or not count:
            self.names += 1
            item = {"name": f"n{self.names}", "min": "0"}
            self.do([Move("insert", ("limit", place % (count + 1)), None, item)])
        elif kind == "take":
            where = place % count
            self.do([Move("take", ("limit", where), self.now["limit"][where], None)])
        else:
            where = place % count
            before = self.now["limit"][where]["min"]
            self.do([Move("put", ("limit", where, "min"), before, f"{before}+")])


MEANWHILE = st.lists(st.tuples(st.sampled_from(["insert", "take", "put"]), st.integers(0, 9)))
MINE = st.lists(
    st.tuples(st.sampled_from(["insert", "take", "put"]), st.integers(0, 9)), min_size=1, max_size=4
)


@settings(max_examples=400, deadline=None)
@given(MEANWHILE, MINE)
def test_a_stale_edit_reaches_the_items_it_meant_or_is_refused(
    meanwhile: list[tuple[str, int]], mine: list[tuple[str, int]]
) -> None:
    """The oracle knows every item by its name; the code under test only by its number."""
    start = {"limit": [{"name": f"n{k}", "min": "0"} for k in range(4)]}
    both = Two(plain(start), looked=plain(start))
    for kind, place in meanwhile:
        both.meanwhile(kind, place)
    others = plain(both.now)
    changes, meant, refused = _mine(mine, plain(start), others)
    try:
        moves = _moves(changes, plain(both.now), both.steps)
    except EditedElsewhere:
        assert refused
        return
    assert not refused
    after = {item["name"]: item for item in carried_out(both.now, moves).get("limit", [])}
    assert after == meant


def _mine(
    mine: list[tuple[str, int]], seen: dict[str, Any], others: dict[str, Any]
) -> tuple[list[Change], dict[str, Any], bool]:
    """My changes on what I saw, what all of it should come to by name, and whether it clashes."""
    changes: list[Change] = []
    meant = {item["name"]: dict(item) for item in others.get("limit", [])}
    refused, fresh = False, 0
    for kind, place in mine:
        items = seen["limit"]
        if kind == "insert" or not items:
            fresh += 1
            where, item = place % (len(items) + 1), {"name": f"mine{fresh}", "min": "0"}
            changes.append(Change(f"limit.{where}", None, item, insert=True))
            items.insert(where, dict(item))
            meant[item["name"]] = dict(item)
            continue
        where = place % len(items)
        item = items[where]
        theirs = meant.get(item["name"])
        if kind == "take":
            changes.append(Change(f"limit.{where}", dict(item), None))
            refused |= theirs != item
            meant.pop(item["name"], None)
            del items[where]
        else:
            new = f"{item['min']}*"
            changes.append(Change(f"limit.{where}.min", item["min"], new))
            refused |= theirs is None or theirs["min"] != item["min"]
            if theirs is not None:
                theirs["min"] = new
            item["min"] = new
    return changes, meant, refused
