"""The shipped JSON Schema of the findings is the models' own, and it tells right from wrong."""

from __future__ import annotations

import copy
import json
from typing import Any

import jsonschema
import pytest

from gaugewright.analysis.findings_schema import SHIPPED, schema_text

STATED: dict[str, Any] = {
    "format": 1,
    "job": "Tick at hot idle",
    "readings": [
        {
            "visit": "first",
            "condition": "as found",
            "quantity": "oil-pressure",
            "reference": "atmosphere",
            "signals": ["hot idle/oil_v"],
            "unit": "kPa",
            "value": 103.4,
            "standard_uncertainty": 1.6,
            "dof": None,
            "low": 100.3,
            "high": 106.5,
            "bound": None,
            "cycles": 187,
            "speed": {"value": 861.0, "unit": "rpm"},
            "oil_temperature": {"value": 88.0, "standard_uncertainty": 2.0, "unit": "degC"},
            "behaviour": "hunting",
            "flags": [],
        }
    ],
    "matches": [
        {
            "visit": "first",
            "quantity": "oil-pressure",
            "reference": "atmosphere",
            "from": "as found",
            "to": "cap off",
            "at": {"engine-speed": {"value": 838.0, "unit": "rpm"}},
            "extrapolated": False,
            "unit": "kPa",
            "difference": -8.7,
            "standard_uncertainty": 0.9,
            "low": -10.5,
            "high": -6.9,
        }
    ],
    "reference_checks": [
        {
            "visit": "first",
            "slope": 0.97,
            "standard_uncertainty": 0.05,
            "low": 0.87,
            "high": 1.07,
            "verdict": "follows the crankcase",
            "effect": {"value": 9.0, "low": 8.2, "high": 9.8, "unit": "kPa"},
            "explains": "nothing",
        }
    ],
    "limit_checks": [
        {
            "limit": "hot idle",
            "quantity": "oil-pressure",
            "seen_by": "bearings",
            "condition": "as found",
            "at": {"engine-speed": {"value": 820.0, "unit": "rpm"}},
            "limit_value": {"min": 90.0, "max": 350.0},
            "unit": "kPa",
            "value": 91.5,
            "standard_uncertainty": 2.8,
            "guard_band": 4.6,
            "probability_of_meeting": 0.70,
            "verdict": "too close to call",
        }
    ],
    "switch_checks": [
        {
            "switch": "low stage",
            "condition": "as found",
            "lamp_on_share": 0.0,
            "share_low": 0.0,
            "share_high": 0.0,
            "explains_lamp": "cannot say",
        }
    ],
    "leaks": [
        {
            "path": "manifold to crankcase",
            "diameter": {"value": 2.4, "standard_uncertainty": 0.3, "unit": "mm"},
            "low": 1.8,
            "high": 3.0,
            "discharge_coefficient": 0.61,
        }
    ],
    "hypotheses": [
        {
            "causes": ["breather-blocked", "fuel-in-oil"],
            "link": "unrelated",
            "probability": 0.61,
            "severity": {},
        }
    ],
    "causes": [{"cause": "breather-blocked", "probability": 0.88}],
    "next_tests": [{"test": "oil-changed", "expected_bits": 0.8, "minutes": 45}],
    "warnings": [{"code": "clock", "text": "a sentence", "where": "hot idle"}],
}
"""The contract's own example, written out."""


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(SHIPPED.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(loaded)
    return loaded


def test_the_shipped_schema_is_not_stale() -> None:
    assert SHIPPED.read_text(encoding="utf-8") == schema_text()


def test_the_contracts_example_is_valid(schema: dict[str, Any]) -> None:
    jsonschema.validate(STATED, schema)


def test_the_shortest_findings_are_valid(schema: dict[str, Any]) -> None:
    jsonschema.validate({"format": 1, "job": "nothing yet"}, schema)


@pytest.mark.parametrize(
    ("place", "wrong"),
    [
        (("format",), 2),
        (("readings", 0, "value"), "103.4 kPa"),
        (("readings", 0, "signals"), "hot idle/oil_v"),
        (("matches", 0, "extrapolated"), "no"),
        (("limit_checks", 0, "at"), [820.0]),
        (("warnings", 0), "a sentence"),
        (("leaks", 0, "diameter"), 2.4),
        (("hypotheses", 0, "causes"), "breather-blocked"),
        (("hypotheses", 0, "severity"), "a hole of 2.4 mm"),
        (("causes", 0), "breather-blocked"),
        (("next_tests", 0, "minutes"), "45 min"),
    ],
)
def test_a_wrong_value_is_refused(
    schema: dict[str, Any], place: tuple[str | int, ...], wrong: object
) -> None:
    broken: Any = copy.deepcopy(STATED)
    inner = broken
    for step in place[:-1]:
        inner = inner[step]
    inner[place[-1]] = wrong
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(broken, schema)


@pytest.mark.parametrize("field", ["value", "unit", "condition", "low"])
def test_a_missing_field_is_refused(schema: dict[str, Any], field: str) -> None:
    broken = copy.deepcopy(STATED)
    del broken["readings"][0][field]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(broken, schema)
