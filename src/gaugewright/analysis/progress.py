"""How long work says where it is."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[str], None]
"""Called with a few words each time another stage begins."""


def silent(_: str) -> None:
    """For those who don't want to know."""
