"""A small job of two loggers on their own clocks, in a store, behind the app."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
import uvicorn

from gaugewright.store.lines import Kept
from gaugewright.store.store import Store, open_store
from gaugewright.web.app import make_app
from gaugewright.web.bay import Bay

sys.path.insert(0, str(Path(__file__).parents[1] / "analysis"))
import small

STRETCHES = (small.ENGINE_OFF, small.AS_FOUND, small.CAP_OFF)
LATER_S = 2.0
"""The second logger started so much before the first."""
SENSOR = """
[[sensor]]
name = "oil transducer"
points = [["0.5 V", "0 kPa"], ["1.5 V", "100.4 kPa"], ["2.5 V", "199.8 kPa"], ["4.5 V", "400 kPa"]]
point_uncertainty = "0.5 kPa"
accuracy = "0.4 kPa"
range = ["0 kPa", "400 kPa"]
"""
BY_SENSOR = small.signal_text("volts", "oil-pressure", sensor="oil transducer")


@dataclass(frozen=True)
class Opened:
    """The app over a store that holds the small job."""

    store: Store
    client: httpx.Client
    bay: Bay
    job: str

    @property
    def kept(self) -> Kept:
        """The job as it is now."""
        return self.store.job(self.job)

    def at(self, rest: str) -> str:
        """An address of the first recording."""
        return f"/api/jobs/{self.job}/recordings/0/{rest}"

    def get(self, rest: str, **query: Any) -> Any:
        """The answer of an address of the first recording, once it is read."""
        for _ in range(600):
            answer = self.client.get(self.at(rest), params=query)
            if answer.status_code != 202:
                assert answer.status_code == 200, answer.text
                return answer.json()
            assert answer.json()["sentence"]
            time.sleep(0.05)
        raise AssertionError("still reading after 30 s")

    def post(self, rest: str, **body: Any) -> Any:
        """Send a change of the first recording; gives the response."""
        body.setdefault("version", self.kept.version)
        return self.client.post(self.at(rest), json=body)

    def stretch(self, name: str) -> dict[str, Any]:
        """What the page is told of a stretch."""
        return next(s for s in self.get("state")["conditions"] if s["name"] == name)

    def row(self, name: str, recording: int) -> dict[str, Any]:
        """A condition as the document holds it."""
        rows = self.kept.tables["recording"][recording]["condition"]
        return next(row for row in rows if row["name"] == name)


def job_folder(folder: Path) -> Path:
    """The small job written as a folder: oil and sparks here, the crankcase on another clock."""
    lived = small.lived(STRETCHES)
    lived["volts"] = 0.5 + lived["oil"] / 100.0
    first = small.recording("run", BY_SENSOR, small.SPARK, small.conditions(STRETCHES))
    marks = small.conditions(STRETCHES, LATER_S)
    second = small.recording("second", small.CRANKCASE, marks, clock_offset=f"-{LATER_S:g} s")
    (folder / "recordings").mkdir(parents=True)
    (folder / "job.toml").write_text(small.HEAD + small.LIMIT + SENSOR + first + second)
    (folder / "recordings" / "run.csv").write_text(small.csv(lived, "t", "volts", "spark"))
    shifted = {**lived, "t": lived["t"] + LATER_S}
    (folder / "recordings" / "second.csv").write_text(small.csv(shifted, "t", "crankcase"))
    return folder


@pytest.fixture(scope="session")
def small_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small job's folder, written once."""
    return job_folder(tmp_path_factory.mktemp("small") / "job")


@contextmanager
def served(store: Store) -> Iterator[tuple[str, Bay]]:
    """The app over this store on a free port of this machine: its address, and its bay."""
    app = make_app(store)
    config = uvicorn.Config(app, host="127.0.0.1", port=0, log_level="error", lifespan="off")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    try:
        yield f"http://127.0.0.1:{port}", app.state.bay
    finally:
        app.state.bay.rooms["closing"] = True
        server.should_exit = True
        thread.join(20)


@pytest.fixture(name="app")
def opened_app(small_folder: Path, tmp_path: Path) -> Iterator[Opened]:
    """The app over a fresh store with the small job taken in."""
    store = open_store(folder=tmp_path / "data")
    job = store.take_in(small_folder).kept.id
    with served(store) as (address, bay), httpx.Client(base_url=address, timeout=60) as client:
        yield Opened(store, client, bay, job)
    store.close()
