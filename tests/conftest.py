"""What all tests share: a browser, the example job made once, and the option that makes a skipped
test a failure."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or ""
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


PATIENCE_S = 300.0
TOGETHER = (
    "analysis/test_examples",
    "analysis/test_small_jobs",
    "causes/test_explain",
    "causes/test_next_test",
    "cli/test_demo",
    "cli/test_practise",
    "examples/test_practice",
    "examples/test_van",
    "report/test_languages",
    "web/test_screens_checked",
)
"""Files whose tests share what takes long to make: each runs in one worker, and makes it once."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--no-skips", action="store_true", help="fail when a test was skipped")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Tests that share what takes long to make go to one worker."""
    for item in items:
        group = _group(item.path.relative_to(config.rootpath / "tests"), item)
        if group is not None:
            item.add_marker(pytest.mark.xdist_group(group))


def _group(path: Path, item: pytest.Item) -> str | None:
    """The file, where it shares something; of the pages, the outcome that is printed."""
    name = path.with_suffix("").as_posix()
    if name in TOGETHER:
        return name
    drawn = getattr(item, "callspec", None)
    if path.parent.name == "report" and drawn is not None and "name" in drawn.params:
        return f"report: {drawn.params['name']}"
    return None


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> object:
    report = yield
    if item.config.getoption("--no-skips") and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid}: skipped, and this run allows no skips"
    return report


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """A headless browser; without one the test says so, and fails where it has to be there."""
    if not CHROMIUM:
        if os.environ.get("CI"):
            pytest.fail("no chromium: install Debian's package")
        pytest.skip("no chromium on this machine: install Debian's package")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def van_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example job's folder, to be read and never written to: made once for all workers."""
    from gaugewright.examples import van

    return made_once(tmp_path_factory, "van", van.make)


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """A folder that the first worker to ask for it makes, while the others wait."""
    base = factory.getbasetemp()
    root = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    place, making = root / f"once-{name}", root / f"making-{name}"
    try:
        making.mkdir()
    except FileExistsError:
        until = time.monotonic() + PATIENCE_S
        while not place.exists():
            assert time.monotonic() < until, f"{name} was begun by another worker and never came"
            time.sleep(0.1)
        return place
    make(making / name)
    (making / name).rename(place)
    return place
