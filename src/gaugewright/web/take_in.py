"""Jobs brought in as a folder, a bundle or files; and the example job of the first start."""

from __future__ import annotations

import secrets
import shutil
import tempfile
from pathlib import Path, PurePosixPath
from typing import Any

from fastapi import APIRouter, Request, UploadFile
from pydantic import BaseModel

from gaugewright.errors import InputError, Problem
from gaugewright.job.folder import JOB_FILE
from gaugewright.store.lines import Kept, TakenIn
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.values import shown_as_typed
from gaugewright.web.who import device_of

router = APIRouter()
MOST_FILES = 500
MOST_DIFFERENCES = 12
BLOCK = 1 << 20
DASH = "\u2013"


class Taken(BaseModel):
    """What came of bringing a job in; with "update", `ticket` accepts it."""

    state: str
    page: str
    version: int
    says: str = ""
    differences: list[str] = []
    ticket: str = ""


class Accepted(BaseModel):
    """An offered update that shall be taken over."""

    ticket: str
    based_on: int


@router.post("/api/take-in")
def take_in(request: Request, files: list[UploadFile]) -> Taken:
    """Take in a job folder (all its files) or a bundle."""
    bay = bay_of(request)
    room = Path(tempfile.mkdtemp(prefix="gaugewright-taken-"))
    try:
        put_down(files, room)
        taken: TakenIn = bay.store.take_in(_job_in(room), device_of(request))
        if taken.state != "update":
            return _told(taken, bay)
        answer = _told(taken, bay)
        _keep(bay, answer.ticket, (room, taken))
        room = Path()
        return answer
    finally:
        if room != Path():
            shutil.rmtree(room, ignore_errors=True)


@router.get("/api/take-in/{ticket}")
def offered(request: Request, ticket: str) -> Taken:
    """An update that was offered and waits to be taken over."""
    bay = bay_of(request)
    return _told(_offer(bay, ticket)[1], bay, ticket)


def offer_of(bay: Bay, taken: TakenIn) -> str:
    """The page that shows what came of taking a job in from this machine's own disk."""
    answer = _told(taken, bay)
    if taken.state != "update":
        return answer.page
    _keep(bay, answer.ticket, (None, taken))
    return f"/?offer={answer.ticket}"


@router.post("/api/take-in/accept")
def accept(request: Request, stated: Accepted) -> Taken:
    """Take over an update that was offered, as one edit that can be undone."""
    bay = bay_of(request)
    room, taken = _offer(bay, stated.ticket)
    device = device_of(request)
    kept = bay.store.accept_update(taken.kept.id, taken.path, stated.based_on, device)
    bay.rooms["offers"].pop(stated.ticket, None)
    if room is not None:
        shutil.rmtree(room, ignore_errors=True)
    return Taken(state="same", page=f"/jobs/{kept.id}", version=kept.version)


@router.post("/api/demo")
def demo(request: Request) -> Taken:
    """Make the example job: the light van that ticks at hot idle."""
    from gaugewright.examples import van

    bay = bay_of(request)
    with tempfile.TemporaryDirectory(prefix="gaugewright-demo-") as room:
        van.make(Path(room) / "van")
        taken = bay.store.take_in(Path(room) / "van", device_of(request))
    return _told(taken, bay)


def put_down(files: list[UploadFile], room: Path) -> list[Path]:
    """Write uploaded files below this folder under their own paths; none leads out of it.

    Raises InputError where there is none, where there are too many, or for a path that would.
    """
    if not files or len(files) > MOST_FILES:
        found = f"found {len(files)} files"
        raise InputError(Problem("what was brought", "", found, f"bring 1 to {MOST_FILES}"))
    return [_put(file, room) for file in files]


def _put(file: UploadFile, room: Path) -> Path:
    target = room / safe_path(file.filename or "")
    target.parent.mkdir(parents=True, exist_ok=True)
    with target.open("wb") as out:
        while block := file.file.read(BLOCK):
            out.write(block)
    return target


def safe_path(name: str) -> PurePosixPath:
    """A file's own path, if it stays inside its folder.  Raises InputError for any other."""
    path = PurePosixPath(name.replace("\\", "/"))
    wrong = path.is_absolute() or not path.parts or ".." in path.parts or ":" in name
    if wrong or "\0" in name or len(name) > 240 or any(len(p) > 120 for p in path.parts):
        found = f'found a file named "{name[:80]}"'
        raise InputError(Problem("what was brought", "", found, "bring files with plain names"))
    return path


def _job_in(room: Path) -> Path:
    """The job among what was brought: a job.toml somewhere in it, or a bundle."""
    stated = sorted(room.rglob(JOB_FILE), key=lambda p: len(p.parts))
    if stated:
        return stated[0].parent
    zipped = sorted(p for p in room.rglob("*") if p.suffix.lower() == ".zip")
    if zipped:
        return zipped[0]
    found = f"found no {JOB_FILE} and no bundle in it"
    remedy = "make a new job and bring the recordings in there"
    raise InputError(Problem("what was brought", "", found, remedy))


def _offer(bay: Bay, ticket: str) -> tuple[Path | None, TakenIn]:
    offers: dict[str, tuple[Path | None, TakenIn]] = bay.rooms.setdefault("offers", {})
    if ticket not in offers:
        found = "this offer is no longer there"
        raise InputError(Problem("the folder", "", found, "bring it in again"))
    return offers[ticket]


def _told(taken: TakenIn, bay: Bay, ticket: str = "") -> Taken:
    kept: Kept = taken.kept
    answer = Taken(state=taken.state, page=f"/jobs/{kept.id}", version=kept.version)
    if taken.state == "update":
        words = bay.words
        answer.says = words("take-in.update", title=kept.tables.get("title", ""), n=kept.number)
        lines = [_line(d, words) for d in taken.differences]
        more = len(lines) - MOST_DIFFERENCES
        answer.differences = lines[:MOST_DIFFERENCES]
        answer.differences += [words("take-in.more", n=more)] if more > 0 else []
        answer.ticket = ticket or secrets.token_urlsafe(16)
    return answer


def _line(difference: Any, words: Any) -> str:
    return str(
        words(
            "take-in.difference",
            place=difference.place,
            here=_short(difference.here) or DASH,
            there=_short(difference.there) or DASH,
        )
    )


def _short(value: Any) -> str:
    said = shown_as_typed(value)
    return said if len(said) <= 60 else f"{said[:59]}…"


def _keep(bay: Bay, ticket: str, offer: tuple[Path | None, TakenIn]) -> None:
    offers: dict[str, tuple[Path | None, TakenIn]] = bay.rooms.setdefault("offers", {})
    while len(offers) >= 8:
        room, _ = offers.pop(next(iter(offers)))
        if room is not None:
            shutil.rmtree(room, ignore_errors=True)
    offers[ticket] = offer
