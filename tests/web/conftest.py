"""The app running on a port of this machine, over a store of its own; and a browser."""

from __future__ import annotations

import asyncio
import socket
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
import uvicorn

from gaugewright.store.store import open_store
from gaugewright.web.app import make_app

PATIENCE_MS = 180_000
"""How long a page may take: these tests are for what is right, not for how fast."""


@dataclass
class Running:
    """An app that runs: where, over which store."""

    address: str
    store: Any
    app: Any

    def post(self, path: str, body: dict[str, Any]) -> httpx.Response:
        return httpx.post(self.address + path, json=body, timeout=120)

    def get(self, path: str, **how: Any) -> httpx.Response:
        return httpx.get(self.address + path, timeout=120, **how)


class Caller:
    """Calls an app in this process, as a client at some address; keeps its cookies.

    Each call runs in a thread of its own: a browser that is open in this one has its loop here.
    """

    def __init__(
        self,
        app: Any,
        base_url: str = "http://127.0.0.1:8760",
        at: tuple[str, int] = ("127.0.0.1", 5),
        cookies: dict[str, str] | None = None,
    ) -> None:
        self.app, self.base_url, self.at = app, base_url, at
        self.cookies = httpx.Cookies(cookies)

    def get(self, path: str, **how: Any) -> httpx.Response:
        return self._called("GET", path, how)

    def post(self, path: str, **how: Any) -> httpx.Response:
        return self._called("POST", path, how)

    def _called(self, method: str, path: str, how: dict[str, Any]) -> httpx.Response:
        with ThreadPoolExecutor(1) as pool:
            return pool.submit(asyncio.run, self._call(method, path, how)).result()

    async def _call(self, method: str, path: str, how: dict[str, Any]) -> httpx.Response:
        transport = httpx.ASGITransport(self.app, raise_app_exceptions=False, client=self.at)
        async with httpx.AsyncClient(
            transport=transport, base_url=self.base_url, cookies=self.cookies
        ) as client:
            answer = await client.request(method, path, **how)
            self.cookies = client.cookies
            return answer


@pytest.fixture
def calling() -> type[Caller]:
    return Caller


def serve(folder: Path) -> Iterator[Running]:
    """Run the app over a store in this folder for as long as it is wanted."""
    store = open_store(None, folder)
    app = make_app(store, folder / "settings.toml")
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="critical", timeout_graceful_shutdown=1))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    until = time.monotonic() + 30
    while not server.started and time.monotonic() < until:
        time.sleep(0.02)
    assert server.started
    try:
        yield Running(f"http://127.0.0.1:{listening.getsockname()[1]}", store, app)
    finally:
        app.state.bay.rooms["closing"] = True
        server.should_exit = True
        thread.join(timeout=10)
        listening.close()
        store.close()


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    yield from serve(tmp_path_factory.mktemp("bay"))


@pytest.fixture(scope="session")
def van(van_folder: Path) -> Path:
    """The example job's folder."""
    return van_folder


@pytest.fixture(scope="module")
def demo(running: Running, van: Path) -> str:
    """The example job taken in; its id."""
    return str(running.store.take_in(van).kept.id)


@pytest.fixture
def page(chromium: Any, running: Running) -> Iterator[Any]:
    """A page on a laptop; anything the browser complains of fails the test."""
    context = chromium.new_context(viewport={"width": 1366, "height": 900})
    context.set_default_timeout(PATIENCE_MS)
    opened = context.new_page()
    complaints: list[str] = []
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.on(
        "console",
        lambda said: (
            complaints.append(said.text)
            if said.type == "error" and "status of 4" not in said.text
            else None
        ),
    )
    yield opened
    context.close()
    assert complaints == []
