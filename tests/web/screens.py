"""Every screen at three widths, light and in the dim bay, as pictures to look through.

`python -m tests.web.screens FOLDER` writes them; `--language de`, `--width 768`, `--look dim` and
names of screens choose among them.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

WIDTHS = ((1366, 900), (1024, 768), (768, 1024))
LOOKS = ("light", "dim")
PATIENCE_MS = 240_000
Ready = Callable[[Any], None]


def until(page: Any, holds: str, seconds: float = 120.0) -> None:
    """Wait until this holds in the page (its policy allows no eval of the page's own)."""
    for _ in range(int(seconds / 0.1)):
        if page.evaluate(holds):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"after {seconds:g} s it does not hold: {holds}")


def wait_for(page: Any, what: str) -> None:
    """Until this stands on the page, and the page listens."""
    page.wait_for_selector(what, timeout=PATIENCE_MS)
    page.wait_for_load_state(timeout=PATIENCE_MS)


def _found(page: Any) -> None:
    page.wait_for_selector(".next-test", timeout=PATIENCE_MS)


def _unfolded(page: Any) -> None:
    page.wait_for_selector('section.part[data-open="0"]', timeout=PATIENCE_MS)
    for key in page.query_selector_all('section.part[data-open="0"] [data-fold]'):
        key.click()
    page.click("#complaint [data-change]")
    page.click("[data-row-open=limit-0]")
    page.click("[data-adder=new-sensor]")


def _printed(page: Any) -> None:
    page.wait_for_selector("#record img", timeout=PATIENCE_MS)
    until(page, "[...document.images].every((i) => i.complete || i.loading === 'lazy')")


def _drawn(page: Any) -> None:
    page.wait_for_selector("[data-recording][data-readings-ms]", timeout=PATIENCE_MS)


def _listening(page: Any) -> None:
    page.wait_for_selector("[data-ready]", timeout=PATIENCE_MS)


def _at_once(page: Any) -> None:
    page.wait_for_selector("#main", timeout=PATIENCE_MS)


SCREENS: Mapping[str, tuple[str, Ready]] = {
    "jobs": ("/", _at_once),
    "set-aside": ("/?away=true", _at_once),
    "new-job": ("/new", _at_once),
    "job": ("/jobs/{demo}", _found),
    "job-typing": ("/jobs/{demo}", _unfolded),
    "job-begun": ("/jobs/{begun}", _at_once),
    "mapping": ("/jobs/{begun}/brought/{ticket}", _at_once),
    "recording": ("/jobs/{demo}/recordings/0", _drawn),
    "sensors": ("/sensors", _at_once),
    "sensor-card": ("/jobs/{demo}/sensors/0", _listening),
    "bench": ("/jobs/{demo}/bench", _listening),
    "pages": ("/jobs/{demo}/pages", _printed),
    "settings": ("/settings", _at_once),
    "share": ("/share", _at_once),
    "pair": ("/pair", _at_once),
    "interface": ("/interface", _at_once),
    "practice": ("/practice", _at_once),
    "practice-round": ("/practice/{round}", _at_once),
    "practice-opened": ("/practice/{opened}", _at_once),
    "not-there": ("/nowhere", _at_once),
}


def places(running: Any, demo: str) -> dict[str, str]:
    """What the addresses above are filled with: jobs made for it, once for each app."""
    known: dict[str, str] = running.app.state.bay.rooms.setdefault("screens", {})
    if not known:
        known["demo"] = demo
        known["begun"] = running.post("/api/jobs", {"title": "Oil lamp at hot idle"}).json()["id"]
        known["ticket"] = _brought(running, demo, known["begun"])
        for name, seed in (("round", 8), ("opened", 3)):
            begun = running.post("/api/practice", {"level": 2, "seed": seed}).json()
            known[name] = begun["page"].rpartition("/")[2]
        running.post(f"/api/practice/{known['opened']}/ask", {"test": "dipstick"})
        running.post(f"/api/practice/{known['opened']}/reveal", {"causes": ["worn-bearings"]})
    return known


def _brought(running: Any, demo: str, job: str) -> str:
    import httpx

    kept = running.store.job(demo)
    path = Path(kept.folder) / kept.tables["recording"][0]["file"]
    with path.open("rb") as file:
        sent = {"files": (path.name, file, "text/csv")}
        answer = httpx.post(f"{running.address}/api/jobs/{job}/files", files=sent, timeout=60)
    return str(answer.json()["page"]).rpartition("/")[2]


@contextmanager
def opened(
    browser: Any, running: Any, demo: str, screen: str, look: str, size: tuple[int, int]
) -> Iterator[Any]:
    """A screen, opened and settled."""
    path, ready = SCREENS[screen]
    context = browser.new_context(viewport={"width": size[0], "height": size[1]})
    context.add_cookies([{"name": "look", "value": look, "url": running.address}])
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    try:
        page.goto(running.address + path.format(**places(running, demo)))
        ready(page)
        until(page, "document.fonts.status === 'loaded'")
        page.wait_for_timeout(250)
        yield page
    finally:
        context.close()


def write(folder: Path, told: argparse.Namespace) -> None:
    """Write the chosen pictures into this folder."""
    from playwright.sync_api import sync_playwright
    from tests.conftest import CHROMIUM, FLAGS
    from tests.web.conftest import serve

    from gaugewright.examples import van

    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as room, sync_playwright() as playwright:
        van.make(Path(room) / "van")
        running = serve(Path(room) / "bay")
        app = next(running)
        demo = app.store.take_in(Path(room) / "van").kept.id
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        app.post("/api/settings", {"key": "language", "value": told.language})
        for screen in told.screens or SCREENS:
            for look in told.look or LOOKS:
                for size in [size for size in WIDTHS if size[0] in (told.width or [size[0]])]:
                    with opened(browser, app, demo, screen, look, size) as page:
                        file = folder / f"{screen}-{size[0]}-{look}.png"
                        page.screenshot(path=str(file), full_page=screen != "recording")
                        print(file)
        browser.close()
        running.close()


def main() -> None:
    """Read which are asked for, and write them."""
    asked = argparse.ArgumentParser(description="pictures of the app's screens")
    asked.add_argument("folder", type=Path, nargs="?", default=Path("screens"))
    asked.add_argument("screens", nargs="*", metavar="screen")
    asked.add_argument("--language", default="en")
    asked.add_argument("--width", type=int, action="append")
    asked.add_argument("--look", action="append", choices=LOOKS)
    told = asked.parse_args()
    write(told.folder, told)


if __name__ == "__main__":
    main()
