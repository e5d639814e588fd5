"""The findings file: written whole or not at all, read back as the same findings."""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path
from typing import Any

from gaugewright.errors import OutputError, Problem
from gaugewright.evidence.results import Findings


def as_data(findings: Findings) -> dict[str, Any]:
    """The findings as plain data, keys as in the contract."""
    from pydantic import TypeAdapter

    data: dict[str, Any] = TypeAdapter(Findings).dump_python(findings, mode="json", by_alias=True)
    return data


def write(findings: Findings, path: Path) -> None:
    """Write the findings; what stood there before stays until the new file is complete.

    Raises OutputError where it cannot be written.
    """
    text = json.dumps(as_data(findings), ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    try:
        _replace(path, text.encode())
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutputError(
            Problem(
                str(path),
                "",
                f"the findings could not be written ({reason})",
                "free some space, or name a place that can be written",
            )
        ) from error


def _replace(path: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
