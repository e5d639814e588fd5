"""A person's way through a job in the browser, from the first start to the printed page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.web.screens import PATIENCE_MS, until, wait_for

STRETCHES = (
    ("engine off", "0.40 s", "4.80 s", "engine-off"),
    ("hot idle", "12 s", "24 s", "nothing"),
)


def wait_for_job(page: Any) -> str:
    wait_for(page, "#sheet")
    return str(page.get_attribute("#job", "data-job"))


def add_row(page: Any, adder: str, fields: dict[str, str]) -> None:
    page.click(f"[data-adder={adder}]")
    form = page.locator(f"#{adder}")
    for name, value in fields.items():
        field = form.locator(f"[name={name}]")
        if field.evaluate("f => f.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)
    form.get_by_role("button", name="Keep it").click()
    form.wait_for(state="hidden", timeout=PATIENCE_MS)


@pytest.mark.slow
def test_a_job_from_its_first_word_to_the_printed_page(page: Any, running: Any, van: Path) -> None:
    page.goto(running.address)
    page.get_by_role("link", name="New job").click()
    page.wait_for_url("**/new", timeout=PATIENCE_MS)
    until(page, "document.activeElement.id === 'title'")
    page.keyboard.type("Tick at hot idle")
    page.keyboard.press("Enter")
    job = wait_for_job(page)
    tables = running.store.job(job).tables
    assert tables["title"] == "Tick at hot idle"
    stated = {"oil_grade": "5W-30", "ignition": "coil-on-plug", "ventilation": "regulator"}
    page.click("#complaint [data-change]")
    for key, value in stated.items():
        field = page.locator(f'[data-place="vehicle.{key}"]')
        if key == "oil_grade":
            field.fill(value)
            field.blur()
        else:
            field.select_option(value)
    page.select_option("#o-oil-level", "above maximum")
    until(page, "!!document.querySelector('[data-place=\"observation.0.saw\"]')")
    add_row(
        page,
        "new-limit",
        {
            "name": "hot idle",
            "min": "13 psi",
            "speed": "820 rpm",
            "speed_tolerance": "50 rpm",
            "oil_temperature": "80 degC",
            "source": "workshop manual",
        },
    )
    sensors = running.store.take_in(van).kept.tables["sensor"]
    oil = sensors[0]
    points = {f"point{i}": " = ".join(oil["points"][at]) for i, at in ((1, 0), (2, -1))}
    add_row(page, "new-sensor", {"name": "oil transducer", "supply": "5 V", **points})
    page.set_input_files("#recording-files", str(van / "recordings" / "visit-1-engine.csv"))
    wait_for(page, "#map")
    page.fill("#rate", "10 kHz")
    proposed = page.eval_on_selector_all(
        "tr[data-column]", "rows => rows.map(r => r.querySelector('[data-part=quantity]').value)"
    )
    assert proposed == ["oil-pressure", "ignition", "oil-temperature"]
    assert page.input_value('tr[data-column="oil_v"] [data-part=sensor]') == "oil transducer"
    page.get_by_role("button", name="Keep this recording").click()
    page.wait_for_url("**/recordings/0", timeout=PATIENCE_MS)
    for name, begin, end, did in STRETCHES:
        kept = running.store.job(job)
        row = {"name": name, "from": begin, "to": end, "did": did}
        body = {"place": "recording.0.condition", "row": row, "based_on": kept.version}
        assert running.post(f"/api/jobs/{job}/rows", body).status_code == 200
    page.goto(f"{running.address}/jobs/{job}")
    page.wait_for_selector(".found .set", timeout=PATIENCE_MS)
    assert "Oil pressure" in page.inner_text(".found")
    add_row(page, "new-work", {"text": "breather hose cleared", "state": "done"})
    add_row(page, "new-visit", {"name": "breather cleared", "work": "breather hose cleared"})
    add_row(
        page,
        "new-reading",
        {"quantity": "oil-pressure", "value": "15.5 psi", "condition": "hot idle"},
    )
    kept = running.store.job(job)
    assert [visit["name"] for visit in kept.tables["visit"]] == ["first", "breather cleared"]
    assert kept.tables["reading"][0]["visit"] == "breather cleared"
    assert kept.parts["retest"] == "done", (kept.parts, kept.problems)
    page.get_by_role("link", name="Look at it Handover sheet").click()
    wait_for(page, "#handover img")
    with page.expect_download(timeout=PATIENCE_MS) as printed:
        page.locator("#handover").get_by_role("link", name="As PDF").click()
    assert Path(printed.value.path()).read_bytes().startswith(b"%PDF")


@pytest.mark.slow
def test_a_logger_is_known_the_next_time(page: Any, running: Any, van: Path, demo: str) -> None:
    file = van / "recordings" / "visit-1-crankcase.csv"
    for number in (1, 2):
        job = running.post("/api/jobs", {"title": f"Again {number}"}).json()["id"]
        page.goto(f"{running.address}/jobs/{job}")
        wait_for_job(page)
        page.set_input_files("#recording-files", str(file))
        wait_for(page, "#map")
        known = page.locator("main").inner_text()
        assert ("this logger is known" in known) == (number == 2)
        row = page.locator("tr[data-column]").first
        if number == 1:
            row.locator("[data-part=quantity]").select_option("battery-voltage")
            row.locator("[data-part=unit]").fill("V")
        assert row.locator("[data-part=quantity]").input_value() == "battery-voltage"
        page.get_by_role("button", name="Keep this recording").click()
        page.wait_for_url("**/recordings/0", timeout=PATIENCE_MS)
    assert demo


@pytest.mark.slow
def test_a_dropped_folder_becomes_a_job_and_is_known_again(
    page: Any, running: Any, van: Path
) -> None:
    page.goto(running.address)
    page.set_input_files("#folder", str(van))
    first = wait_for_job(page)
    page.goto(running.address)
    page.set_input_files("#folder", str(van))
    assert wait_for_job(page) == first
