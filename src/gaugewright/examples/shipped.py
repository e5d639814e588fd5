"""The files that ship beside the examples."""

from __future__ import annotations

from importlib import resources


def shipped_bytes(name: str) -> bytes:
    """The bytes of a file in the examples' data folder."""
    return (resources.files("gaugewright.examples") / "data" / name).read_bytes()


def shipped_text(name: str) -> str:
    """The text of a file in the examples' data folder."""
    return shipped_bytes(name).decode("utf-8")
