"""Everything by keyboard alone, and always a sign of where it is."""

from __future__ import annotations

from typing import Any

import pytest
from tests.web.screens import until, wait_for

FOCUSED = "document.activeElement.id || document.activeElement.textContent.trim()"


def tab_to(page: Any, wanted: str, most: int = 80) -> None:
    for _ in range(most):
        page.keyboard.press("Tab")
        if wanted in page.evaluate(FOCUSED):
            return
    raise AssertionError(f"the tab key never came to {wanted}")


@pytest.mark.slow
def test_a_new_job_and_its_first_limit_without_a_mouse(page: Any, running: Any) -> None:
    page.goto(running.address)
    tab_to(page, "New job")
    page.keyboard.press("Enter")
    page.wait_for_url("**/new")
    until(page, "document.activeElement.id === 'title'")
    page.keyboard.type("Oil lamp at hot idle")
    page.keyboard.press("Tab")
    page.keyboard.type("It comes on at the lights.")
    page.keyboard.press("Control+Enter")
    wait_for(page, "#sheet")
    tab_to(page, "Add a limit")
    page.keyboard.press("Enter")
    assert page.evaluate(FOCUSED) == "n-limit-name"
    page.keyboard.type("hot idle")
    tab_to(page, "n-limit-min")
    page.keyboard.type("16 psi")
    page.keyboard.press("Enter")
    until(page, "!!document.querySelector('#limits table')")
    assert "110" in page.inner_text("#limits table")
    assert "Add a limit" in page.evaluate(FOCUSED)


@pytest.mark.slow
def test_an_error_is_said_beside_its_field_and_escape_gives_up(page: Any, running: Any) -> None:
    job = running.post("/api/jobs", {"title": "x", "oil_grade": "5W-30"}).json()["id"]
    page.goto(f"{running.address}/jobs/{job}")
    tab_to(page, "Change")
    page.keyboard.press("Enter")
    page.focus('[data-place="vehicle.oil_grade"]')
    page.keyboard.press("Control+A")
    page.keyboard.type("thick")
    page.keyboard.press("Enter")
    wrong = page.locator("#f-vehicle-oil-grade-wrong")
    wrong.wait_for(state="visible", timeout=120_000)
    assert 'Found "thick", which is no oil grade' in wrong.inner_text()
    field = page.locator('[data-place="vehicle.oil_grade"]')
    assert field.get_attribute("aria-invalid") == "true"
    page.keyboard.press("Escape")
    assert field.input_value() == "5W-30"
    assert wrong.is_hidden()


@pytest.mark.slow
def test_the_focus_is_seen(page: Any, running: Any) -> None:
    page.goto(running.address)
    for _ in range(8):
        page.keyboard.press("Tab")
        style = "getComputedStyle(document.activeElement).outlineStyle"
        assert page.evaluate(style) == "solid"


@pytest.mark.slow
def test_undo_by_keyboard(page: Any, running: Any) -> None:
    made = running.post("/api/jobs", {"title": "Undo me"}).json()
    place = {"place": "title", "old_text": "Undo me", "new": "Done", "based_on": made["version"]}
    running.post(f"/api/jobs/{made['id']}/edit", place)
    page.goto(running.address + made["page"])
    wait_for(page, "#sheet")
    page.keyboard.press("Control+z")
    until(page, "document.querySelector('h1').textContent.includes('Undo me')")
