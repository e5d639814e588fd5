"""A random job's files as two loggers wrote them, and the sealed truth kept beside them."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import polars as pl

from validation.engine import Engine, Held, drawn
from validation.instruments import SensorTruth, Table
from validation.noise import Floats, Rng, held_late
from validation.recipe import Recipe
from validation.timeline import Course

SPLIT_EVERY = 5
"""Of so many jobs one has a file for each condition."""

PER_CYCLE = {"coil-on-plug": 1, "wasted-spark": 2, "distributor": 4}


@dataclass(frozen=True)
class Cycles:
    """One signal over the whole cycles of one settled condition, as an analyst may use it.

    Values are kPa by the sensor's nominal line, against its own reference.
    """

    start_s: Floats
    middle_s: Floats
    duration_s: Floats
    speed_rpm: Floats
    values: Floats


@dataclass(frozen=True)
class LimitTruth:
    """A limit as written, in kPa, with what settles it."""

    name: str
    quantity: str
    condition: str
    min_kpa: float | None
    max_kpa: float | None
    speed_rpm: float | None
    oil_degc: float | None
    crankcase_kpa: float


@dataclass
class Made:
    """A job on disk and everything that is true about it."""

    seed: int
    folder: Path
    recipe: Recipe
    engines: list[Engine] = field(default_factory=list)
    courses: dict[str, Course] = field(default_factory=dict)
    cycles: dict[tuple[str, str, str], Cycles] = field(default_factory=dict)
    zeros: dict[tuple[str, str], float] = field(default_factory=dict)
    hand: list[dict[str, object]] = field(default_factory=list)
    limits: list[LimitTruth] = field(default_factory=list)
    switch_kpa: float | None = None
    job: Table = field(default_factory=dict)

    def held(self, visit: str, condition: str) -> tuple[Engine, Held] | None:
        """The engine and the condition of that name, or None (engine off, unknown)."""
        for engine in self.engines:
            for held in engine.conditions:
                if (engine.visit, held.name) == (visit, condition):
                    return engine, held
        return None

    def state(self, engine: Engine, held: Held) -> tuple[float, float]:
        """Mean speed and oil temperature of a condition's settled part."""
        speed = self.courses[engine.visit].mean_speed(held.start_s, held.end_s)
        return speed, float(engine.temperature(held.middle_s))

    def level(self, visit: str, condition: str, quantity: str, reference: str) -> float | None:
        """The true reading: the settled mean at the stretch's own speed and temperature."""
        found = self.held(visit, condition)
        if found is None or quantity not in ("oil-pressure", "crankcase-pressure"):
            return None
        return found[0].level(found[1], quantity, reference, *self.state(*found))


def _volts(rng: Rng, recipe: Recipe, sensor: SensorTruth, own_kpa: Floats) -> tuple[Floats, Floats]:
    """(n,) recorded volts and (n,) whether interference struck, for a sensor's own pressure."""
    share = recipe.supply_v / 5.0 if sensor.supply else 1.0
    volts = sensor.output(own_kpa) * share
    volts = volts + recipe.sample_noise_v * rng.standard_normal(len(volts))
    volts = np.clip(volts, sensor.low_stop_v * share, sensor.high_stop_v * share)
    struck = rng.random(len(volts)) < recipe.spikes
    volts = volts + struck * rng.choice([-1.0, 1.0], len(volts)) * rng.uniform(0.3, 2.0, len(volts))
    return np.round(volts / recipe.adc_step_v) * recipe.adc_step_v, struck.astype(np.float64)


def _own(sensor: SensorTruth, gauge_kpa: Floats, barometer_kpa: float) -> Floats:
    """(n,) pressure against the sensor's own reference."""
    if sensor.reference == "vacuum":
        return gauge_kpa + barometer_kpa
    if sensor.reference == "sealed":
        return gauge_kpa + barometer_kpa - float(sensor.sealed_at_kpa or 0.0)
    return gauge_kpa


def _averaged(values: Floats, factor: int) -> Floats:
    """(n // factor,) block means, what a slow logger keeps."""
    whole = len(values) // factor * factor
    return np.asarray(values[:whole].reshape(-1, factor).mean(axis=1))


def _per_cycle(
    made: Made, course: Course, visit: str, role: str, columns: tuple[Floats, Floats, Floats]
) -> None:
    """Keep the means over the true cycles of one signal for the analyst."""
    time_s, values, struck = columns
    engine = next(e for e in made.engines if e.visit == visit)
    for held in engine.conditions:
        edges = course.cycles(held.start_s, held.end_s)
        index = np.digitize(time_s, edges) - 1
        use = (index >= 0) & (index < len(edges) - 1) & (struck == 0.0)
        counts = np.bincount(index[use], minlength=len(edges) - 1)
        sums = np.bincount(index[use], weights=values[use], minlength=len(edges) - 1)
        good = counts > 0
        lengths = np.diff(edges)
        made.cycles[visit, held.name, role] = Cycles(
            start_s=edges[:-1][good],
            middle_s=(0.5 * (edges[:-1] + edges[1:]))[good],
            duration_s=lengths[good],
            speed_rpm=120.0 / lengths[good],
            values=sums[good] / counts[good],
        )


def _pressure_column(
    made: Made, rng: Rng, visit: str, role: str, factor: int, off_s: float
) -> tuple[Floats, bool]:
    """The recorded column of one pressure, kept per cycle too; and whether it is in volts."""
    recipe, course = made.recipe, made.courses[visit]
    gauge = course.crankcase_kpa if role == "box" else course.gauge_kpa
    sensor = recipe.sensors()[role]
    time_s = _averaged(course.time_s, factor)
    if sensor is None:
        shown = np.round(_averaged(gauge, factor), 2)
        _per_cycle(made, course, visit, role, (time_s, shown, np.zeros_like(shown)))
        return shown, False
    if sensor.reference == "crankcase":
        gauge = gauge - course.crankcase_kpa
    own = _averaged(_own(sensor, gauge, recipe.barometer_kpa), factor)
    volts, struck = _volts(rng, recipe, sensor, own)
    nominal = sensor.nominal(volts * (5.0 / recipe.supply_v if sensor.supply else 1.0))
    _per_cycle(made, course, visit, role, (time_s, nominal, struck))
    if off_s and "zero-stop" not in recipe.quirks:
        quiet = (time_s > 1.0) & (time_s < off_s - 0.5) & (struck == 0.0)
        made.zeros[visit, role] = float(nominal[quiet].mean())
    return volts, True


def _ignition(rng: Rng, recipe: Recipe, course: Course) -> Floats:
    """(n,) pulses of 3 ms and 5 V, with a little noise."""
    each = PER_CYCLE[recipe.ignition]
    since = np.mod(course.phase * each, 1.0) * 120.0 / each / np.maximum(course.speed_rpm, 1.0)
    pulses = 5.0 * ((since < 0.003) & (course.speed_rpm > 150.0))
    return np.asarray(np.round(pulses + 0.03 * rng.standard_normal(len(pulses)), 3))


@dataclass(frozen=True)
class Window:
    """A piece of a visit that one file holds: name, true times, and its clock's zero."""

    name: str
    from_s: float
    to_s: float
    zero_s: float
    told_s: float | None


def _marks(made: Made, engine: Engine) -> list[tuple[str, str, float, float]]:
    """Every marked stretch of a visit: name, what was done, true times."""
    marks = [(h.name, h.did[0], h.marked_from_s, h.marked_to_s) for h in engine.conditions]
    if "off" not in made.recipe.quirks:
        return marks
    return [("engine off", "engine-off", 1.0, engine.conditions[0].start_s - 6.5), *marks]


def _windows(made: Made, rng: Rng, engine: Engine, name: str, end_s: float) -> list[Window]:
    """One file for the whole visit, or one for each condition."""
    if name != "main":
        zero = drawn(rng, -40.0, 0.9)
        told = round(zero + 0.02 * float(rng.standard_normal()), 3)
        return [Window(f"{engine.visit} {name}", max(zero, 0.0), end_s, zero, told)]
    if made.seed % SPLIT_EVERY != SPLIT_EVERY - 1:
        return [Window(f"{engine.visit} {name}", 0.0, end_s, 0.0, None)]
    silent = made.recipe.temperature in ("column", "hand") and not made.recipe.two_loggers
    windows = []
    for condition, _, begin, end in _marks(made, engine):
        start = round(max(begin - 1.5, 0.0), 2)
        told = None if silent and made.seed % 2 else start
        windows.append(Window(f"{engine.visit} {condition}", start, end + 1.0, start, told))
    return windows


def _logger(
    made: Made, rng: Rng, visit: str, name: str, frame: dict[str, Floats], factor: int
) -> list[Table]:
    """Write one logger's files with their own clocks; [[recording]] tables without signals."""
    course = made.courses[visit]
    engine = next(e for e in made.engines if e.visit == visit)
    time_s = _averaged(course.time_s, factor)
    tables = []
    for window in _windows(made, rng, engine, name, float(time_s[-1])):
        keep = (time_s >= window.from_s) & (time_s <= window.to_s)
        columns = {"t": np.round(time_s - window.zero_s, 4)} | frame
        path = f"recordings/{window.name.replace(' ', '-')}.csv"
        shown = pl.DataFrame({key: values[keep] for key, values in columns.items()})
        _write(made, path, shown, name == "box" and made.seed % 2 == 0)
        table: Table = {"name": window.name, "visit": visit, "file": path, "time": "t"}
        if window.told_s is not None:
            table["clock_offset"] = f"{window.told_s:.3f} s"
        inside = [m for m in _marks(made, engine) if window.from_s <= m[2] and m[3] <= window.to_s]
        tables.append(table | {"condition": [_condition(mark, window.zero_s) for mark in inside]})
    return tables


def _write(made: Made, path: str, shown: pl.DataFrame, semicolons: bool) -> None:
    """A file with points or, with semicolons, decimal commas."""
    (made.folder / "recordings").mkdir(parents=True, exist_ok=True)
    text = shown.write_csv(separator=";" if semicolons else ",", float_precision=4)
    (made.folder / path).write_text(text.replace(".", ",") if semicolons else text)


def _condition(mark: tuple[str, str, float, float], zero_s: float) -> Table:
    name, did, begin, end = mark
    times = {"from": f"{begin - zero_s:.2f} s", "to": f"{end - zero_s:.2f} s"}
    return {"name": name, **times, "did": [did]}


def _signal_entry(recipe: Recipe, role: str, in_volts: bool) -> Table:
    quantity = "crankcase-pressure" if role == "box" else "oil-pressure"
    if not in_volts:
        return {"column": role, "quantity": quantity, "unit": "kPa", "reference": "atmosphere"}
    sensor = recipe.sensors()[role]
    entry: Table = {"column": role, "quantity": quantity, "sensor": sensor.name if sensor else ""}
    if sensor is not None and sensor.supply and recipe.supply_told == "signal":
        entry["supply"] = f"{recipe.supply_v:.2f} V"
    if sensor is not None and sensor.supply and recipe.supply_told == "column":
        entry["supply_column"] = "supply"
    return entry


def main_file(made: Made, rng: Rng, visit: str, off_s: float) -> list[Table]:
    """The first logger: oil pressure, speed, temperatures and, mostly, the crankcase."""
    recipe, course = made.recipe, made.courses[visit]
    factor = round(recipe.rate_hz / recipe.slow_hz) if recipe.slow_hz else 1
    signals: list[Table] = []
    oil, in_volts = _pressure_column(made, rng, visit, "oil", factor, off_s)
    frame = {"oil": oil}
    signals.append(_signal_entry(recipe, "oil", in_volts))
    if recipe.second_oil is not None:
        frame["oil2"], _ = _pressure_column(made, rng, visit, "oil2", factor, off_s)
        signals.append(_signal_entry(recipe, "oil2", True))
    if recipe.supply_told == "column":
        noise = 0.002 * rng.standard_normal(len(oil))
        frame["supply"] = np.round(recipe.supply_v + noise, 3)
    if recipe.box_sensor is not None and not recipe.two_loggers:
        frame["box"], _ = _pressure_column(made, rng, visit, "box", factor, off_s)
        signals.append(_signal_entry(recipe, "box", True))
    if recipe.manifold:
        frame["map"] = np.round(_averaged(course.manifold_kpa, factor), 2)
        entry = {"column": "map", "quantity": "manifold-pressure", "unit": "kPa"}
        signals.append(entry | {"reference": "vacuum"})
    if recipe.speed_source in PER_CYCLE:
        frame["spark"] = _ignition(rng, recipe, course)
        signals.append({"column": "spark", "quantity": "ignition", "unit": "V"})
    if recipe.speed_source == "column":
        refresh, delay = recipe.column_refresh_s, recipe.column_delay_s
        shown = held_late(
            rng, course.time_s, course.speed_rpm, refresh, delay, recipe.column_step_rpm
        )
        frame["rpm"] = shown[factor - 1 :: factor][: len(oil)]
        signals.append({"column": "rpm", "quantity": "engine-speed", "unit": "rpm"})
    if recipe.temperature in ("column", "coolant"):
        gap = recipe.coolant_gap_k if recipe.temperature == "coolant" else 0.0
        shown = held_late(rng, course.time_s, course.oil_degc - gap, 1.0, 0.0, 0.1)
        frame["temp"] = shown[factor - 1 :: factor][: len(oil)]
        quantity = "oil-temperature" if recipe.temperature == "column" else "coolant-temperature"
        signals.append({"column": "temp", "quantity": quantity, "unit": "degC"})
    tables = _logger(made, rng, visit, "main", frame, factor)
    return [table | {"signal": signals} for table in tables]


def box_file(made: Made, rng: Rng, visit: str, off_s: float) -> list[Table]:
    """The second logger: only the crankcase, slower, on a clock of its own."""
    factor = round(made.recipe.rate_hz / 100.0)
    box, _ = _pressure_column(made, rng, visit, "box", factor, off_s)
    tables = _logger(made, rng, visit, "box", {"box": box}, factor)
    return [table | {"signal": [_signal_entry(made.recipe, "box", True)]} for table in tables]
