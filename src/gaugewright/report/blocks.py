"""What a page is made of, before it is paper or screen: plain data, no markup."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Literal, Union

ParagraphLook = Literal["say", "text", "note", "above", "quote", "lead", "consent"]
PlateLook = Literal["meets", "fails", "open", "none"]


@dataclass(frozen=True)
class Run:
    """A stretch of text; `look` holds words like "strong", "soft", "small", "oil"."""

    text: str
    look: str = ""


@dataclass(frozen=True)
class Number:
    """A figure set for decimal alignment: what stands before and after the decimal mark.

    `whole` keeps the sign, `fraction` the mark and the digits after it, `after` the ± and the
    unit, set small and soft.  `lead` and `tail` are the widths in digits that its column keeps
    for both parts.
    """

    whole: str
    fraction: str = ""
    after: str = ""
    lead: float = 0.0
    tail: float = 0.0


@dataclass(frozen=True)
class Plate:
    """A verdict: its word on a plate, with the little spindle against the wall."""

    text: str
    look: PlateLook
    svg: str = ""


@dataclass(frozen=True)
class Bar:
    """A share from 0 to 1 as a bar of that length on a hairline; its figure stands beside it."""

    share: float


Inline = Run | Number | Plate | Bar
Line = tuple[Inline, ...]
Cell = tuple[Line, ...]


@dataclass(frozen=True)
class Heading:
    """A heading: level 1 is the page's title, 2 a part, 3 a part of a part."""

    text: str
    level: int = 2


@dataclass(frozen=True)
class Paragraph:
    """A paragraph of runs."""

    runs: Line
    look: ParagraphLook = "text"


@dataclass(frozen=True)
class Picture:
    """A drawing as SVG; `words` say what it shows to someone who cannot see it."""

    svg: str
    width: float
    height: float
    words: str


@dataclass(frozen=True)
class Column:
    """A table's column: its head, its share of the width, and whether a bracket heads it."""

    head: Cell
    share: float
    bracket: bool = False


@dataclass(frozen=True)
class Group:
    """A word over several columns of a table."""

    text: str
    span: int


@dataclass(frozen=True)
class Row:
    """A table row; `ruled` draws the hairline above it."""

    cells: tuple[Cell, ...]
    ruled: bool = True


@dataclass(frozen=True)
class Table:
    """A table set without boxes; the head is repeated on every page.

    `stacks`: on a narrow screen its cells stand below one another, each under its own head.
    """

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    groups: tuple[Group, ...] = ()
    stacks: bool = False


@dataclass(frozen=True)
class Facts:
    """Small labels over their words, in columns."""

    items: tuple[tuple[str, str], ...]
    columns: int = 4


@dataclass(frozen=True)
class Items:
    """A list of short points; `boxes` adds the words to tick behind each point."""

    points: tuple[Line, ...]
    boxes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Caution:
    """A caution with its triangle; filled when the engine must stop."""

    runs: Line
    filled: bool = False


@dataclass(frozen=True)
class Columns:
    """Two columns of blocks side by side."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]


@dataclass(frozen=True)
class Keep:
    """Blocks that stay on one page together."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Signatures:
    """Lines to sign on, each with its caption."""

    captions: tuple[str, ...]


Block = Union[
    Heading,
    Paragraph,
    Picture,
    Table,
    Facts,
    Items,
    Caution,
    "Columns",
    "Keep",
    Signatures,
]


@dataclass(frozen=True)
class Page:
    """A whole document: head, body and foot, and how tightly it is set (1.0: roomy)."""

    name: str
    title: str
    head_left: tuple[Line, ...]
    head_right: tuple[Line, ...]
    blocks: tuple[Block, ...]
    foot_left: str
    foot_right: str
    numbered: bool
    scale: float = 1.0
    language: str = "en"


def as_data(part: Any) -> Any:
    """The same as plain JSON data: each block a table with its `kind`."""
    if isinstance(part, tuple):
        return [as_data(item) for item in part]
    if not hasattr(part, "__dataclass_fields__"):
        return part
    content = {field.name: as_data(getattr(part, field.name)) for field in fields(part)}
    return {"kind": type(part).__name__.lower(), **content}


def strong(text: str, look: str = "") -> Run:
    """A run in semibold."""
    return Run(text, f"strong {look}".strip())


def soft(text: str) -> Run:
    """A run in the soft ink of notes and units."""
    return Run(text, "soft")


def cell(*runs: Inline) -> Cell:
    """A table cell of one line."""
    return (runs,)


def plain(cell: Cell) -> str:
    """The words of a cell, nothing else."""
    parts = (part.text for line in cell for part in line if isinstance(part, Run))
    return ", ".join(part.strip(" ,") for part in parts if part.strip())


def is_small(line: Line) -> bool:
    """Is the whole line set small?"""
    return bool(line) and all(isinstance(part, Run) and "small" in part.look for part in line)
