"""Twenty clients on one job: nothing is lost, nobody waits long."""

from __future__ import annotations

import threading
import time
from typing import Any

import httpx
import pytest

CLIENTS, SECONDS = 20, 60.0


def work(
    address: str, job: str, number: int, until: float, kept: list[str], took: list[float]
) -> None:
    """Add rows until the time is up; note each that was taken."""
    with httpx.Client(base_url=address, timeout=60) as client:
        count = 0
        while time.monotonic() < until:
            version = client.get(f"/api/jobs/{job}").json()["version"]
            text = f"client {number}, work {count}"
            body = {"place": "work", "row": {"text": text}, "based_on": version}
            began = time.monotonic()
            answer = client.post(f"/api/jobs/{job}/rows", json=body)
            took.append(time.monotonic() - began)
            assert answer.status_code in (200, 409), answer.text
            if answer.status_code == 200:
                kept.append(text)
                count += 1
            time.sleep(0.25)


@pytest.mark.slow
def test_twenty_clients_for_a_minute_lose_nothing(running: Any) -> None:
    job = running.post("/api/jobs", {"title": "Busy"}).json()["id"]
    kept: list[str] = []
    took: list[float] = []
    until = time.monotonic() + SECONDS
    threads = [
        threading.Thread(target=work, args=(running.address, job, i, until, kept, took))
        for i in range(CLIENTS)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    stood = [row["text"] for row in running.store.job(job).tables["work"]]
    took.sort()
    print(f"{len(kept)} edits, median {took[len(took) // 2]:.3f} s, slowest {took[-1]:.3f} s")
    assert len(kept) > CLIENTS
    assert sorted(stood) == sorted(kept)
