"""Every screen, in light and in the dim bay: no violation of axe's rules."""

from __future__ import annotations

from typing import Any

import pytest
from tests.web.screens import SCREENS, opened

RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],  # no list of what passes
}


def violations(page: Any) -> list[str]:
    from axe_core_python.sync_playwright import Axe

    found = Axe().run(page, options=RULES)["violations"]
    return [f"{v['id']}: {v['help']} at {node['target']}" for v in found for node in v["nodes"][:3]]


@pytest.mark.slow
@pytest.mark.parametrize("look", ["light", "dim"])
@pytest.mark.parametrize("screen", SCREENS)
def test_no_screen_violates_a_rule(
    chromium: Any, running: Any, demo: str, screen: str, look: str
) -> None:
    with opened(chromium, running, demo, screen, look, (1024, 768)) as page:
        assert violations(page) == []


@pytest.mark.slow
def test_the_rules_can_fail(page: Any, running: Any) -> None:
    page.goto(running.address + "/new")
    page.evaluate("document.querySelector('label[for=title]').remove()")
    assert any(said.startswith("label:") for said in violations(page))
