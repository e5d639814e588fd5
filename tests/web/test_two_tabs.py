"""Two tabs on one job: each sees the other's edits, neither overwrites the other's."""

from __future__ import annotations

from typing import Any

import pytest
from tests.web.screens import until


@pytest.fixture
def job(running: Any) -> str:
    return str(running.post("/api/jobs", {"title": "Two tabs"}).json()["id"])


@pytest.fixture
def tabs(chromium: Any, running: Any, job: str) -> Any:
    context = chromium.new_context(viewport={"width": 1366, "height": 900})
    context.set_default_timeout(120_000)
    made = [context.new_page(), context.new_page()]
    for tab in made:
        tab.goto(f"{running.address}/jobs/{job}")
        tab.wait_for_selector("#sheet")
        tab.click("#complaint [data-change]")
    yield made
    context.close()


def fill(tab: Any, place: str, text: str) -> None:
    tab.fill(f'[data-place="{place}"]', text)
    tab.locator(f'[data-place="{place}"]').blur()


def value(place: str, text: str) -> str:
    return f"document.querySelector('[data-place=\"{place}\"]').value === '{text}'"


@pytest.mark.slow
def test_the_other_tab_sees_an_edit_and_is_told(tabs: Any) -> None:
    first, second = tabs
    fill(first, "vehicle.name", "light van")
    until(second, value("vehicle.name", "light van"))
    label = second.locator(".field", has=second.locator('[data-place="vehicle.name"]'))
    said = label.locator("label").inner_text()
    until(second, f"document.getElementById('news').innerText.endsWith(': {said}')")
    first.wait_for_timeout(1000)
    assert not first.is_visible("#news"), "nobody is told of an edit of their own"


@pytest.mark.slow
def test_what_is_being_typed_stays_and_a_stale_write_is_refused(
    tabs: Any, running: Any, job: str
) -> None:
    first, second = tabs
    second.focus('[data-place="vehicle.oil_grade"]')
    second.keyboard.type("0W-20")
    fill(first, "vehicle.oil_grade", "5W-30")
    second.wait_for_selector("#news:not([hidden])", timeout=120_000)
    assert second.input_value('[data-place="vehicle.oil_grade"]') == "0W-20"
    second.locator('[data-place="vehicle.oil_grade"]').blur()
    wrong = second.locator("#f-vehicle-oil-grade-wrong")
    wrong.wait_for(state="visible", timeout=120_000)
    assert '"5W-30" stands there now' in wrong.inner_text()
    assert running.store.job(job).tables["vehicle"]["oil_grade"] == "5W-30"
    wrong.get_by_role("button", name="Put mine there").click()
    until(first, value("vehicle.oil_grade", "0W-20"))
    assert running.store.job(job).tables["vehicle"]["oil_grade"] == "0W-20"


@pytest.mark.slow
def test_an_undo_is_seen_by_both(tabs: Any) -> None:
    first, second = tabs
    fill(first, "complaint.text", "It ticks.")
    until(second, value("complaint.text", "It ticks."))
    second.click("[data-step=undo]")
    until(first, value("complaint.text", ""))
