"""A careful analyst of a whole job: knows transitions and noise form, obeys the definitions.

Every level is a restricted-likelihood regression over the true cycles; what sensors, barometer,
hand instruments and temperatures share is a set of unit normal errors, each level carrying its
sensitivity to them; an engine-off zero is an observation of them.
"""

from __future__ import annotations

import numpy as np
from scipy.stats import t as student

from validation.book import Book, Estimate, Shared
from validation.engine import Engine, Held, viscosity_cst
from validation.instruments import SensorTruth
from validation.jobs import Cycles, LimitTruth, Made
from validation.noise import Floats
from validation.reml import fit
from validation.story import HAND_ACCURACY_KPA, HAND_READ_OFF_KPA

WEATHER_KPA = 0.8
RATE_K_PER_MIN = 0.5
EXPONENT, EXPONENT_U = 0.9, 0.15


def standard_atmosphere_kpa(height_m: float) -> float:
    """ISO 2533, troposphere."""
    return float(101.325 * (1.0 - 2.25577e-5 * height_m) ** 5.25588)


class Analyst:
    """All of one job's levels as the careful analyst has them."""

    def __init__(self, made: Made) -> None:
        self.made = made
        self.altitude_only = made.recipe.place == "altitude"
        told = made.recipe.barometer_kpa
        height = made.recipe.altitude_m
        self.barometer = standard_atmosphere_kpa(height) if self.altitude_only else told
        self.weather: Shared = {"barometer": WEATHER_KPA} if self.altitude_only else {}
        self.book = Book(list(self._zeros()))
        self.levels: dict[tuple[str, str, str, str], Estimate] = {}
        for engine in made.engines:
            for held in engine.conditions:
                self._hold(engine, held)

    def _sensor(self, role: str) -> SensorTruth | None:
        return self.made.recipe.sensors()[role]

    def _to_gauge(self, role: str, level: Estimate) -> Estimate:
        """From a sensor's own reference to the outside air, with its sensitivities."""
        sensor = self._sensor(role)
        if sensor is None:
            return level
        level = level.plus(Estimate(0.0, 0.0, sensor.sensitivities(level.value)), 1.0)
        if sensor.reference in ("vacuum", "sealed"):
            sealed = float(sensor.sealed_at_kpa or 0.0)
            level = level.plus(Estimate(self.barometer - sealed, 0.0, self.weather), -1.0)
        return level

    def _zeros(self) -> list[tuple[float, Shared, float]]:
        """Innovation, sensitivities and variance of each engine-off zero."""
        found = []
        for (_, role), nominal in self.made.zeros.items():
            sensor = self._sensor(role)
            if sensor is None or self._stopped(role):
                continue
            level = self._to_gauge(role, Estimate(nominal, 0.0, {}))
            noise = self.made.recipe.adc_step_v * sensor.gain * 0.05 + 1e-3
            found.append((-level.value, level.shared, noise**2))
        return found

    def _regress(self, engine: Engine, held: Held, cycles: Cycles, values: Floats) -> Estimate:
        away = cycles.speed_rpm - np.average(cycles.speed_rpm, weights=cycles.duration_s)
        columns = [np.ones_like(away)]
        silent = self.made.recipe.speed_source == "none"
        if not silent:
            columns.append(away)
        drifts = held.drift_kpa_per_s or held.crankcase_drift_kpa_per_s
        if drifts or abs(engine.warming_k_per_s) > 0.2 / 60.0:
            columns.append(cycles.middle_s - held.middle_s)
        found = fit(np.column_stack(columns), values)
        return Estimate(
            float(found.coefficients[0]),
            float(found.covariance[0, 0]),
            {},
            0.0 if silent else float(found.coefficients[1]),
            0.0 if silent else float(found.covariance[1, 1]),
            self.made.state(engine, held)[0],
            float(len(values) - len(columns)),
        )

    def _hold(self, engine: Engine, held: Held) -> None:
        """Levels of one condition against every reference the data allow."""
        gauge: dict[str, Estimate] = {}
        raw = {
            role: self.made.cycles.get((engine.visit, held.name, role)) for role in ("oil", "box")
        }
        for role, cycles in raw.items():
            if cycles is not None and not self._stopped(role):
                gauge[role] = self._to_gauge(
                    role, self._regress(engine, held, cycles, cycles.values)
                )
        if "box" not in gauge:
            gauge |= self._by_hand(engine, held)
        inside = None
        if "differential" in self.made.recipe.quirks:
            inside = gauge.pop("oil")
            if "box" in gauge:
                gauge["oil"] = inside.plus(gauge["box"], 1.0)
        for role, level in gauge.items():
            quantity = "oil-pressure" if role == "oil" else "crankcase-pressure"
            key = (engine.visit, held.name, quantity)
            self.levels[(*key, "atmosphere")] = level
            if self.made.recipe.place != "silent":
                barometer = Estimate(self.barometer, 0.0, self.weather)
                self.levels[(*key, "vacuum")] = level.plus(barometer, 1.0)
        if len(gauge) == 2:
            key = (engine.visit, held.name, "oil-pressure")
            between = inside or self._inside(engine, held, raw, gauge)
            self.levels[(*key, "crankcase")] = between

    def _stopped(self, role: str) -> bool:
        """May this signal rest on its stop? Then the analyst has no interval for it."""
        quirks = self.made.recipe.quirks
        return ("box-stop" in quirks and role == "box") or ("high-stop" in quirks and role == "oil")

    def _by_hand(self, engine: Engine, held: Held) -> dict[str, Estimate]:
        for hand in self.made.hand:
            if hand["at"] == (engine.visit, held.name) and hand["role"] == "box":
                shared = {"box gauge": HAND_ACCURACY_KPA["box"]}
                value = float(str(hand["value"]))
                return {"box": Estimate(value, HAND_READ_OFF_KPA["box"] ** 2, shared)}
        return {}

    def _inside(
        self,
        engine: Engine,
        held: Held,
        raw: dict[str, Cycles | None],
        gauge: dict[str, Estimate],
    ) -> Estimate:
        """Gauge less crankcase, cycle by cycle where both were recorded."""
        apart = gauge["oil"].plus(gauge["box"], -1.0)
        oil, box = raw["oil"], raw["box"]
        if oil is None or box is None:
            return apart
        _, first, second = np.intersect1d(
            np.round(oil.start_s, 6), np.round(box.start_s, 6), return_indices=True
        )
        if len(first) < 5:
            return apart
        both = Cycles(
            oil.start_s[first],
            oil.middle_s[first],
            oil.duration_s[first],
            oil.speed_rpm[first],
            oil.values[first] - box.values[second],
        )
        found = self._regress(engine, held, both, both.values)
        return Estimate(
            apart.value,
            found.variance,
            apart.shared,
            found.per_rpm,
            found.per_rpm_variance,
            found.mean_rpm,
            found.dof,
        )

    def interval(self, level: Estimate) -> tuple[float, float, float]:
        """Value, standard uncertainty and 95 % half-width."""
        value, u = self.book.corrected(level)
        share = (level.variance / u**2) ** 2 if u else 0.0
        dof = level.dof / share if level.dof and share > 1e-6 else 1e6
        return value, u, float(student.ppf(0.975, min(dof, 1e6))) * u

    def temperature_u(self, engine: Engine, held: Held) -> Shared | None:
        """How well the oil temperature is known, K; None where it is not known at all."""
        kind = self.made.recipe.temperature
        if kind == "column":
            return {f"T/{engine.visit}/{held.name}": 0.05}
        if kind == "hand":
            return {f"T/{engine.visit}/{held.name}": 1.0}
        return {"gap": 5.0} if kind == "coolant" else None

    def known_degc(self, engine: Engine, held: Held) -> float:
        """The temperature the analyst works with, degC."""
        truth = self.made.state(engine, held)[1]
        if self.made.recipe.temperature == "coolant":
            return truth - self.made.recipe.coolant_gap_k + 12.0
        return truth

    def pumped(self, engine: Engine, held: Held, level: Estimate) -> float:
        """The pressure that follows viscosity: the bearings' where known."""
        key = (engine.visit, held.name, "oil-pressure", "crankcase")
        return self.levels[key].value if key in self.levels else level.value

    def warmed(
        self, engine: Engine, held: Held, level: Estimate, target_degc: float | None
    ) -> Estimate | None:
        """A level brought to a stated oil temperature."""
        if target_degc is None:
            return level
        known = self.temperature_u(engine, held)
        if known is None:
            return None
        here = self.known_degc(engine, held)
        grade = self.made.recipe.grade
        ratio = float(np.log(viscosity_cst(grade, target_degc) / viscosity_cst(grade, here)))
        steep = float(np.log(viscosity_cst(grade, here + 0.5) / viscosity_cst(grade, here - 0.5)))
        base = self.pumped(engine, held, level)
        factor = float(np.exp(EXPONENT * ratio))
        shared = {"exponent": base * factor * ratio * EXPONENT_U}
        shared |= {name: -base * factor * EXPONENT * steep * u for name, u in known.items()}
        return level.plus(Estimate(base * (factor - 1.0), 0.0, shared), 1.0)

    def drift_between(self, engine: Engine, one: Held, other: Held, level: Estimate) -> Estimate:
        """What unknown warming between two stretches may do to their difference."""
        if self.made.recipe.temperature != "unknown":
            return Estimate(0.0, 0.0, {})
        minutes = (other.middle_s - one.middle_s) / 60.0
        degc = self.known_degc(engine, one)
        grade = self.made.recipe.grade
        steep = float(np.log(viscosity_cst(grade, degc + 0.5) / viscosity_cst(grade, degc - 0.5)))
        size = self.pumped(engine, one, level) * EXPONENT * steep * RATE_K_PER_MIN * minutes
        return Estimate(0.0, 0.0, {f"rate/{engine.visit}": size})

    def check(self, limit: LimitTruth, seen_by: str) -> tuple[float, float] | None:
        """Value and standard uncertainty of a limit's quantity at the limit's state."""
        engine = self.made.engines[0]
        held = engine.named(limit.condition)
        reference = "crankcase" if seen_by == "bearings" else "atmosphere"
        level = self.levels.get((engine.visit, held.name, limit.quantity, reference))
        if level is None:
            return None
        there = level.at(limit.speed_rpm) if limit.speed_rpm is not None else level
        warmed = self.warmed(engine, held, there, limit.oil_degc)
        return None if warmed is None else self.book.corrected(warmed)

    def slope(self, engine: Engine) -> tuple[float, float] | None:
        """How far the gauge follows the crankcase, with its standard uncertainty."""
        usable = [
            held
            for held in engine.conditions
            if (engine.visit, held.name, "oil-pressure", "crankcase") in self.levels
            and abs(held.speed_rpm - engine.base_rpm) < 120.0
        ]
        if len(usable) < 2 or self.made.recipe.speed_source == "none":
            return None
        first = usable[0]
        inside, box = [], []
        for held in usable:
            level = self.levels[engine.visit, held.name, "oil-pressure", "crankcase"]
            level = level.at(self.made.state(engine, first)[0])
            degc = self.known_degc(engine, first)
            warmed = self.warmed(engine, held, level, degc) or level
            inside.append(warmed.plus(self.drift_between(engine, first, held, level), 1.0))
            box.append(self.levels[engine.visit, held.name, "crankcase-pressure", "atmosphere"])
        spread = np.array([[self.book.covariance_of(a, b) for b in inside] for a in inside])
        spread += np.diag([level.variance for level in inside])
        x = np.array([self.book.corrected(level)[0] for level in box])
        y = np.array([self.book.corrected(level)[0] for level in inside])
        design = np.column_stack([np.ones_like(x), x])
        weight = np.linalg.pinv(spread)
        covariance = np.linalg.inv(design.T @ weight @ design)
        found = covariance @ design.T @ weight @ y
        return 1.0 + float(found[1]), float(np.sqrt(covariance[1, 1]))
