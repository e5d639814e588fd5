"""Each cause does to the virtual engine what the trade's table of signatures says: sign and order.

The table stands in signatures.toml beside this file, written from the trade's words.  Here its
words get their meaning in numbers, and every row is one test.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine
from gaugewright.engine.sound import sound
from gaugewright.engine.steady import solve

TABLE = tomllib.loads((Path(__file__).parent / "signatures.toml").read_text(encoding="utf-8"))
Floats = npt.NDArray[np.float64]

SEVERITIES = {"mild": 0.25, "middle": 0.5, "gross": 1.0}
BUILDS = {
    "": Build(),
    "two-stage": replace(Build(), oil_pump="two-stage"),
    "manifold-pressure": replace(Build(), metering="manifold-pressure"),
}
CAP_OFF, PLUGGED = frozenset({"filler-cap-off"}), frozenset({"vent-port-blocked"})
CONDITIONS = {
    "hot idle": Held(),
    "hot 800": Held(speed_rpm=800.0),
    "hot 2000": Held(speed_rpm=2000.0),
    "hot 2500": Held(speed_rpm=2500.0),
    "hot 3000": Held(speed_rpm=3000.0),
    "hot 4500": Held(speed_rpm=4500.0),
    "hot 6000": Held(speed_rpm=6000.0),
    "hot 3000 soon": Held(speed_rpm=3000.0, for_s=5.0),
    "hot 3000 two minutes": Held(speed_rpm=3000.0, for_s=120.0),
    "hot 3000 long": Held(speed_rpm=3000.0, for_s=600.0),
    "loaded 2500": Held(speed_rpm=2500.0, load_nm=50.0),
    "cool idle": Held(speed_rpm=800.0, oil_degc=60.0),
    "cold idle": Held(speed_rpm=1200.0, oil_degc=10.0),
    "cold 2000": Held(speed_rpm=2000.0, oil_degc=10.0),
    "cold 3000": Held(speed_rpm=3000.0, oil_degc=10.0),
    "cap off": Held(did=CAP_OFF),
    "cap off 800": Held(did=CAP_OFF, speed_rpm=800.0),
    "vent plugged": Held(did=PLUGGED),
    "valve commanded": Held(did=frozenset({"valve-commanded"}), speed_rpm=2000.0),
}


@dataclass(frozen=True)
class Sizes:
    """How large an effect is for "visible", "same", "little": shares, Pa or rpm."""

    visible: float
    same: float
    little: float


SIZES = {
    "gauge": Sizes(0.02, 0.03, 0.10),
    "bearings": Sizes(0.02, 0.03, 0.10),
    "crankcase": Sizes(150.0, 150.0, 600.0),
    "trim": Sizes(0.02, 0.01, 0.08),
    "speed": Sizes(15.0, 8.0, 40.0),
    "vacuum": Sizes(500.0, 300.0, 1000.0),
    "air": Sizes(0.003, 0.003, 0.01),
    "lamp": Sizes(0.5, 0.0, 0.0),
    "restless": Sizes(0.003, 0.001, 0.003),
}
RELATIVE = ("gauge", "bearings")


@cache
def levels(cause: str, build: str) -> dict[str, dict[str, Floats]]:
    """what -> condition -> the values at mild, middle and gross ("" is the sound engine)."""
    kind = BUILDS[build]
    engine: Engine = sound(kind)
    if cause:
        severity = np.array(list(SEVERITIES.values()))
        engine = FAULTS[cause].applied(kind, engine, severity)
    solved = solve(kind, engine, list(CONDITIONS.values()))
    assert np.all(solved.converged)
    outside = engine.air.barometer_pa
    values = {
        "gauge": solved.gauge_pa,
        "bearings": solved.gallery_pa,
        "crankcase": solved.crankcase_pa - outside,
        "trim": solved.trim,
        "speed": solved.speed_rpm,
        "vacuum": outside - solved.manifold_pa,
        "air": solved.air_share,
        "lamp": solved.lamp,
        "restless": solved.restless,
    }
    count = len(SEVERITIES)
    wide = {
        k: np.broadcast_to(np.asarray(v, float), (len(CONDITIONS), count))
        for k, v in values.items()
    }
    return {k: dict(zip(CONDITIONS, v, strict=True)) for k, v in wide.items()}


def effect(row: dict[str, Any], at: str) -> Floats:
    """How far the faulty engine stands from the sound one, by severity."""
    what, build = row["what"], row.get("build", "")
    faulty, whole = levels(row["cause"], build)[what][at], levels("", build)[what][at]
    return faulty / whole - 1.0 if what in RELATIVE else faulty - whole


def own(row: dict[str, Any], cause: str) -> Floats:
    """How far an engine's value moves from one of its conditions to another."""
    values = levels(cause, row.get("build", ""))[row["what"]]
    step = values[row["at"]] - values[row["from"]]
    return step / values[row["from"]] if row["what"] in RELATIVE else step


def chosen(row: dict[str, Any], values: Floats, most: tuple[str, ...] = ()) -> Floats:
    """The values at the severities that the row speaks of."""
    names = row.get("only", most or tuple(SEVERITIES))
    return values[[list(SEVERITIES).index(name) for name in names]]


def lower(row: dict[str, Any]) -> bool:
    return _moved(row, -effect(row, row["at"]))


def higher(row: dict[str, Any]) -> bool:
    return _moved(row, effect(row, row["at"]))


def _moved(row: dict[str, Any], moved: Floats) -> bool:
    """Right sign at every severity, never shrinking, visible from the middle on."""
    size = row.get("visible", SIZES[row["what"]].visible)
    large = [name for name in row.get("only", SEVERITIES) if name != "mild"]
    seen = chosen({"only": large}, moved)
    grows = not row.get("grows", True) or np.all(
        np.diff(chosen(row, moved)) >= -0.02 * np.max(np.abs(moved))
    )
    return bool(np.all(chosen(row, moved) > 0.0) and np.all(seen >= size) and grows)


def same(row: dict[str, Any]) -> bool:
    return bool(np.all(np.abs(chosen(row, effect(row, row["at"]))) <= SIZES[row["what"]].same))


def little(row: dict[str, Any]) -> bool:
    return bool(np.all(np.abs(chosen(row, effect(row, row["at"]))) <= SIZES[row["what"]].little))


def not_lower(row: dict[str, Any]) -> bool:
    return bool(np.all(chosen(row, effect(row, row["at"])) >= -0.1 * SIZES[row["what"]].same))


def not_higher(row: dict[str, Any]) -> bool:
    return bool(np.all(chosen(row, effect(row, row["at"])) <= 0.1 * SIZES[row["what"]].same))


def more_than(row: dict[str, Any]) -> bool:
    here, there = np.abs(effect(row, row["at"])), np.abs(effect(row, row["than"]))
    by = row.get("by", 1.0)
    most = ("middle", "gross")
    margin = 0.25 * SIZES[row["what"]].visible
    return bool(np.all(chosen(row, here - by * there, most) > margin))


def rises(row: dict[str, Any]) -> bool:
    return bool(np.all(chosen(row, own(row, row["cause"])) > SIZES[row["what"]].visible))


def falls(row: dict[str, Any]) -> bool:
    return bool(np.all(chosen(row, own(row, row["cause"])) < -SIZES[row["what"]].visible))


def as_sound(row: dict[str, Any]) -> bool:
    """The faulty engine moves by as many pascals as the sound one."""
    apart = _step(row, row["cause"]) - _step(row, "")
    return bool(np.all(np.abs(chosen(row, apart)) <= AS_SOUND_PA))


AS_SOUND_PA = 1200.0
"""With free air in the oil, crankcase vacuum costs some of the pump's filling: less than a gauge
in the shop resolves."""


def _step(row: dict[str, Any], cause: str) -> Floats:
    values = levels(cause, row.get("build", ""))[row["what"]]
    return values[row["at"]] - values[row["from"]]


def between(row: dict[str, Any]) -> bool:
    low, high = row["range"]
    values = chosen(row, _measured(row))
    return bool(np.all((low <= values) & (values <= high)))


def _measured(row: dict[str, Any]) -> Floats:
    what, _, how = row["what"].partition(" ")
    if not row.get("level"):
        return effect(row, row["at"])
    values = levels(row["cause"], row.get("build", ""))[what]
    if how == "change":
        return values[row["at"]] - values[row["from"]]
    return values[row["at"]] / values[row["from"]] if how == "ratio" else values[row["at"]]


MEANINGS = {
    "lower": lower,
    "higher": higher,
    "same": same,
    "little": little,
    "not lower": not_lower,
    "not higher": not_higher,
    "more than": more_than,
    "rises": rises,
    "falls": falls,
    "as sound": as_sound,
    "between": between,
}


def normal_rows() -> list[dict[str, Any]]:
    """A row for each cell of the trade's table that says normal, nothing, or a dash."""
    normal = TABLE["normal"]
    cells = [
        ("CC", "crankcase", "hot idle", "same", {}),
        ("CC", "crankcase", "hot 2500", "same", {}),
        ("trims", "trim", "hot idle", "same", {}),
        ("trims", "trim", "hot 2500", "same", {}),
        ("idle", "speed", "hot idle", "same", {}),
        ("cap off, vent plugged", "gauge", "cap off 800", "as sound", {"from": "hot 800"}),
    ]
    lists = {"CC": "crankcase", "trims": "trim", "idle": "speed", "cap off, vent plugged": "cap"}
    return [
        {
            "cause": cause,
            "cell": cell,
            "trade": "normal",
            "source": normal["source"],
            "what": what,
            "at": at,
            "is": how,
            **more,
        }
        for cell, what, at, how, more in cells
        for cause in normal[lists[cell]]
    ]


ROWS: list[dict[str, Any]] = [*TABLE["row"], *normal_rows()]


def named(row: dict[str, Any]) -> str:
    parts = [
        row["cause"],
        row.get("build", ""),
        row["what"],
        row["at"],
        row["is"],
        row.get("than", row.get("from", "")),
        "+".join(row.get("only", ())),
    ]
    return "-".join(part.replace(" ", "_") for part in parts if part)


@pytest.mark.parametrize("row", ROWS, ids=named)
def test_a_cause_does_what_the_trade_sees(row: dict[str, Any]) -> None:
    assert MEANINGS[row["is"]](row), report(row)


def report(row: dict[str, Any]) -> str:
    """What was found, for the one who has to mend it."""
    what = row["what"].partition(" ")[0]
    places = [row[key] for key in ("at", "than", "from") if key in row]
    lines = [f'{row["cause"]}: {row["cell"]}: the trade says "{row["trade"]}"']
    for place in places:
        faulty = levels(row["cause"], row.get("build", ""))[what][place]
        whole = levels("", row.get("build", ""))[what][place][0]
        shown = ", ".join(f"{v:.5g}" for v in faulty)
        lines.append(f"  {what} at {place}: {shown} (mild, middle, gross); sound {whole:.5g}")
    return "\n".join(lines)


def test_every_cause_of_the_catalogue_has_rows() -> None:
    assert {row["cause"] for row in ROWS} == set(FAULTS)


def test_every_row_says_where_it_comes_from() -> None:
    assert {row["source"] for row in ROWS} == {"common practice, no source", "computed"}


def test_a_row_of_the_wrong_sign_fails() -> None:
    row = next(r for r in ROWS if r["cause"] == "worn-bearings" and r["is"] == "lower")
    assert lower(row)
    assert not higher(row)
    assert not same(row)
