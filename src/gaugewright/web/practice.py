"""Practice: a job with a hidden fault; the learner picks tests, the virtual engine answers."""

from __future__ import annotations

import json
import os
import secrets
import tempfile
import tomllib
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, Field

from gaugewright.errors import InputError, Problem
from gaugewright.store.changes import Change, plain
from gaugewright.web.bay import Bay, bay_of
from gaugewright.web.templating import lenient, page
from gaugewright.web.who import device_of

router = APIRouter()
MOST_SEED = 1_000_000
Word = Annotated[str, Field(max_length=80)]


class Start(BaseModel):
    """A round to begin: its level, and the number that makes its car (None: drawn)."""

    level: Literal[1, 2, 3] = 1
    seed: Annotated[int, Field(ge=0, le=10**9)] | None = None


class Ask(BaseModel):
    """A test the learner picks."""

    test: Word


class Say(BaseModel):
    """What the learner says is the matter: causes of the list, in no order."""

    causes: Annotated[list[Word], Field(max_length=4)] = []


class Went(BaseModel):
    """Where the round goes on, and what was seen."""

    page: str
    saw: str = ""
    minutes: float = 0.0


@router.get("/practice", response_class=HTMLResponse, include_in_schema=False)
def practice_page(request: Request) -> HTMLResponse:
    """Rounds that were begun, and a new one."""
    from gaugewright.examples.practice.levels import LEVELS

    bay = bay_of(request)
    begun = [
        (line, state) for line in bay.store.jobs() if (state := _state(bay, line.id)) is not None
    ]
    return page(request, "practice.html", levels=LEVELS.values(), begun=begun)


@router.post("/api/practice", status_code=201)
def begin(request: Request, stated: Start) -> Went:
    """Begin a round: a car comes in with a complaint, nothing is measured yet."""
    from gaugewright.examples.practice import answering

    bay, device = bay_of(request), device_of(request)
    seed = secrets.randbelow(MOST_SEED) if stated.seed is None else stated.seed
    tables = plain(tomllib.loads(answering.opening(_car(bay, stated.level, seed))))
    vehicle = dict(tables.pop("vehicle"))
    kept = bay.store.new_job(
        tables.pop("title"),
        vehicle.pop("cylinders"),
        vehicle.pop("cycle"),
        device=device,
        **vehicle,
    )
    changes = [Change(key, None, value) for key, value in tables.items() if key != "format"]
    bay.store.edit(kept.id, changes, kept.version, device)
    _write(bay, kept.id, {"level": stated.level, "seed": seed, "done": [], "said": None})
    return Went(page=f"/practice/{kept.id}")


@router.get("/practice/{job}", response_class=HTMLResponse, include_in_schema=False)
def round_page(request: Request, job: str) -> HTMLResponse:
    """One round: the complaint, the tests on offer, what they gave, the time they took."""
    from gaugewright.examples.practice.answering import on_offer
    from gaugewright.report.words import CAUSE

    bay = bay_of(request)
    kept = bay.store.job(job)
    state = _known(bay, job)
    car = _car(bay, state["level"], state["seed"])
    done = {one["test"] for one in state["done"]}
    tests = [test for test in on_offer(car) if test.name not in done]
    return page(
        request,
        "round.html",
        kept=kept,
        tables=lenient(dict(kept.tables)),
        state=state,
        tests=tests,
        spent=sum(one["minutes"] for one in state["done"]),
        titles={test.name: test.title for test in on_offer(car)},
        causes={name: said for name, said in CAUSE.items() if name != "none-of-these"},
        truth=_truth(bay, car) if state["said"] is not None else None,
    )


@router.post("/api/practice/{job}/ask")
def ask(request: Request, job: str, stated: Ask) -> Went:
    """Do a test: the virtual engine answers with a recording, or with what is seen."""
    from gaugewright.examples.practice.answering import answer

    bay, device = bay_of(request), device_of(request)
    state = _known(bay, job)
    number = len(state["done"]) + 1
    made = answer(_car(bay, state["level"], state["seed"]), stated.test, number)
    for recording in made.recordings:
        _record(bay, job, recording, device)
    if made.observation is not None:
        _observe(bay, job, made.observation, device)
    told = {"test": made.test, "minutes": made.minutes, "saw": made.saw}
    _write(bay, job, {**state, "done": [*state["done"], told]})
    return Went(page=f"/practice/{job}", saw=made.saw, minutes=made.minutes)


@router.post("/api/practice/{job}/reveal")
def reveal(request: Request, job: str, stated: Say) -> Went:
    """Say what it is, and open the truth."""
    bay = bay_of(request)
    state = _known(bay, job)
    _write(bay, job, {**state, "said": stated.causes})
    return Went(page=f"/practice/{job}#truth")


def _record(bay: Bay, job: str, made: Any, device: str) -> None:
    """The answer's file, kept as a recording of the job with its stretches marked."""
    mapping = {k: v for k, v in made.table.items() if k not in ("name", "file")}
    with tempfile.TemporaryDirectory(prefix="gaugewright-practice-") as room:
        path = Path(room) / Path(made.file).name
        path.write_bytes(made.data)
        version = bay.store.job(job).version
        bay.store.add_recording(job, made.table["name"], path, mapping, version, device=device)


def _observe(bay: Bay, job: str, told: dict[str, str], device: str) -> None:
    kept = bay.store.job(job)
    seen = [row.get("what") for row in kept.tables.get("observation") or []]
    if told["what"] not in seen:
        bay.store.edit(job, Change("observation.-", None, told), kept.version, device)


def _truth(bay: Bay, car: Any) -> dict[str, Any]:
    from gaugewright.examples.practice.revealing import revealed
    from gaugewright.report import causes, display, phrases

    found = revealed(car)

    def said(one: Any, value: float) -> str:
        how = display.shown(one.quantity, one.unit, bay.preferences(), reference=one.reference)
        return display.plain(value, how)

    return {
        "faults": [(one.cause, causes.name(one.cause), one.tells) for one in found.faults],
        "besides": found.besides,
        "decisive": [causes.test_name(name) for name in found.decisive],
        "gave_away": [
            (
                phrases.capital(phrases.quantity(one.quantity)),
                one.condition,
                said(one, one.here),
                said(one, one.sound),
            )
            for one in found.gave_away
        ],
    }


def _car(bay: Bay, level: int, seed: int) -> Any:
    """A car, made once while the app runs."""
    from gaugewright.examples.practice.answering import car

    cars: dict[tuple[int, int], Any] = bay.rooms.setdefault("cars", {})
    if (level, seed) not in cars:
        while len(cars) >= 8:
            cars.pop(next(iter(cars)))
        cars[level, seed] = car(level, seed)
    return cars[level, seed]


def _path(bay: Bay, job: str) -> Path:
    return Path(bay.store.folder) / "practice" / f"{job}.json"


def _state(bay: Bay, job: str) -> dict[str, Any] | None:
    try:
        found: dict[str, Any] = json.loads(_path(bay, job).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return found


def _known(bay: Bay, job: str) -> dict[str, Any]:
    bay.store.job(job)
    state = _state(bay, job)
    if state is None:
        remedy = "begin a round under Practice"
        raise InputError(Problem(f"job {job}", "", "this job is no practice round", remedy))
    return state


def _write(bay: Bay, job: str, state: dict[str, Any]) -> None:
    """Keep a round's state, whole or not at all."""
    path = _path(bay, job)
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    beside.write_text(json.dumps(state, ensure_ascii=False), encoding="utf-8")
    os.replace(beside, path)
