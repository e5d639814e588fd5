"""NOTICE names every package that is shipped with, and each licence is one we may use."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
_spec = importlib.util.spec_from_file_location("notice", HERE / "notice.py")
assert _spec is not None
assert _spec.loader is not None
notice = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(notice)


def test_notice_is_not_stale() -> None:
    assert (ROOT / "NOTICE").read_text(encoding="utf-8") == notice.notice()


@pytest.mark.parametrize("name", [name for name, _ in notice.pins()])
def test_each_licence_is_permitted(name: str) -> None:
    assert notice.permitted(notice.licence(name)), notice.licence(name)


@pytest.mark.parametrize(
    ("stated", "may"),
    [
        ("MIT", True),
        ("Apache-2.0 OR GPL-3.0-only", True),
        ("BSD-3-Clause AND MIT", True),
        ("GPL-3.0-or-later", False),
        ("BSD-3-Clause AND GPL-3.0-only", False),
        ("AGPL-3.0", False),
        ("", False),
        ("Proprietary", False),
    ],
)
def test_what_is_permitted(stated: str, may: bool) -> None:
    assert notice.permitted(stated) is may


def test_the_licence_is_apache_2_in_full() -> None:
    text = (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert text.lstrip().startswith("Apache License\n                           Version 2.0")
    assert "END OF TERMS AND CONDITIONS" in text
