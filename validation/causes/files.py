"""Recordings and hand readings of a case, as files and as tables of job.toml."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from gaugewright.physics.numbers import Floats
from validation.causes.bench import KPA, Table
from validation.causes.stretches import KINDS, RATE_HZ, TAKEN, Lived

if TYPE_CHECKING:
    from validation.causes.cases import Case

SECOND_GAUGE: Table = {"name": "second gauge", "range": ["0 bar", "10 bar"]}
COLUMN_GAUGE: Table = {"name": "water column", "accuracy": "0.15 kPa"}
THERMOMETER: Table = {"name": "dipstick thermometer", "accuracy": "1.5 K"}
SCAN_HZ = 5.0
TRIM_STEP = 0.0078125
ZERO_S = 8.0
APART_S = 90.0
"""Between the starts of two stretches on the job's clock."""
WARM_UP_S = 1500.0
"""From the cold stretches to the hot ones."""


def written(case: Case, items: frozenset[str], folder: Path) -> tuple[list[Table], list[Table]]:
    """([[recording]], [[reading]]) of these items, their files written."""
    recordings: list[Table] = []
    readings: list[Table] = []
    for item in TAKEN:
        if item not in items:
            continue
        lived = case.stretch(item)
        recordings.append(_stretch(case, items, item, lived, folder))
        if _scans(case, items, lived):
            recordings.append(_scan(case, items, item, lived, folder))
        readings += _by_hand(case, items, item, lived)
    if "zero" in items:
        recordings.insert(0, _zero(case, folder))
    if "second-gauge" in items:
        readings.append(_second_gauge(case))
    return recordings, readings


def _offset_s(item: str) -> float:
    kind = KINDS[item]
    warmed = 0.0 if kind.cold else WARM_UP_S
    return APART_S * TAKEN.index(item) + warmed + 60.0 * kind.minutes_on


def _feels_case(items: frozenset[str], lived: Lived) -> bool:
    """Whether the crankcase is measured in this stretch."""
    if lived.kind.fast and not lived.kind.cold and "valve-commanded" not in lived.kind.did:
        return "crankcase-fast" in items
    return "crankcase" in items


def _put(case: Case, folder: Path, name: str, columns: dict[str, Floats]) -> str:
    """One file of this job, text or not."""
    import polars as pl

    frame = pl.DataFrame({key: np.asarray(values) for key, values in columns.items()})
    file = f"recordings/{name}.{'csv' if case.bench.as_text else 'parquet'}"
    if case.bench.as_text:
        frame.write_csv(folder / file, float_precision=5)
    else:
        frame.cast(pl.Float32).write_parquet(folder / file)
    return file


def _stretch(case: Case, items: frozenset[str], item: str, lived: Lived, folder: Path) -> Table:
    """The fast logger's file of one stretch."""
    rng, bench = case.random(item), case.bench
    outside = float(np.asarray(case.patient.engine.air.barometer_pa))
    signals: list[Table] = [_oil_signal(case)]
    columns = {"oil_v": bench.oil.record(rng, lived.lanes["oil_gauge_pa"], 1.0 / RATE_HZ)}
    columns["turns"], signal = _turning(case, rng, lived)
    signals.append(signal)
    if bench.warmth in ("column", "coolant"):
        columns["warm"], signal = _warmth(case, rng, lived)
        signals.append(signal)
    if _feels_case(items, lived) and bench.crankcase != "hand":
        over = lived.lanes["crankcase_pa"] - outside
        columns["case"], signal = _case(case, rng, over)
        signals.append(signal)
    return {
        "name": lived.kind.name,
        "visit": "first",
        "file": _put(case, folder, item, columns),
        "rate": f"{RATE_HZ:g} Hz",
        "clock_offset": f"{_offset_s(item):g} s",
        "signal": signals,
        "condition": [_condition(lived)],
    }


def _condition(lived: Lived) -> Table:
    return {
        "name": lived.kind.name,
        "from": f"{lived.from_s:.2f} s",
        "to": f"{lived.to_s:.2f} s",
        "did": list(lived.kind.did),
    }


def _oil_signal(case: Case) -> Table:
    table: Table = {"column": "oil_v", "quantity": "oil-pressure", "sensor": "oil transducer"}
    table["port"] = "main gallery"
    if "supply" in case.bench.oil.table:
        table["supply"] = f"{case.bench.oil.supply_v} V"
    return table


def _turning(case: Case, rng: np.random.Generator, lived: Lived) -> tuple[Floats, Table]:
    if case.bench.speed == "ignition":
        heard = lived.lanes["ignition_v"] + 0.03 * rng.standard_normal(len(lived.time_s))
        return heard, {"column": "turns", "quantity": "ignition", "unit": "V", "cylinder": 1}
    told = _carried(lived.lanes["speed_rpm"], 10.0)
    return np.round(told), {"column": "turns", "quantity": "engine-speed", "unit": "rpm"}


def _carried(values: Floats, hz: float) -> Floats:
    """A value that is renewed only so often, as means."""
    block = int(RATE_HZ / hz)
    parts = [values[k : k + block].mean() for k in range(0, len(values), block)]
    return np.repeat(np.array(parts), block)[: len(values)]


def _warmth(case: Case, rng: np.random.Generator, lived: Lived) -> tuple[Floats, Table]:
    lane = "oil_degc" if case.bench.warmth == "column" else "coolant_degc"
    quantity = "oil-temperature" if case.bench.warmth == "column" else "coolant-temperature"
    told = _carried(lived.lanes[lane], 2.0) + 0.3 * float(rng.standard_normal())
    return np.round(told, 1), {"column": "warm", "quantity": quantity, "unit": "degC"}


def _case(case: Case, rng: np.random.Generator, over_pa: Floats) -> tuple[Floats, Table]:
    table: Table = {"column": "case", "quantity": "crankcase-pressure", "port": "dipstick tube"}
    if case.bench.crankcase == "volts":
        table["sensor"] = "crankcase transducer"
        return case.bench.case.record(rng, over_pa, 1.0 / RATE_HZ), table
    noisy = over_pa + 0.5 * case.bench.case_error_pa + 30.0 * rng.standard_normal(len(over_pa))
    return np.round(noisy / KPA, 3), table | {"unit": "kPa", "reference": "atmosphere"}


def _scan_lanes(items: frozenset[str], lived: Lived) -> list[str]:
    """What the scan tool is asked for in this stretch."""
    wanted = "trim-fast" if lived.kind.fast else "trim-idle"
    lanes = ["trim_short", "trim_long"] if wanted in items and not lived.kind.cold else []
    return lanes + (["manifold_pa", "air_kg_s"] if "manifold" in items else [])


def _scans(case: Case, items: frozenset[str], lived: Lived) -> bool:
    return case.bench.scanned and bool(_scan_lanes(items, lived))


_SCANNED = {
    "trim_short": ("fuel-trim-short", "%", 100.0),
    "trim_long": ("fuel-trim-long", "%", 100.0),
    "manifold_pa": ("manifold-pressure", "kPa", 1e-3),
    "air_kg_s": ("air-flow", "g/s", 1e3),
}


def _scan(case: Case, items: frozenset[str], item: str, lived: Lived, folder: Path) -> Table:
    """The scan tool's file of one stretch."""
    every = slice(None, None, int(RATE_HZ / SCAN_HZ))
    columns = {
        "time": lived.time_s[every] - lived.time_s[0],
        "rpm": np.round(_carried(lived.lanes["speed_rpm"], SCAN_HZ)[every]),
    }
    signals: list[Table] = [{"column": "rpm", "quantity": "engine-speed", "unit": "rpm"}]
    for lane in _scan_lanes(items, lived):
        if lane == "air_kg_s" and case.patient.car.build.metering != "air-mass":
            continue
        quantity, unit, factor = _SCANNED[lane]
        columns[lane] = factor * _scanned(case, lived, lane)[every]
        signal: Table = {"column": lane, "quantity": quantity, "unit": unit}
        signals.append(signal | ({"reference": "vacuum"} if lane == "manifold_pa" else {}))
    return {
        "name": f"{lived.kind.name}, scan tool",
        "visit": "first",
        "file": _put(case, folder, f"{item}-scan", columns),
        "time": "time",
        "time_unit": "s",
        "clock_offset": f"{_offset_s(item):g} s",
        "signal": signals,
        "condition": [_condition(lived)],
    }


def _scanned(case: Case, lived: Lived, lane: str) -> Floats:
    """A lane as the control unit has it: slow, in its own steps, a little off."""
    values = _carried(lived.lanes[lane], SCAN_HZ)
    if lane.startswith("trim"):
        return np.asarray(np.round(values / TRIM_STEP) * TRIM_STEP)
    if lane == "manifold_pa":
        return np.asarray(np.round((values + case.bench.manifold_error_pa) / 333.0) * 333.0)
    return np.asarray(np.round(values, 5))


def _by_hand(case: Case, items: frozenset[str], item: str, lived: Lived) -> list[Table]:
    """What was read off and noted in this stretch."""
    rng = np.random.default_rng([case.seed, case.number, 8, list(KINDS).index(item)])
    bench, noted = case.bench, []
    if bench.warmth == "hand" or (lived.kind.cold and bench.warmth == "coolant"):
        degc = lived.mean("oil_degc") + bench.warmth_error_k + 0.5 * float(rng.standard_normal())
        noted.append(("oil-temperature", f"{degc:.1f} degC", "0.5 K", THERMOMETER["name"]))
    if _feels_case(items, lived) and bench.crankcase == "hand":
        noted += _column_gauge(case, rng, lived)
    if not bench.scanned:
        noted += _noted(case, rng, items, lived)
    return [_reading(lived, *one) for one in noted]


Noted = tuple[str, str, str, str]


def _reading(lived: Lived, quantity: str, value: str, sigma: str, instrument: str) -> Table:
    table: Table = {"quantity": quantity, "value": value, "uncertainty": sigma}
    table |= {"condition": lived.kind.name, "visit": "first"}
    if instrument:
        table["instrument"] = instrument
    if quantity.endswith("pressure"):
        table["reference"] = "vacuum" if quantity == "manifold-pressure" else "atmosphere"
    return table


def _column_gauge(case: Case, rng: np.random.Generator, lived: Lived) -> list[Noted]:
    if "vent-port-blocked" in lived.kind.did:
        return []
    outside = float(np.asarray(case.patient.engine.air.barometer_pa))
    off = case.bench.case_error_pa + 60.0 * float(rng.standard_normal())
    kpa = (lived.mean("crankcase_pa") - outside + off) / KPA
    return [("crankcase-pressure", f"{kpa:.2f} kPa", "0.06 kPa", str(COLUMN_GAUGE["name"]))]


def _noted(
    case: Case, rng: np.random.Generator, items: frozenset[str], lived: Lived
) -> list[Noted]:
    """Values noted from the scan tool's screen."""
    found: list[Noted] = []
    for lane in _scan_lanes(items, lived):
        if lane == "air_kg_s":
            continue
        quantity, unit, factor = _SCANNED[lane]
        value = lived.mean(lane)
        if lane == "manifold_pa":
            value += case.bench.manifold_error_pa + 200.0 * float(rng.standard_normal())
            found.append((quantity, f"{value * factor:.1f} {unit}", "0.8 kPa", ""))
        else:
            value += 0.008 * float(rng.standard_normal())
            found.append((quantity, f"{value * factor:.1f} {unit}", "1 %", ""))
    return found


def _zero(case: Case, folder: Path) -> Table:
    """The engine off, hot: everything at the outside pressure."""
    rng, bench = case.random("zero"), case.bench
    nothing = np.zeros(int(ZERO_S * RATE_HZ))
    signals: list[Table] = [_oil_signal(case)]
    columns = {"oil_v": bench.oil.record(rng, nothing, 1.0 / RATE_HZ)}
    if bench.crankcase == "volts":
        columns["case"], signal = _case(case, rng, nothing)
        signals.append(signal)
    return {
        "name": "engine off",
        "visit": "first",
        "file": _put(case, folder, "zero", columns),
        "rate": f"{RATE_HZ:g} Hz",
        "clock_offset": f"{WARM_UP_S:g} s",
        "signal": signals,
        "condition": [
            {"name": "engine off", "from": "0.2 s", "to": "7.8 s", "did": ["engine-off"]}
        ],
    }


def _second_gauge(case: Case) -> Table:
    """The same hot idle by another gauge, its error drawn once."""
    lived = case.stretch("hot-idle")
    rng, bench = case.random("second-gauge"), case.bench
    pa = lived.mean("oil_gauge_pa") + bench.gauge_error_pa + 1e3 * float(rng.standard_normal())
    table = _reading(lived, "oil-pressure", f"{pa / KPA:.1f} kPa", "1 kPa", "second gauge")
    return table
