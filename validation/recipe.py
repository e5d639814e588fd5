"""What one random job is made of, drawn before anything is computed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from validation.engine import Engine, Held, drawn
from validation.instruments import SensorTruth, draw_sensor, in_unit
from validation.noise import Rng
from validation.timeline import Manner

ACTIONS = (
    ("cap off", "filler-cap-off"),
    ("hose off", "ventilation-hose-off"),
    ("small port stopped", "regulator-port-blocked"),
    ("fresh air stopped", "fresh-air-blocked"),
    ("vent plugged", "vent-port-blocked"),
)
SPEED_SOURCES = ("coil-on-plug", "wasted-spark", "distributor", "column", "none")


@dataclass(frozen=True)
class Recipe:
    """Everything about a job that is not the course of its visits."""

    grade: str
    ignition: str
    speed_source: str
    rate_hz: float
    slow_hz: float | None
    column_refresh_s: float
    column_delay_s: float
    column_step_rpm: float
    cylinders: int
    place: str
    altitude_m: float
    barometer_kpa: float
    temperature: str
    coolant_gap_k: float
    oil_sensor: SensorTruth | None
    box_sensor: SensorTruth | None
    box_by_hand: bool
    oil_by_hand: bool
    two_loggers: bool
    manifold: bool
    supply_v: float
    supply_told: str
    adc_step_v: float
    sample_noise_v: float
    spikes: float
    manner: Manner
    two_stage: bool
    quirks: tuple[str, ...]
    second_oil: SensorTruth | None = None

    def sensors(self) -> dict[str, SensorTruth | None]:
        """The sensor behind each column; None where the column is already in a unit."""
        return {"oil": self.oil_sensor, "oil2": self.second_oil, "box": self.box_sensor}


def _place(rng: Rng) -> tuple[str, float, float]:
    """How the place is told (barometer, altitude, silent), its height and true barometer."""
    kind = str(rng.choice(["barometer", "altitude", "altitude", "silent"]))
    height = float(np.round(rng.uniform(0.0, 1200.0)))
    standard = 101.325 * (1.0 - 2.25577e-5 * height) ** 5.25588
    return kind, height, float(np.round(standard + 0.8 * rng.standard_normal(), 2))


def _manner(rng: Rng) -> Manner:
    hunts = rng.random() < 0.4
    return Manner(
        hunting_rpm=drawn(rng, 12.0, 45.0) if hunts else 0.0,
        hunting_period_s=drawn(rng, 0.9, 3.5),
        wander_rpm=drawn(rng, 1.5, 6.0),
        oil_slow=drawn(rng, 0.002, 0.010),
        oil_memory=drawn(rng, 0.3, 0.9),
        oil_white=drawn(rng, 0.002, 0.012),
        oil_ripple=drawn(rng, 0.01, 0.04),
        crankcase_slow_kpa=drawn(rng, 0.01, 0.08),
        crankcase_white_kpa=drawn(rng, 0.01, 0.1),
        crankcase_ripple_kpa=drawn(rng, 0.1, 0.6),
    )


def _oil_sensor(rng: Rng, place: str) -> SensorTruth | None:
    kinds = ["atmosphere", "atmosphere", "atmosphere", "ratiometric", "column"]
    if place != "silent":
        kinds += ["sealed", "vacuum"]
    kind = str(rng.choice(kinds))
    top = float(rng.choice([600.0, 700.0, 1000.0]))
    if kind == "column":
        return None
    reference = "atmosphere" if kind == "ratiometric" else kind
    return draw_sensor(rng, "oil transducer", reference, 0.0, top, kind == "ratiometric")


def _box_sensor(rng: Rng, place: str) -> SensorTruth | None:
    if place != "silent" and rng.random() < 0.3:
        return draw_sensor(rng, "crankcase transducer", "vacuum", 20.0, 120.0, False)
    top = float(rng.choice([25.0, 50.0]))
    return draw_sensor(rng, "crankcase transducer", "atmosphere", -top, top, False)


def draw_recipe(rng: Rng) -> Recipe:
    """One job's instruments, noises and silences."""
    place, height, barometer = _place(rng)
    source = str(rng.choice(SPEED_SOURCES, p=[0.2, 0.1, 0.1, 0.5, 0.1]))
    pulses = source not in ("column", "none")
    ignition = source if pulses else "coil-on-plug"
    told = str(rng.choice(["", "signal", "column"]))
    oil = _oil_sensor(rng, place)
    box_kind = rng.choice(["sensor", "hand", "absent"], p=[0.7, 0.15, 0.15])
    two = box_kind == "sensor" and rng.random() < 0.35
    slow = float(rng.choice([20.0, 100.0])) if not pulses and rng.random() < 0.3 else None
    return Recipe(
        grade=str(rng.choice(["0W-20", "5W-30", "5W-40", "10W-40"])),
        ignition=ignition,
        speed_source=source,
        rate_hz=2000.0 if pulses else 500.0,
        slow_hz=slow,
        column_refresh_s=float(rng.choice([0.05, 0.1, 0.25, 0.5])),
        column_delay_s=drawn(rng, 0.0, 0.5),
        column_step_rpm=float(rng.choice([0.25, 1.0, 4.0])),
        cylinders=4,
        place=place,
        altitude_m=height,
        barometer_kpa=barometer,
        temperature=str(
            rng.choice(["column", "hand", "coolant", "unknown"], p=[0.45, 0.1, 0.2, 0.25])
        ),
        coolant_gap_k=12.0 + 5.0 * float(rng.standard_normal()),
        oil_sensor=oil,
        box_sensor=_box_sensor(rng, place) if box_kind == "sensor" else None,
        box_by_hand=bool(box_kind == "hand"),
        oil_by_hand=bool(rng.random() < 0.15),
        two_loggers=bool(two),
        manifold=bool(place != "silent" and rng.random() < 0.15),
        supply_v=round(drawn(rng, 4.8, 5.1), 2) if oil is not None and oil.supply and told else 5.0,
        supply_told=told if oil is not None and oil.supply else "",
        adc_step_v=float(rng.choice([0.0001, 0.00122, 0.00488, 0.0196])),
        sample_noise_v=drawn(rng, 0.001, 0.01),
        spikes=float(rng.choice([0.0, 0.0, 0.0, 0.001, 0.004])),
        manner=_manner(rng),
        two_stage=bool(rng.random() < 0.08),
        quirks=(),
    )


def with_quirks(rng: Rng, recipe: Recipe) -> Recipe:
    """The same job with what seldom happens: stops, a second sensor, other units."""
    oil, box = recipe.oil_sensor, recipe.box_sensor
    quirks = ["off"] if rng.random() < 0.5 else []
    if oil is not None and oil.reference == "atmosphere" and rng.random() < 0.12:
        quirks.append("zero-stop")
        oil = replace(oil, low_stop_v=0.5)
    elif oil is not None and not oil.supply and box is not None and rng.random() < 0.12:
        quirks.append("differential")
        oil = draw_sensor(rng, "oil transducer", "crankcase", 0.0, 600.0, False)
    elif oil is not None and rng.random() < 0.12:
        quirks.append("high-stop")
        oil = draw_sensor(rng, "oil transducer", "atmosphere", 0.0, 200.0, bool(oil.supply))
        oil = replace(oil, high_stop_v=4.6)
    if box is not None and box.reference == "atmosphere" and rng.random() < 0.08:
        quirks.append("box-stop")
        box = draw_sensor(rng, "crankcase transducer", "atmosphere", 0.0, 25.0, False)
        box = replace(box, low_stop_v=0.5)
    second = None
    if rng.random() < 0.12:
        second = draw_sensor(rng, "second transducer", "atmosphere", 0.0, 700.0, False)
    unit = str(rng.choice(["kPa", "bar", "psi", "mbar", "inHg"]))
    oil, box = (None if s is None else in_unit(s, unit) for s in (oil, box))
    return replace(recipe, oil_sensor=oil, box_sensor=box, second_oil=second, quirks=tuple(quirks))


def _crankcase(rng: Rng, did: str, found: float) -> float:
    """Where the crankcase settles when this is done to it, kPa."""
    if did in ("filler-cap-off", "ventilation-hose-off"):
        return drawn(rng, -0.2, 0.3)
    if did == "regulator-port-blocked":
        return found * drawn(rng, 0.4, 0.7)
    if did == "vent-port-blocked":
        return drawn(rng, 0.3, 2.2)
    return found * drawn(rng, 0.7, 1.3)


def _plan(rng: Rng, recipe: Recipe, speed: float, found: float) -> list[Held]:
    """The visit's conditions, placed one after the other; marks may hold some transition."""
    chosen: list[tuple[str, str]] = [("as found", "nothing")]
    extra = rng.permutation(len(ACTIONS))[: int(rng.integers(1, 4))]
    chosen += [ACTIONS[i] for i in sorted(extra)]
    if recipe.two_stage or rng.random() < 0.35:
        chosen.append(("fast", "speed-raised"))
    held: list[Held] = []
    clock = drawn(rng, 14.0, 18.0)
    for index, (name, did) in enumerate(chosen):
        length = drawn(rng, 7.0, 9.0) if did == "vent-port-blocked" else drawn(rng, 14.0, 34.0)
        fast = did == "speed-raised"
        rpm = (
            drawn(rng, 1900.0, 2100.0) if fast else speed + (drawn(rng, -40.0, 25.0) * (index > 0))
        )
        if fast and recipe.two_stage:
            rpm = drawn(rng, 2500.0, 2800.0)
        join = drawn(rng, 3.0, 6.0)
        lead, tail = (drawn(rng, 0.8, 2.0) if rng.random() < 0.4 else 0.0 for _ in range(2))
        lead, tail = min(lead, 0.45 * join), min(0.6 * tail, 0.3 * join, 1.5)
        if did == "vent-port-blocked":
            lead, tail = 0.5 * lead, 0.0
        drifts = rng.random() < 0.15
        level = found if did == "nothing" else _crankcase(rng, did, found)
        start, end = clock, clock + length
        held.append(
            Held(
                visit="",
                name=name,
                did=(did,),
                speed_rpm=rpm,
                crankcase_kpa=level,
                start_s=start,
                end_s=end,
                marked_from_s=round(start - lead, 2),
                marked_to_s=round(end + tail, 2),
                drift_kpa_per_s=drawn(rng, -0.25, 0.25) if drifts else 0.0,
                crankcase_drift_kpa_per_s=(
                    drawn(rng, 0.02, 0.12) if did == "vent-port-blocked" else 0.0
                ),
            )
        )
        clock = end + join
    return held


def _warming(rng: Rng, recipe: Recipe) -> float:
    if recipe.temperature == "unknown":
        return 0.5 * float(rng.standard_normal()) / 60.0
    return drawn(rng, -0.3, 2.0) / 60.0 if rng.random() < 0.4 else drawn(rng, -0.1, 0.1) / 60.0


def draw_engine(rng: Rng, recipe: Recipe, visit: str, before: Engine | None) -> Engine:
    """The engine's state at one visit; a second visit keeps all but what was repaired."""
    speed = before.base_rpm if before else drawn(rng, 650.0, 950.0)
    sign = 1.0 if rng.random() < 0.45 else -1.0
    found = sign * drawn(rng, 1.5, 12.0) if before is None else drawn(rng, -2.5, -0.5)
    pull = float(rng.choice([1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 0.1, 1.8, 2.5]))
    low = drawn(rng, 60.0, 180.0)
    base = low if before is None else before.base_kpa * drawn(rng, 0.98, 1.25)
    held = _plan(rng, recipe, speed, found)
    return Engine(
        visit=visit,
        grade=recipe.grade,
        base_kpa=base,
        base_rpm=speed,
        base_degc=drawn(rng, 78.0, 98.0)
        if before is None
        else before.base_degc + drawn(rng, -2, 2),
        rise=drawn(rng, 0.6, 1.1) if before is None else before.rise,
        exponent=(0.9 + 0.15 * float(rng.standard_normal())) if before is None else before.exponent,
        slope=pull if before is None else 1.0,
        found_kpa=found,
        crankcase_per_rpm=drawn(rng, -0.002, 0.002),
        relief_kpa=drawn(rng, 380.0, 520.0) if before is None else before.relief_kpa,
        step_rpm=2200.0 if recipe.two_stage else None,
        step_factor=1.5,
        barometer_kpa=recipe.barometer_kpa,
        warming_k_per_s=_warming(rng, recipe),
        conditions=tuple(Held(**{**vars(h), "visit": visit}) for h in held),
    )
