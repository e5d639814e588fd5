"""Sentences that remember what they were made from."""

from __future__ import annotations

import copy
import json
import pickle

import numpy as np

from gaugewright.quantities.said import Said, joined, packed, said, unpacked


def test_it_is_the_sentence_itself() -> None:
    made = said("{n} rows, every {gap:.2g} s", n=3, gap=0.1234)
    assert made == "3 rows, every 0.12 s"
    assert json.dumps(made) == '"3 rows, every 0.12 s"'
    assert (made.pattern, made.fill["n"]) == ("{n} rows, every {gap:.2g} s", 3)


def test_a_copy_remembers_too() -> None:
    made = said("{who} left out", who=said("{count} rows", count=2))
    for other in (copy.deepcopy(made), pickle.loads(pickle.dumps(made))):
        assert other == made == "2 rows left out"
        assert other.pattern == made.pattern
        assert other.fill["who"].pattern == "{count} rows"


def test_it_goes_through_a_file_with_its_figures() -> None:
    made = said("{who} by {size:.1f}", who=said("{count} rows", count=np.int64(2)), size=0.25)
    back = unpacked(json.loads(json.dumps(packed(made))))
    assert isinstance(back, Said)
    assert (back, back.pattern) == (made, made.pattern)
    assert back.fill["who"].pattern == "{count} rows"
    assert unpacked(json.loads(json.dumps(packed("as it stands")))) == "as it stands"


def test_several_in_a_row() -> None:
    row = joined([said("{n} rows", n=1), "a name {with} braces"])
    assert row == "1 rows, a name {with} braces"
    assert row.fill["part0"].pattern == "{n} rows"
    assert joined([]) == ""
