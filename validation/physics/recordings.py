"""What open recordings of real engines say about the physics, and what they cannot say.

The start of a piston engine ships with the package, so its figures come again in every check.
The road logs do not ship (their licence was not read at its source): their figures are kept with
the files' checksums and come from `python -m validation.physics --road FOLDER`.
"""

from __future__ import annotations

import hashlib
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.optimize import curve_fit, least_squares

from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.sound import sound
from gaugewright.engine.steady import solve
from gaugewright.physics.oil import grade_line

Floats = npt.NDArray[np.float64]
Figures = dict[str, Any]
PSI, INHG = 6.894757293168, 3.386389
"""kPa."""
SETTLED_S = 12.0
"""After the start the oil has reached everything and the idle holds."""


def r_squared(measured: Floats, told: Floats) -> float:
    """The share of the variance that is told; below 0 where a constant tells more."""
    return float(1.0 - np.sum((measured - told) ** 2) / np.sum((measured - measured.mean()) ** 2))


def rms(values: Floats) -> float:
    """Root mean square."""
    return float(np.sqrt(np.mean(values**2)))


def piston_table() -> pd.DataFrame:
    """Time since the first row (equal stamps spread evenly), rpm, kPa and degC."""
    with resources.files("gaugewright.examples").joinpath("data/piston-start.csv").open() as text:
        raw = pd.read_csv(text, skiprows=[1])
    stamps = pd.to_timedelta(raw["clock"]).dt.total_seconds().to_numpy()
    firsts = np.flatnonzero(np.diff(stamps, prepend=-1.0))
    seconds = np.interp(np.arange(len(raw)), firsts, stamps[firsts]) - stamps[0]
    return pd.DataFrame(
        {
            "s": seconds,
            "rpm": 0.5 * (raw["engine speed left"] + raw["engine speed right"]),
            "oil_kpa": raw["oil pressure"] * PSI,
            "oil_degc": (raw["oil temperature"] - 32.0) / 1.8,
            "manifold_kpa": raw["manifold pressure"] * INHG,
        }
    )


def piston_start() -> Figures:
    """Does pressure go as speed times viscosity, one clearance fitted?  What is it otherwise?"""
    table = piston_table()
    began = int(np.flatnonzero(table["rpm"] > 0)[0])
    idle = table[table["s"] > table["s"][began] + SETTLED_S]
    speed, pressure, warm = (idle[c].to_numpy() for c in ("rpm", "oil_kpa", "oil_degc"))
    return {
        "rows": len(idle),
        "rpm": _range(speed),
        "oil_degc": _range(warm),
        "oil_kpa": _range(pressure),
        "clearance_law": {g: _clearance(g, speed, pressure, warm) for g in ("20W-50", "50")},
        "constant_rms_share": rms(pressure / pressure.mean() - 1.0),
        "kpa_per_k": float(np.polyfit(warm, pressure, 1)[0]),
        "first_pressure_s": _after(table, began, 5.0 * PSI),
        "twenty_psi_s": _after(table, began, 20.0 * PSI),
        "sixty_psi_s": _after(table, began, 60.0 * PSI),
        "rest_manifold_kpa": float(table["manifold_kpa"][:began].median()),
        "idle_manifold_kpa": float(np.median(idle["manifold_kpa"])),
    }


def _range(values: Floats) -> list[float]:
    return [float(values.min()), float(values.max())]


def _after(table: pd.DataFrame, began: int, level_kpa: float) -> float:
    reached = int(np.flatnonzero(table["oil_kpa"] >= level_kpa - 1e-9)[0])
    return float(table["s"][reached] - table["s"][began])


def _clearance(grade: str, speed: Floats, pressure: Floats, warm: Floats) -> Figures:
    """One factor on speed times viscosity; then both powers free, to see what the data hold."""
    line = grade_line(grade)
    thick = np.array([line.at(float(t)) for t in warm])
    product = speed * thick
    told = product * float(product @ pressure / (product @ product))
    design = np.column_stack([np.ones_like(speed), np.log(speed), np.log(thick)])
    powers = np.linalg.lstsq(design, np.log(pressure), rcond=None)[0]
    return {
        "viscosity_span": float(thick.max() / thick.min()),
        "r_squared": r_squared(pressure, told),
        "rms_share": rms(told / pressure - 1.0),
        "free_power_of_speed": float(powers[1]),
        "free_power_of_viscosity": float(powers[2]),
        "free_r_squared": r_squared(np.log(pressure), design @ powers),
    }


def virtual() -> Figures:
    """The virtual engine held as the recordings were: sound, sizes and oil of its own.

    Not the same engines: what can be compared is the order of size and the sign of a change.
    """
    cold = [Held(speed_rpm=rpm, oil_degc=t) for rpm, t in ((1000.0, 7.8), (1130.0, 10.6))]
    petrol = solve(Build(), sound(Build()), [Held(), *cold])
    kind = Build(fuel="diesel", metering="none")
    diesel = solve(kind, sound(kind), [Held(speed_rpm=770.0)])
    return {
        "petrol_hot_idle_manifold_kpa": float(petrol.manifold_pa[0, 0]) / 1000.0,
        "petrol_cold_1130_rpm_manifold_kpa": float(petrol.manifold_pa[2, 0]) / 1000.0,
        "petrol_cold_oil_kpa": [float(p) / 1000.0 for p in petrol.gauge_pa[1:, 0]],
        "petrol_cold_pump_outlet_kpa": [float(p) / 1000.0 for p in petrol.outlet_pa[1:, 0]],
        "diesel_770_rpm_manifold_kpa": float(diesel.manifold_pa[0, 0]) / 1000.0,
        "diesel_770_rpm_air_g_s": float(diesel.metered_kg_s[0, 0]) * 1000.0,
    }


NAMES = {
    "Engine Coolant Temperature": "coolant",
    "Intake Manifold Absolute": "manifold",
    "Engine RPM": "rpm",
    "Vehicle Speed": "road",
    "Air Flow Rate": "air",
    "Absolute Throttle": "throttle",
    "Ambient Air": "outside",
}


def road_table(path: Path) -> pd.DataFrame:
    """A road log on even seconds."""
    raw = pd.read_csv(path, encoding="utf-8", encoding_errors="replace")
    stamps = pd.to_timedelta(raw["Time"]).dt.total_seconds().to_numpy()
    even = np.arange(0.0, stamps[-1] - stamps[0], 1.0)
    columns = {"s": even}
    for column in raw.columns:
        for start, name in NAMES.items():
            if column.startswith(start):
                filled = raw[column].ffill().bfill().to_numpy(dtype=float)
                columns[name] = np.interp(even, stamps - stamps[0], filled)
    return pd.DataFrame(columns)


def road(path: Path) -> Figures:
    """Manifold at idle, and the coolant's warm-up with its thermostat."""
    table = road_table(path)
    idle = table[(table["road"] < 1) & table["rpm"].between(650, 1100) & (table["throttle"] > 80)]
    warm = idle[idle["coolant"] > 80]
    return {
        "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
        "warm_idle_s": len(warm),
        "warm_idle_rpm": float(warm["rpm"].median()),
        "warm_idle_manifold_kpa": [float(warm["manifold"].quantile(q)) for q in (0.05, 0.5, 0.95)],
        "warm_idle_air_g_s": float(warm["air"].median()),
        "throttle_at_idle_percent": float(idle["throttle"].median()),
        "greatest_rpm": float(table["rpm"].max()),
        "greatest_manifold_kpa": float(table["manifold"].max()),
        "below_60_kpa_s": int((table["manifold"] < 60.0).sum()),
        "rpm_when_below_60_kpa": _median(table["rpm"][table["manifold"] < 60.0]),
        "warm_up": warm_up(table),
    }


def _median(values: pd.Series) -> float | None:
    return float(values.median()) if len(values) else None


def warm_up(table: pd.DataFrame) -> Figures:
    """First order towards what the running engine would reach, cut off by the thermostat.

    Three forms: towards the thermostat's own temperature; towards a free one; heated by the air
    the engine draws and cooled by outside air.
    """
    coolant = table["coolant"].to_numpy()
    opens = float(np.median(coolant[coolant > 85.0]))
    end = int(np.argmax(coolant >= opens - 1.5))
    seconds, rise = table["s"].to_numpy()[:end], coolant[:end]

    def towards(s: Floats, level: float, tau: float, start: float) -> Floats:
        return level - (level - start) * np.exp(-s / tau)

    fixed, _ = curve_fit(
        lambda s, tau, start: towards(s, opens, tau, start), seconds, rise, p0=(400.0, rise[0])
    )
    free, _ = curve_fit(
        towards, seconds, rise, p0=(150.0, 800.0, rise[0]), bounds=([60, 50, 0], [2000, 5e4, 60])
    )
    heated, told = _heated(table[:end])
    later = coolant[end:]
    return {
        "thermostat_degc": opens,
        "reached_after_s": float(seconds[-1]),
        "held_mean_degc": float(later.mean()),
        "held_sd_k": float(later.std()),
        "to_thermostat": {
            "tau_s": float(fixed[0]),
            "rms_k": rms(rise - towards(seconds, opens, *fixed)),
            "r_squared": r_squared(rise, towards(seconds, opens, *fixed)),
        },
        "to_free_level": {
            "level_degc": float(free[0]),
            "tau_s": float(free[1]),
            "rms_k": rms(rise - towards(seconds, *free)),
            "r_squared": r_squared(rise, towards(seconds, *free)),
        },
        "heated_by_air": {
            "k_per_g": heated[0],
            "tau_s": heated[1],
            "rms_k": rms(rise - told),
            "r_squared": r_squared(rise, told),
        },
    }


def _heated(table: pd.DataFrame) -> tuple[tuple[float, float], Floats]:
    """dT/dt = q m_air - (T - T_outside)/tau, both fitted; (q, tau) and the temperatures."""
    air, outside, coolant = (table[c].to_numpy() for c in ("air", "outside", "coolant"))

    def told(unknown: Floats) -> Floats:
        gain, log_tau, start = unknown
        found = np.empty_like(coolant)
        found[0] = start
        for k in range(1, len(found)):
            lost = (found[k - 1] - outside[k - 1]) / np.exp(log_tau)
            found[k] = found[k - 1] + gain * air[k - 1] - lost
        return found

    fit = least_squares(lambda unknown: told(unknown) - coolant, [0.005, 7.0, coolant[0]])
    return (float(fit.x[0]), float(np.exp(fit.x[1]))), told(fit.x)
