"""Why testing ends: to put a cause right, or because there is none on the list to put right."""

from __future__ import annotations

import pytest

from gaugewright.causes.catalogue import FAULTS
from gaugewright.causes.next_test import DONE, end_of


@pytest.mark.parametrize("fault", FAULTS)
def test_a_settled_fault_is_put_right(fault: str) -> None:
    assert end_of((fault,)) == DONE


def test_two_settled_faults_are_put_right() -> None:
    assert end_of(("oil-level-low", "worn-bearings")) == DONE


def test_what_is_not_on_the_list_cannot_be_put_right() -> None:
    said = end_of(("none-of-these",))
    assert "put it right" not in said
    assert "look for what the list lacks" in said


def test_nothing_found_acquits_nothing() -> None:
    said = end_of(("nothing-wrong",))
    assert "put it right" not in said
    assert "rules none out" in said
