"""An outcome made by hand for the terminal's tests: figures of the example's story."""

from __future__ import annotations

from pathlib import Path

import pytest

from gaugewright.analysis.outcome import Outcome
from gaugewright.evidence.results import (
    Caveat,
    Effect,
    Findings,
    LimitCheck,
    Match,
    Quantified,
    Reading,
    ReferenceCheck,
    SwitchCheck,
)
from gaugewright.job.model import Job

AT = {"engine-speed": Quantified(820.0, "rpm"), "oil-temperature": Quantified(80.0, "degC")}


def reading(quantity: str, reference: str, value: float, **changes: object) -> Reading:
    fields: dict[str, object] = {
        "visit": "as found",
        "condition": "hot idle",
        "quantity": quantity,
        "reference": reference,
        "signals": ("engine/oil_v",),
        "unit": "kPa",
        "value": value,
        "standard_uncertainty": 1.3,
        "dof": None,
        "low": value - 2.6,
        "high": value + 2.6,
        "bound": None,
        "cycles": 98,
        "speed": Quantified(837.5, "rpm"),
        "oil_temperature": Quantified(79.6, "degC"),
        "behaviour": "hunting",
    }
    return Reading(**{**fields, **changes})  # type: ignore[arg-type]


def limit_check(seen_by: str, value: float, verdict: str, **changes: object) -> LimitCheck:
    fields: dict[str, object] = {
        "limit": "hot idle",
        "quantity": "oil-pressure",
        "seen_by": seen_by,
        "condition": "hot idle",
        "at": AT,
        "limit_value": {"min": 90.0, "max": 350.0},
        "unit": "kPa",
        "value": value,
        "standard_uncertainty": 1.4,
        "guard_band": 2.3,
        "probability_of_meeting": 0.9998 if verdict == "meets" else 0.0001,
        "verdict": verdict,
        "visit": "as found",
    }
    return LimitCheck(**{**fields, **changes})  # type: ignore[arg-type]


def findings() -> Findings:
    return Findings(
        format=1,
        job="Tick at hot idle",
        readings=(
            reading("oil-pressure", "atmosphere", 97.8),
            reading("oil-pressure", "crankcase", 86.7),
            reading("crankcase-pressure", "atmosphere", 11.1),
        ),
        matches=(
            Match(
                "as found", "oil-pressure", "atmosphere", "hot idle", "filler cap off",
                {"engine-speed": Quantified(834.0, "rpm")}, False, "kPa", -10.6, 0.4, -11.4, -9.8,
            ),
        ),
        reference_checks=(
            ReferenceCheck(
                "as found", 1.0, 0.03, 0.94, 1.06, "follows the crankcase",
                Effect(11.1, 10.7, 11.5, "kPa"), "nothing",
            ),
        ),
        limit_checks=(
            limit_check("bearings", 84.1, "falls short"),
            limit_check("gauge", 95.2, "meets"),
        ),
        switch_checks=(SwitchCheck("oil lamp", "hot idle", 0.0, 0.0, 0.0, "no", "as found"),),
        warnings=(Caveat("clock", "the second logger's clock is good to 20 ms", "crankcase"),),
    )  # fmt: skip


@pytest.fixture
def outcome() -> Outcome:
    job = Job.model_validate(
        {
            "format": 1,
            "title": "Tick at hot idle",
            "vehicle": {"cylinders": 4, "cycle": "four-stroke"},
        }
    )
    return Outcome(job, findings(), (), (), (), "method 1")


@pytest.fixture(autouse=True)
def no_settings(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """No test reads the settings of whoever runs it."""
    path = tmp_path / "no-settings" / "settings.toml"
    monkeypatch.setattr("gaugewright.cli.settings.settings_path", lambda: path)
    return path
