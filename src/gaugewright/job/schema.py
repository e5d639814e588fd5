"""The JSON Schema of job.toml, made from the model and shipped in the package.

`python -m gaugewright.job.schema` writes it afresh; a test says when it is stale.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from gaugewright.job.model import Job

SHIPPED = Path(__file__).with_name("job.schema.json")


def schema() -> dict[str, Any]:
    """The schema of a job file, format 1, as JSON Schema 2020-12.

    It knows every key, word and shape.  What must agree between tables (names that exist,
    units of the right kind, stretches that don't overlap) only the reader checks.
    """
    made = Job.model_json_schema(by_alias=True)
    made.pop("title", None)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "gaugewright job, format 1",
        **made,
    }


def schema_text() -> str:
    """The schema as the shipped file holds it."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    SHIPPED.write_text(schema_text(), encoding="utf-8")
