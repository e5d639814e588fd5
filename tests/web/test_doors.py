"""Who comes in, from where, with how much; and what every answer carries."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any

import pytest

from gaugewright.errors import InputError
from gaugewright.store.store import Store, open_store
from gaugewright.web.app import make_app
from gaugewright.web.doors import COOKIE, MOST_TRIES, Doors
from gaugewright.web.guard import MOST_FORM
from gaugewright.web.take_in import safe_path

TABLET = ("192.168.7.20", 50000)
JSON = {"title": "x"}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    made = open_store(None, tmp_path)
    yield made
    made.close()


@pytest.fixture
def client(store: Store, calling: Any) -> Any:
    def made(shared: bool = False, at: tuple[str, int] = ("127.0.0.1", 5)) -> Any:
        return calling(make_app(store, shared=shared), at=at)

    return made


def test_this_machine_comes_in(client: Any, store: Store) -> None:
    assert client().get("/").status_code == 200


def test_another_machine_does_not_while_not_shared(client: Any, store: Store) -> None:
    answer = client(at=TABLET).get("/")
    assert answer.status_code == 403
    assert "--share" in answer.json()["sentence"]


def test_a_page_elsewhere_cannot_pose_as_this_machine(client: Any, store: Store) -> None:
    answer = client().get("/", headers={"host": "jobs.example:8760"})
    assert answer.status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://elsewhere.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_forms_from_other_pages_are_refused(
    client: Any, store: Store, headers: dict[str, str]
) -> None:
    answer = client().post("/api/jobs", json=JSON, headers=headers)
    assert answer.status_code == 403
    assert store.jobs() == ()


def test_own_forms_are_taken(client: Any, store: Store) -> None:
    own = {"origin": "http://127.0.0.1:8760", "sec-fetch-site": "same-origin"}
    assert client().post("/api/jobs", json=JSON, headers=own).status_code == 201


def test_a_tablet_types_the_code_and_stays_in(client: Any, store: Store) -> None:
    tablet = client(shared=True, at=TABLET)
    assert tablet.get("/", headers={"accept": "text/html"}).headers["location"] == "/pair"
    assert tablet.get("/api/jobs/x").status_code == 401
    doors: Doors = tablet.app.state.bay.doors
    wrong = f"{(int(doors.code) + 1) % 10**8:08d}"
    assert tablet.post("/pair", data={"code": wrong}).status_code == 403
    spaced = f"{doors.code[:4]} {doors.code[4:]}"
    let_in = tablet.post("/pair", data={"code": spaced, "name": "lift 2"})
    assert let_in.status_code == 303
    cookie = next(c for c in let_in.headers.get_list("set-cookie") if c.startswith(COOKIE))
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert tablet.get("/").status_code == 200


def test_a_token_of_ones_own_making_opens_nothing(client: Any, store: Store) -> None:
    tablet = client(shared=True, at=TABLET)
    tablet.cookies.set(COOKIE, "made up")
    assert tablet.get("/api/jobs/x").status_code == 401


def test_codes_cannot_be_tried_through() -> None:
    clock = [0.0]
    doors = Doors(shared=True, code="12345678", clock=lambda: clock[0])
    assert all(doors.try_code(f"{i:08d}", "") is None for i in range(MOST_TRIES))
    assert doors.try_code("12345678", "") is None
    clock[0] = 61.0
    assert doors.try_code("12345678", "") is not None


def test_the_code_shows_on_this_machine_alone(client: Any, store: Store) -> None:
    here = client(shared=True)
    doors: Doors = here.app.state.bay.doors
    assert doors.code[:4] in here.get("/share").text
    token = doors.try_code(doors.code, "tablet")
    tablet = type(here)(
        here.app, base_url="http://192.168.7.1:8760", at=TABLET, cookies={COOKIE: token or ""}
    )
    assert f"{doors.code[:4]} {doors.code[4:]}" not in tablet.get("/share").text


def test_a_form_too_large_is_refused_by_its_length_and_by_its_bytes(
    client: Any, store: Store
) -> None:
    here = client()
    large = b'{"title": "' + b"x" * MOST_FORM + b'"}'
    kind = {"content-type": "application/json"}
    assert here.post("/api/jobs", content=large, headers=kind).status_code == 413

    async def chunks() -> AsyncIterator[bytes]:
        for start in range(0, len(large), 65536):
            yield large[start : start + 65536]

    assert here.post("/api/jobs", content=chunks(), headers=kind).status_code == 413
    assert store.jobs() == ()


@pytest.mark.parametrize(
    "name", ["../a.csv", "/etc/passwd", "a/../../b", "..\\a", "C:\\a.csv", "", "a\0b", "x" * 300]
)
def test_no_file_leads_out_of_its_folder(name: str) -> None:
    with pytest.raises(InputError):
        safe_path(name)


def test_a_plain_path_stays_as_it_is() -> None:
    assert str(safe_path("van/recordings/a.csv")) == "van/recordings/a.csv"


@pytest.mark.parametrize("path", ["/static/../app.py", "/static/%2e%2e/app.py", "/fonts/..%2fx"])
def test_no_address_leads_out_of_its_folder(client: Any, path: str) -> None:
    assert client().get(path).status_code == 404


PAGES = ("/", "/new", "/settings", "/share", "/pair", "/interface", "/practice", "/nowhere")


@pytest.mark.parametrize("path", PAGES)
def test_every_page_carries_its_policy_and_nothing_inline(client: Any, path: str) -> None:
    answer = client().get(path, headers={"accept": "text/html"})
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", answer.text)
    assert not re.search(r"(src|href)=\"(https?:)?//", answer.text)
