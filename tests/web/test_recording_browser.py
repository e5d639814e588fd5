"""The recording page in a real browser: by mouse, by keyboard, by fingers, and how fast it draws.

Times are printed, never asserted: what is asserted is that the right thing was drawn.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gaugewright.store.lane import Clock, StoredLane, StoredRecording
from gaugewright.store.overview import build
from gaugewright.web import recording_room
from gaugewright.web.recording_background import Background
from gaugewright.web.recording_tracks import Track

sys.path.insert(0, str(Path(__file__).parent))
from recording_made import Opened, opened_app, small_folder  # noqa: F401

pytestmark = pytest.mark.slow
READY = "[data-recording][data-readings-ms]"
SAMPLES = 100_000_000
RATE_HZ = 10_000.0


@pytest.fixture
def shown(app: Opened, chromium: Any) -> Iterator[Any]:
    """The recording page, its readings there; fails when the page reports an error."""
    yield from opened_page(app, chromium)


def opened_page(app: Opened, chromium: Any, **how: Any) -> Iterator[Any]:
    context = chromium.new_context(**{"viewport": {"width": 1366, "height": 900}, **how})
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto(f"{app.client.base_url}/jobs/{app.job}/recordings/0")
    page.wait_for_selector(READY, timeout=60_000)
    yield page
    context.close()
    assert wrong == []


def place(page: Any, time_s: float, height: float = 300.0) -> tuple[float, float]:
    """Where an instant stands on the screen."""
    box = page.locator("[data-over]").bounding_box()
    begin, finish = view(page)
    return box["x"] + box["width"] * (time_s - begin) / (finish - begin), box["y"] + height


def view(page: Any) -> tuple[float, float]:
    """The window that is looked at."""
    stack = page.locator("[data-stack]")
    return float(stack.get_attribute("data-begin")), float(stack.get_attribute("data-finish"))


def drag(page: Any, from_s: float, to_s: float) -> None:
    page.mouse.move(*place(page, from_s))
    page.mouse.down()
    page.mouse.move(*place(page, to_s), steps=8)
    page.mouse.up()


def edge(page: Any, name: str, part: str) -> Any:
    """The slider of a stretch's edge."""
    stretch = page.locator(".stretch", has=page.locator(f'.stretch-name:text-is("{name}")'))
    return stretch.locator(f".edge.{part}")


def eventually(holds: Any, seconds: float = 20.0) -> None:
    until = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < until, "it never came true"
        time.sleep(0.05)


def take_out(app: Opened, name: str) -> None:
    stretch = app.stretch(name)
    assert app.post("take-out", key=stretch["key"], old=stretch["old"]).status_code == 200


def test_drag_name_and_undo(app: Opened, chromium: Any) -> None:
    take_out(app, "cap off")
    for page in opened_page(app, chromium):
        drag(page, 15.0, 20.0)
        page.locator("[data-draft-words] .row").first.wait_for()
        print(
            f"readings {page.locator(READY).get_attribute('data-readings-ms')} ms after letting go"
        )
        page.get_by_role("button", name="Name it").click()
        page.get_by_label("filler cap off").check()
        assert page.get_by_label("Name", exact=True).input_value() == "filler cap off"
        page.get_by_role("button", name="Keep it").click()
        eventually(lambda: "filler cap off" in str(app.kept.tables["recording"]))
        row = app.row("filler cap off", 0)
        assert row["did"] == ["filler-cap-off"]
        assert float(row["from"][:-2]) == pytest.approx(15.0, abs=0.1)
        page.get_by_role("button", name="Undo").click()
        eventually(lambda: "filler cap off" not in str(app.kept.tables["recording"]))


def test_an_edge_is_a_slider_for_the_keyboard(app: Opened, shown: Any) -> None:
    slider = edge(shown, "as found", "begin")
    assert slider.get_attribute("role") == "slider"
    assert float(slider.get_attribute("aria-valuenow")) == pytest.approx(4.2)
    slider.focus()
    assert shown.locator("[data-loupe] output").inner_text() == "4.20 s"
    for _ in range(5):
        shown.keyboard.press("ArrowRight")
    assert float(slider.get_attribute("aria-valuenow")) == pytest.approx(4.7)
    eventually(lambda: app.row("as found", 0)["from"] == "4.7 s")
    assert app.row("as found", 1)["from"] == "6.7 s"


def test_an_edge_keeps_clear_of_the_stretch_beside_it(shown: Any) -> None:
    slider = edge(shown, "as found", "begin")
    slider.focus()
    for _ in range(4):
        shown.keyboard.press("Shift+ArrowLeft")
    assert float(slider.get_attribute("aria-valuenow")) == pytest.approx(3.8)


def test_dragging_an_edge_shows_the_loupe_and_moves_it(app: Opened, shown: Any) -> None:
    shown.locator('.stretch-name:text-is("cap off")').click()
    grip = edge(shown, "cap off", "end").locator(".grip").bounding_box()
    x, y = grip["x"] + 9, grip["y"] + 20
    shown.mouse.move(x, y)
    shown.mouse.down()
    shown.mouse.move(x - 60, y, steps=5)
    assert shown.locator("[data-loupe]").is_visible()
    shown.mouse.up()
    eventually(lambda: float(app.row("cap off", 0)["to"][:-2]) < 23.0)


def test_a_stretch_by_keyboard_alone(app: Opened, chromium: Any) -> None:
    take_out(app, "cap off")
    for page in opened_page(app, chromium):
        page.get_by_role("button", name="Set out a stretch").focus()
        page.keyboard.press("Enter")
        page.keyboard.press("Shift+ArrowRight")
        for _ in range(6):
            page.keyboard.press("Shift+ArrowRight")
        page.locator("[data-draft-words] .row").first.wait_for()
        page.get_by_role("button", name="Name it").focus()
        page.keyboard.press("Enter")
        page.keyboard.type("by keys")
        page.keyboard.press("Enter")
        eventually(lambda: "by keys" in str(app.kept.tables["recording"]))
        assert app.row("by keys", 0)["did"] == ["nothing"]


def test_keys_and_wheel_look_closer_and_the_whole_comes_back(shown: Any) -> None:
    whole = view(shown)
    shown.locator("[data-stack]").focus()
    shown.keyboard.press("+")
    begin, finish = view(shown)
    assert finish - begin == pytest.approx(0.5 * (whole[1] - whole[0]), rel=1e-3)
    x, y = place(shown, 15.0)
    shown.mouse.move(x, y)
    shown.mouse.wheel(0, -500)
    eventually(lambda: view(shown)[1] - view(shown)[0] < 0.9 * (finish - begin))
    assert place(shown, 15.0)[0] == pytest.approx(x, abs=2)
    shown.get_by_role("button", name="One cycle").click()
    assert view(shown)[1] - view(shown)[0] == pytest.approx(1.2 * 120 / 830, rel=0.1)
    shown.keyboard.press("0")
    shown.get_by_role("button", name="Whole recording").click()
    assert view(shown) == whole


def test_two_fingers_pinch(app: Opened, chromium: Any) -> None:
    for page in opened_page(app, chromium, has_touch=True, viewport={"width": 768, "height": 1024}):
        before = view(page)
        touch = page.context.new_cdp_session(page)
        box = page.locator("[data-over]").bounding_box()
        middle, y = box["x"] + box["width"] / 2, box["y"] + 250
        for kind, apart in (("touchStart", 40), ("touchMove", 60), ("touchMove", 120)):
            points = [
                {"x": middle - apart, "y": y, "id": 1},
                {"x": middle + apart, "y": y, "id": 2},
            ]
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        page.wait_for_timeout(300)
        assert view(page)[1] - view(page)[0] == pytest.approx((before[1] - before[0]) / 3, rel=0.15)
        assert page.locator(".stretch.draft").count() == 0


def test_a_reading_shows_what_it_was_matched_with(shown: Any) -> None:
    block = shown.locator('.block[data-block="0.2"]')
    row = block.locator(".row", has_text="Crankcase")
    row.focus()
    assert "matched with as found" in block.locator(".matched").inner_text()
    assert "Crankcase \N{MINUS SIGN}10" in block.locator(".matched").inner_text()


def test_another_tabs_edit_shows_here(app: Opened, shown: Any) -> None:
    stretch = app.stretch("cap off")
    answer = app.post("move", key=stretch["key"], **{"from": 16.0, "to": 22.0}, old=stretch["old"])
    assert answer.status_code == 200
    slider = edge(shown, "cap off", "begin")
    eventually(lambda: float(slider.get_attribute("aria-valuenow")) == 16.0)


def test_the_page_has_nothing_that_axe_minds(app: Opened, chromium: Any) -> None:
    for look in ("light", "dim"):
        for page in opened_page(app, chromium):
            page.context.add_cookies(
                [{"name": "look", "value": look, "url": str(app.client.base_url)}]
            )
            page.reload()
            page.wait_for_selector(READY)
            drag(page, 15.0, 20.0)
            page.locator("[data-draft-words] .row").first.wait_for()
            page.get_by_role("button", name="Name it").click()
            assert violations(page) == []


@pytest.mark.parametrize("rest", ["sensors/0", "bench"])
def test_card_and_bench_have_nothing_that_axe_minds(app: Opened, chromium: Any, rest: str) -> None:
    app.get("readings")
    page = chromium.new_page()
    page.goto(f"{app.client.base_url}/jobs/{app.job}/{rest}")
    page.wait_for_selector("[data-ready]")
    assert violations(page) == []
    page.close()


def violations(page: Any) -> list[str]:
    """What axe finds: the rule, and where."""
    import axe_core_python

    script = next(Path(axe_core_python.__file__).parent.rglob("axe.min.js")).read_text()
    page.context.new_cdp_session(page).send("Page.setBypassCSP", {"enabled": True})
    page.evaluate(script)
    found = page.evaluate("axe.run()")
    return [f"{v['id']}: {n['target']}" for v in found["violations"] for n in v["nodes"]]


@pytest.mark.slow
def test_a_hundred_million_samples_a_lane(
    app: Opened, chromium: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Four lanes of 100 million samples: what is drawn is what is there, at every zoom."""
    whole = np.tile(np.float32(1e5) + np.arange(1_000_000, dtype=np.float32) % 997, 100)
    np.save(tmp_path / "lane.npy", whole)
    samples = np.load(tmp_path / "lane.npy", mmap_mode="r")
    overview = build(samples)
    entry = app.kept.model.recordings[0]
    lanes = tuple(
        StoredLane(f"run/{c}", c, q, None, u, Clock(SAMPLES, RATE_HZ), overview)
        for c, q, u in (("volts", "oil-pressure", "Pa"), ("spark", "ignition", "V"))
    )
    stored = StoredRecording("run", entry.visit or "", "", SAMPLES, RATE_HZ, lanes, (), ())
    extra = entry.model_copy(update={"name": "more", "conditions": ()})
    more = StoredRecording("more", entry.visit or "", "", SAMPLES, RATE_HZ, _named(lanes), (), ())
    tracks = (Track(0, entry, stored, None, 0.0), Track(1, extra, more, None, 0.0))
    made = Background(key="made", made=tracks)
    monkeypatch.setattr(recording_room, "_key", lambda kept: "made")
    room = recording_room.room_of(app.bay)
    room.tracks[app.job, entry.visit or ""] = made
    room.reads.clear()
    context = chromium.new_context(viewport={"width": 1366, "height": 900})
    page = context.new_page()
    page.goto(f"{app.client.base_url}/jobs/{app.job}/recordings/0")
    page.wait_for_selector(READY, timeout=60_000)  # its readings too: nothing else is worked out
    assert page.locator(".lane").count() == 4
    times = [page.evaluate(ZOOM, factor) for factor in (0.5, 0.2, 0.1, 0.1, 0.1, 0.1, 0.2)]
    drawn, answers = [t["drawn"] for t in times], [t["answer"] for t in times]
    print(
        f"4 lanes of {SAMPLES:,} samples in Chromium: answers {np.median(answers):.0f} ms "
        f"(most {max(answers):.0f}; an empty one {np.median([t['idle'] for t in times]):.0f}), "
        f"drawn {np.median(drawn):.0f} ms after the key (most {max(drawn):.0f})"
    )
    begin, finish = view(page)
    assert finish - begin < 0.1
    assert all(t["painted"] for t in times)
    assert page.evaluate(INKED) > 500
    context.close()


def _named(lanes: tuple[StoredLane, ...]) -> tuple[StoredLane, ...]:
    from dataclasses import replace

    return tuple(replace(lane, label=lane.label.replace("run/", "more/")) for lane in lanes)


ZOOM = """
async (factor) => {
  const stack = document.querySelector("[data-stack]");
  const before = performance.getEntriesByType("resource").length;
  const start = performance.now();
  const times = Math.round(Math.log(factor) / Math.log(0.5));
  for (let k = 0; k < Math.max(times, 1); k += 1) {
    stack.dispatchEvent(new KeyboardEvent("keydown", { key: "+", bubbles: true }));
  }
  const wanted = () => `${stack.dataset.begin} ${stack.dataset.finish}`;
  while (stack.dataset.painted !== wanted() && performance.now() - start < 5000) {
    await new Promise((done) => setTimeout(done, 1));
  }
  const drawn = performance.now() - start;
  const since = performance.getEntriesByType("resource").slice(before);
  const asked = since.filter((entry) => entry.name.includes("/window"));
  const answer = Math.max(0, ...asked.map((e) => e.responseEnd - e.startTime));
  const asking = performance.now();
  await fetch("/favicon.ico");
  const idle = performance.now() - asking;
  return { drawn, answer, idle, painted: stack.dataset.painted === wanted() };
}
"""
"""Looks closer by keys, and tells after how long the new window was drawn in full detail."""
INKED = """
() => {
  const canvas = document.querySelector(".lane canvas");
  const { data } = canvas.getContext("2d").getImageData(100, 0, canvas.width - 100, canvas.height);
  let inked = 0;
  for (let k = 3; k < data.length; k += 4) if (data[k] > 60) inked += 1;
  return inked;
}
"""
"""How many pixels of the first lane hold something."""
