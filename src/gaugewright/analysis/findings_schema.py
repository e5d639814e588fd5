"""The JSON Schema of the findings, made from the models and shipped in the package.

`python -m gaugewright.analysis.findings_schema` writes it afresh; a test says when it is stale.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from gaugewright.evidence.results import Findings

SHIPPED = Path(__file__).with_name("findings.schema.json")


def schema() -> dict[str, Any]:
    """The schema of a findings file, format 1, as JSON Schema 2020-12.

    A field that has a default may be absent; a reader may meet more fields within format 1.
    """
    from pydantic import TypeAdapter

    made = TypeAdapter(Findings).json_schema(by_alias=True, mode="serialization")
    made["properties"]["format"] = {"const": 1, "title": "Format", "type": "integer"}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "gaugewright findings, format 1",
        **{key: value for key, value in made.items() if key != "title"},
    }


def schema_text() -> str:
    """The schema as the shipped file holds it."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    SHIPPED.write_text(schema_text(), encoding="utf-8")
