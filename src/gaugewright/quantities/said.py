"""A sentence that remembers what it was made from, so that it can be said in another language.

What the findings and the notes carry is English and stays so.  A page in another language needs
the pattern behind a sentence and the figures that fill it, not the sentence taken to pieces.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any


class Said(str):
    """The English sentence itself; `pattern` with braces and `fill`, which it was made from."""

    pattern: str
    fill: Mapping[str, Any]

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (self.pattern, dict(self.fill))


def said(pattern: str, /, **fill: Any) -> Said:
    """The pattern filled, as `str.format` does it.

    Parameters: what fills it are figures, names that stay as they are, or other sentences that
    were said; only the last are put into another language with it.

    Example: `said("{n} rows are left out", n=3)` is the text "3 rows are left out".
    """
    made = Said(pattern.format(**fill))
    made.pattern, made.fill = pattern, fill
    return made


def joined(parts: Iterable[str], between: str = ", ") -> Said:
    """Sentences or names in a row; those that were said remember what they were made from."""
    fill = {f"part{number}": part for number, part in enumerate(parts)}
    return said(between.join(f"{{{name}}}" for name in fill), **fill)


def _again(pattern: str, fill: Mapping[str, Any]) -> Said:
    return said(pattern, **fill)


def packed(text: str) -> Any:
    """A text as plain JSON data, with its pattern and what fills it where it has them."""
    if not isinstance(text, Said):
        return text
    fill = {name: packed(v) if isinstance(v, str) else plain(v) for name, v in text.fill.items()}
    return {"pattern": text.pattern, "fill": fill}


def plain(value: Any) -> Any:
    """A figure as Python's own kind of number."""
    return value.item() if hasattr(value, "item") else value


def unpacked(stated: Any) -> str:
    """The text that was packed."""
    if not isinstance(stated, Mapping):
        return str(stated)
    fill = {
        n: unpacked(v) if isinstance(v, str | Mapping) else v for n, v in stated["fill"].items()
    }
    return said(stated["pattern"], **fill)
