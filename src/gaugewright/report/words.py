"""Every word on both pages, in the language that is spoken just now (see `language`).

A catalogue is a module per language with the same names: `words_en`, `words_de`; a test compares
their names, kinds and braces.  A name of theirs is looked up when it is used, never as a module
loads: `words.DASH`, in a function.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

from gaugewright.report.language import Language, spoken


@cache
def _catalogue(language: Language) -> ModuleType:
    return import_module(f"gaugewright.report.words_{language}")


if TYPE_CHECKING:
    from gaugewright.report.words_en import *  # noqa: F403
else:

    def __getattr__(name: str) -> Any:
        """The text of this name in the language spoken."""
        if name.startswith("_"):
            raise AttributeError(name)
        return getattr(_catalogue(spoken()), name)
