"""Long work says how far it is: on standard error, and only on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[str], None]


@contextmanager
def progress() -> Iterator[Progress | None]:
    """A function that shows the stage at work; None where standard error is no terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console

    with Console(stderr=True, highlight=False, markup=False).status("reading") as status:
        yield lambda stage: status.update(stage)
