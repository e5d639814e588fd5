"""What the loggers of a practice job put into their files, and how job.toml speaks of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.instruments.dialects import Column, Dialect, file_bytes
from gaugewright.engine.instruments.disturbances import dropped_out, hum, noise, sparks_in, spikes
from gaugewright.engine.instruments.hoses import through
from gaugewright.engine.instruments.loggers import Converter, Logger, rows, taken
from gaugewright.engine.instruments.sensors import output
from gaugewright.examples.practice.bench import Fitted
from gaugewright.examples.practice.levels import Level
from gaugewright.examples.practice.timeline import Session
from gaugewright.physics.numbers import Floats

SPARK_LEVEL_V = 1.0
DROP_OUTS_PER_MINUTE = 3.0

SLOW_FILE, SCAN_FILE = "recordings/trolley.csv", "recordings/scan.csv"

DIALECTS = (
    Dialect(
        delimiter=";",
        decimal=",",
        newline="\r\n",
        encoding="latin-1",
        preamble=("bench trolley, second logger", "interval;20 ms", "ambient;19 °C", ""),
        time_places=2,
        units_row=True,
    ),
    Dialect(delimiter="\t", time="t", time_unit="ms", time_scale=1e3, time_places=0),
    Dialect(preamble=("# trolley",), time="t [s]", time_places=3),
)


@dataclass(frozen=True)
class Made:
    """One recording: its path in the job folder, its bytes, its [[recording]] of job.toml."""

    file: str
    data: bytes
    table: dict[str, Any]


@dataclass(frozen=True)
class Lived:
    """What the engine did, on the true clock: lanes by their name, each (n,) every interval."""

    time_s: Floats
    lanes: Mapping[str, Floats]

    @property
    def interval_s(self) -> float:
        """Between two samples."""
        return float(self.time_s[1] - self.time_s[0])

    def between(self, name: str, from_s: float, to_s: float) -> Floats:
        """A lane's samples in this stretch of the true clock."""
        held = (self.time_s >= from_s) & (self.time_s < to_s)
        return self.lanes[name][held]


def conditions(session: Session, logger: Logger) -> list[dict[str, Any]]:
    """The marked stretches on this logger's own clock, as [[recording.condition]]."""
    return [
        {
            "name": one.name,
            "from": f"{_own(logger, one.marked_s):.2f} s",
            "to": f"{_own(logger, one.to_s - 0.1):.2f} s",
            "did": list(one.did),
        }
        for one in session.stretches
        if one.marked and _own(logger, one.marked_s) > 0.0
    ]


def _own(logger: Logger, true_s: float) -> float:
    return float(logger.own_s(np.array(true_s)))


def pressure_volts(
    lived: Lived, true_pa: Floats, fitted: Fitted, rng: np.random.Generator
) -> Floats:
    """A pressure through its hose and its sensor (n,) V; the block warms the sensor's body."""
    felt = through(true_pa, lived.interval_s, fitted.hose)
    warm = lived.lanes["coolant_degc"]
    return output(fitted.sensor, felt, lived.interval_s, rng, fitted.supply_v, warm)


def engine_recording(
    level: Level,
    build: Build,
    lived: Lived,
    oil: Fitted,
    crankcase: Fitted | None,
    session: Session,
    rng: np.random.Generator,
) -> Made:
    """The fast logger: oil pressure and ignition, at level 1 all the rest beside them."""
    logger = Logger(1.0 / lived.interval_s)
    converter = Converter(level.bits)
    columns = [_oil_column(level, lived, oil, converter, rng), _spark_column(level, lived, rng)]
    signals = [_signal("oil_v", "oil-pressure", oil, "main gallery"), _spark_signal(build)]
    if level.number == 1 or (level.number == 2 and session.prefix):
        columns.append(Column("oil_degc", "degC", _warmth(lived, rng), 1))
        signals.append(_in_unit("oil_degc", "oil-temperature", "degC"))
    if level.number == 1 and crankcase is not None:
        columns.append(_crankcase_column("case_v", lived, crankcase, converter, rng))
        signals.append(_signal("case_v", "crankcase-pressure", crankcase, "dipstick tube"))
    file = f"recordings/{session.prefix}engine.csv"
    clock = {"clock_offset": f"{session.starts_s:g} s"} if session.starts_s else {}
    table = {
        "name": f"engine{', cold' if session.prefix else ''}",
        "file": file,
        "rate": f"{logger.rate_hz:g} Hz",
        **clock,
        "signal": signals,
        "condition": conditions(session, logger),
    }
    return Made(file, file_bytes(Dialect(time=""), lived.time_s, columns), table)


def _oil_column(
    level: Level, lived: Lived, oil: Fitted, converter: Converter, rng: np.random.Generator
) -> Column:
    put_out = pressure_volts(lived, lived.lanes["oil_gauge_pa"], oil, rng)
    put_out = put_out + hum(lived.time_s, level.hum_v, rng.uniform(0.0, 6.0))
    if level.spikes_v:
        sparks = sparks_in(lived.time_s, lived.lanes["ignition_v"], SPARK_LEVEL_V)
        put_out = put_out + spikes(lived.time_s, sparks, level.spikes_v, rng)
        put_out = dropped_out(put_out, lived.interval_s, DROP_OUTS_PER_MINUTE, rng)
    return Column("oil_v", "V", converter.converted(put_out), 4)


def _spark_column(level: Level, lived: Lived, rng: np.random.Generator) -> Column:
    heard = lived.lanes["ignition_v"] + noise(len(lived.time_s), 0.02, rng)
    heard = heard + hum(lived.time_s, 2.0 * level.hum_v, rng.uniform(0.0, 6.0))
    return Column("spark_v", "V", np.clip(heard, -5.0, 5.0), 2)


def _crankcase_column(
    name: str, lived: Lived, fitted: Fitted, converter: Converter, rng: np.random.Generator
) -> Column:
    return Column(name, "V", converter.converted(crankcase_volts(lived, fitted, rng)), 4)


def crankcase_volts(lived: Lived, fitted: Fitted, rng: np.random.Generator) -> Floats:
    """The crankcase sensor's output (n,) V, absolute or over the outside air as it measures."""
    absolute = lived.lanes["crankcase_pa"]
    outside = 0.0 if fitted.table["reference"] == "vacuum" else lived.lanes["barometer_pa"]
    return pressure_volts(lived, np.asarray(absolute - outside), fitted, rng)


def _warmth(lived: Lived, rng: np.random.Generator) -> Floats:
    return lived.lanes["oil_degc"] + noise(len(lived.time_s), 0.05, rng)


def _signal(column: str, quantity: str, fitted: Fitted, port: str) -> dict[str, Any]:
    told: dict[str, Any] = {"column": column, "quantity": quantity, "sensor": fitted.name}
    if fitted.supply_v is not None:
        told["supply"] = f"{fitted.supply_v:.2f} V"
    told["port"] = port
    if fitted.hose_table is not None:
        told["hose"] = fitted.hose_table
    return told


def _in_unit(column: str, quantity: str, unit: str) -> dict[str, Any]:
    return {"column": column, "quantity": quantity, "unit": unit}


def _spark_signal(build: Build) -> dict[str, Any]:
    told = {"column": "spark_v", "quantity": "ignition", "unit": "V"}
    return told if build.ignition == "distributor" else {**told, "cylinder": 1}


def slow_recording(
    level: Level,
    lived: Lived,
    crankcase: Fitted,
    session: Session,
    rng: np.random.Generator,
) -> Made:
    """The trolley's logger, on its own clock: the crankcase, at level 2 the oil's warmth."""
    logger = _second_clock(level, rng, rate_hz=50.0)
    dialect = DIALECTS[int(rng.integers(len(DIALECTS)))]
    own = rows(logger, float(lived.time_s[-1]), rng)
    put_out = crankcase_volts(lived, crankcase, rng)
    converted = Converter(12).converted(taken(logger, own, lived.time_s, put_out))
    columns = [Column("ch1", "V", converted, 4)]
    signals = [_signal("ch1", "crankcase-pressure", crankcase, "dipstick tube")]
    if level.number == 2:
        warm = taken(logger, own, lived.time_s, _warmth(lived, rng))
        columns.append(Column("ch2", "degC", warm, 1))
        signals.append(_in_unit("ch2", "oil-temperature", "degC"))
    table = _table("crankcase", SLOW_FILE, dialect, logger, signals, session, rng)
    return Made(SLOW_FILE, file_bytes(dialect, own, columns), table)


def _second_clock(level: Level, rng: np.random.Generator, rate_hz: float) -> Logger:
    """A logger switched on some seconds late, a little fast or slow, that loses a row or two."""
    return Logger(
        rate_hz,
        starts_s=round(float(rng.uniform(0.05, 0.25)), 3),
        clock_ppm=float(rng.normal(scale=60.0)),
        lost_share=0.002 if level.number == 3 else 0.0,
    )


def _table(
    name: str,
    file: str,
    dialect: Dialect,
    logger: Logger,
    signals: list[dict[str, Any]],
    session: Session,
    rng: np.random.Generator,
) -> dict[str, Any]:
    """A recording on a clock of its own; the offset is stated to within some 10 ms."""
    offset = logger.starts_s + 0.008 * rng.normal()
    told: dict[str, Any] = {"name": name, "file": file, "time": dialect.time.split(" [")[0]}
    if dialect.time_unit != "s":
        told["time_unit"] = dialect.time_unit
    return {
        **told,
        "clock_offset": f"{offset:.2f} s",
        "signal": signals,
        "condition": conditions(session, logger),
    }


def scan_recording(
    level: Level,
    build: Build,
    lived: Lived,
    session: Session,
    rng: np.random.Generator,
) -> Made:
    """The car's own figures, asked for a few times a second and carried forward between."""
    logger = replace(_second_clock(level, rng, rate_hz=10.0), refresh_hz=5.0)
    dialect = Dialect(time="clock")
    own = rows(logger, float(lived.time_s[-1]), rng)
    every = [
        (name, quantity, unit, taken(logger, own, lived.time_s, lived.lanes[lane]) * factor, places)
        for name, quantity, unit, lane, factor, places in _asked(level, build)
    ]
    columns = [Column(name, unit, values, places) for name, _, unit, values, places in every]
    signals = [_in_unit(name, quantity, unit) for name, quantity, unit, _, _ in every]
    for signal in signals:
        if signal["quantity"] == "manifold-pressure":
            signal["reference"] = "vacuum"
    table = _table("scan", SCAN_FILE, dialect, logger, signals, session, rng)
    return Made(SCAN_FILE, file_bytes(dialect, own, columns), table)


Asked = tuple[str, str, str, str, float, int]
"""Column, quantity, unit, lane, factor from the lane's unit, decimals."""


def _asked(level: Level, build: Build) -> list[Asked]:
    asked: list[Asked] = [("coolant", "coolant-temperature", "degC", "coolant_degc", 1.0, 0)]
    if build.metering == "none":
        return asked
    asked += [
        ("trim short", "fuel-trim-short", "%", "trim_short", 100.0, 1),
        ("trim long", "fuel-trim-long", "%", "trim_long", 100.0, 1),
    ]
    if level.number == 3:
        return asked
    if build.metering == "air-mass":
        return [*asked, ("air", "air-flow", "g/s", "air_kg_s", 1000.0, 2)]
    return [*asked, ("manifold", "manifold-pressure", "kPa", "manifold_pa", 1e-3, 0)]
