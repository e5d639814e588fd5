"""Mapping a file that the guesses read wrongly: its clock, its head line, its decimals."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import httpx
import pytest

from gaugewright.errors import InputError
from gaugewright.web.looked_at import NO_CLOCK, How, how_from, look_at, names_in

ODD = "logger 7;;\nfirst;tick;druck\n" + "".join(
    f"{k};{k / 10:.1f};{90 + k % 5},5\n" for k in range(40)
)
ODD = ODD.replace(".", ",")


@pytest.fixture
def odd(tmp_path: Path) -> Path:
    path = tmp_path / "odd.csv"
    path.write_text(ODD, "utf-8")
    return path


def test_a_clock_is_the_column_that_is_named(odd: Path) -> None:
    seen = look_at(odd, (), {}, How("tick", 2, ","))
    assert (seen.time, seen.clocked, seen.seconds) == ("tick", True, pytest.approx(3.9))
    assert [one.name for one in seen.columns] == ["first", "druck"]
    assert seen.clocks == ("tick", "first", "druck")
    assert seen.columns[1].first[0] == "90.5"


def test_no_clock_is_taken_where_none_is_said(odd: Path) -> None:
    seen = look_at(odd, (), {}, How(NO_CLOCK, 2, ","))
    assert not seen.clocked
    assert [one.name for one in seen.columns] == ["first", "tick", "druck"]


def test_a_line_that_names_nothing_is_refused_in_a_sentence(odd: Path) -> None:
    with pytest.raises(InputError) as told:
        look_at(odd, (), {}, How("tick", 1))
    assert "odd.csv" in str(told.value)


def test_a_file_is_known_again_however_it_was_read(odd: Path) -> None:
    assert names_in(odd) == names_in(odd)
    assert how_from({"time": "tick", "text": {"header_row": 2, "decimal": ","}}) == How(
        "tick", 2, ","
    )
    assert how_from({"rate": "10 Hz"}) == How()


def brought(running: Any, job: str, path: Path) -> str:
    """The address of the page that maps this file."""
    with path.open("rb") as file:
        sent = {"files": (path.name, file, "text/csv")}
        answer = httpx.post(f"{running.address}/api/jobs/{job}/files", files=sent)
    return str(answer.json()["page"])


@pytest.mark.slow
def test_read_otherwise_kept_and_known_the_next_time(running: Any, odd: Path) -> None:
    """The choices stand on the page, in the job, and when the logger comes again."""
    job = running.post("/api/jobs", {"title": "Odd"}).json()
    with odd.open("rb") as file:
        sent = {"files": ("odd.csv", file, "text/csv")}
        page = httpx.post(f"{running.address}/api/jobs/{job['id']}/files", files=sent).json()[
            "page"
        ]
    shown = running.get(f"{page}?time=tick&header_row=2&decimal=,")
    assert shown.status_code == 200
    assert '<option value="tick" selected>' in shown.text
    stated = {
        "file": "odd.csv", "name": "odd", "time": "tick", "header_row": 2, "decimal": ",",
        "signals": [{"column": "druck", "quantity": "crankcase-pressure", "unit": "kPa",
                     "reference": "vacuum"}],
        "based_on": job["version"],
    }  # fmt: skip
    ticket = page.rpartition("/")[2]
    kept = running.post(f"/api/jobs/{job['id']}/brought/{ticket}/keep", stated)
    assert kept.status_code == 200, kept.text
    [entry] = running.store.job(job["id"]).tables["recording"]
    assert (entry["time"], entry["text"]) == ("tick", {"header_row": 2, "decimal": ","})
    assert entry["signal"][0]["reference"] == "vacuum"
    with odd.open("rb") as file:
        sent = {"files": ("odd.csv", file, "text/csv")}
        again = httpx.post(f"{running.address}/api/jobs/{job['id']}/files", files=sent).json()[
            "page"
        ]
    text = running.get(again).text
    assert '<option value="tick" selected>' in text
    assert '<option value="vacuum" selected>' in text
    refused = running.get(f"{again}?header_row=1")
    assert refused.status_code == 200
    assert "odd.csv" in refused.text
