"""The language that pages, drawings and figures come out in: set around the making of a page.

It is a context variable, so that neither threads nor requests that run side by side hear each
other: each begins with English until it says otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Literal, get_args

Language = Literal["en", "de"]
LANGUAGES: tuple[Language, ...] = get_args(Language)

_SPOKEN: ContextVar[Language] = ContextVar("gaugewright-language", default="en")


def spoken() -> Language:
    """The language spoken here and now."""
    return _SPOKEN.get()


@contextmanager
def speaking(language: Language) -> Iterator[None]:
    """Everything within is told in this language; what was spoken before comes back after."""
    before = _SPOKEN.set(language)
    try:
        yield
    finally:
        _SPOKEN.reset(before)
