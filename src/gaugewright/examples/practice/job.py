"""A practice job's job.toml."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from gaugewright.examples.practice.bench import Fitted
from gaugewright.examples.practice.limits import switch
from gaugewright.examples.practice.recordings import Made
from gaugewright.examples.practice.scenario import Scenario
from gaugewright.job.dump import to_toml
from gaugewright.job.model import Job

INSTRUMENTS: tuple[dict[str, Any], ...] = (
    {"name": "dial gauge", "accuracy": "0.7 psi", "range": ["0 psi", "100 psi"]},
    {"name": "water column", "accuracy": "0.1 inH2O", "range": ["-60 inH2O", "60 inH2O"]},
)


def job_toml(
    scenario: Scenario,
    limits: Sequence[dict[str, Any]],
    sensors: Sequence[Fitted],
    recordings: Sequence[Made],
    readings: Sequence[dict[str, Any]],
) -> str:
    """The text of job.toml, valid as the model has it."""
    used = {reading.get("instrument") for reading in readings}
    tables = {
        "format": 1,
        "title": title(scenario),
        "vehicle": _vehicle(scenario),
        "complaint": {"text": scenario.seen.said, "codes": list(scenario.seen.codes)},
        "place": _place(scenario),
        "visit": [
            {
                "name": "first",
                "date": scenario.setting.date,
                "odometer": f"{scenario.setting.odometer_km} km",
            }
        ],
        "observation": [
            {"what": what, "saw": saw} for what, saw in scenario.seen.observations.items()
        ],
        "limit": list(limits),
        "switch": [switch(scenario.meant)],
        "sensor": [fitted.table for fitted in sensors],
        "instrument": [one for one in INSTRUMENTS if one["name"] in used],
        "recording": [made.table for made in recordings],
        "reading": list(readings),
    }
    return to_toml(Job.model_validate(tables))


def title(scenario: Scenario) -> str:
    """What the job is called: it says nothing of the cause."""
    return f"Practice {scenario.seed}, {scenario.level.word}: {scenario.setting.vehicle}"


def _vehicle(scenario: Scenario) -> dict[str, Any]:
    build = scenario.build
    told = {
        "name": scenario.setting.vehicle,
        "cylinders": build.cylinders,
        "cycle": "four-stroke",
        "ignition": build.ignition,
        "oil_grade": build.oil_grade,
        "firing_order": list(build.firing_order),
        "displacement": f"{scenario.setting.litres:.1f} L",
        "fuel": build.fuel,
        "induction": "natural",
        "metering": build.metering,
        "oil_pump": build.oil_pump,
        "ventilation": build.ventilation,
    }
    if build.oil_pump == "two-stage":
        step = float(scenario.meant.oil.step_rpm)
        told["pump_switches"] = [f"{step - 50.0:.0f} rpm", f"{step + 50.0:.0f} rpm"]
    return told


def _place(scenario: Scenario) -> dict[str, str]:
    """The barometer where there is one, else the height of the place."""
    if scenario.level.number == 3:
        return {"altitude": f"{scenario.setting.altitude_m} m"}
    return {"barometer": f"{scenario.setting.barometer_pa / 1e3:.2f} kPa"}
