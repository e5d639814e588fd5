"""The sample outcomes rendered once, and what a reader finds in them."""

from __future__ import annotations

from functools import cache
from html.parser import HTMLParser
from typing import Any

import pypdfium2
from cause_sample import WEIGHED
from report_sample import VARIANTS, preferences

from gaugewright.report import pages

FORBIDDEN = (
    "safe to drive",
    "roadworthy",
    "no fault",
    "nothing wrong",
    "nothing is wrong",
    "all clear",
    "in order",
    "healthy",
    "passed",
)
"""What no page may say."""


@cache
def files(name: str, paper: str = "a4") -> dict[str, bytes]:
    return pages.render((VARIANTS | WEIGHED)[name](), preferences(paper=paper))


def texts(pdf: bytes) -> list[str]:
    """The text of every page, line breaks and special blanks made plain."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [_plain(page.get_textpage().get_text_bounded()) for page in document]
    finally:
        document.close()


def _plain(text: str) -> str:
    for blank in ("\u00a0", "\u202f", "\r", "\n"):
        text = text.replace(blank, " ")
    return " ".join(text.replace("\u200b", "").split())


def handover(name: str, paper: str = "a4") -> str:
    return " ".join(texts(files(name, paper)["handover.pdf"]))


def record(name: str, paper: str = "a4") -> str:
    return " ".join(texts(files(name, paper)["record.pdf"]))


def outside(pdf: bytes) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Letters that stand beyond the page's type area, each with its box."""
    document = pypdfium2.PdfDocument(pdf)
    found = []
    for page in document:
        width, height = page.get_size()
        text = page.get_textpage()
        for i in range(text.count_chars()):
            letter = text.get_text_range(i, 1)
            if not letter.strip():
                continue
            left, bottom, right, top = text.get_charbox(i)
            if left < 60 or right > width - 50 or bottom < 30 or top > height - 36:
                found.append((letter, (left, bottom, right, top)))
    document.close()
    return found


class Reader(HTMLParser):
    """Collects addresses, text and unclosed elements of a page."""

    VOID = frozenset({"meta", "br", "col", "img", "link", "input", "hr"})

    def __init__(self) -> None:
        super().__init__()
        self.addresses: list[str] = []
        self.said: list[str] = []
        self.open: list[str] = []
        self.names: list[str] = []
        self.hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, Any]]) -> None:
        self.names.append(tag)
        self.addresses += [v for k, v in attrs if k in ("src", "href", "xlink:href", "action")]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, Any]]) -> None:
        self.names.append(tag)
        self.addresses += [v for k, v in attrs if k in ("src", "href", "xlink:href", "action")]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "title"):
            self.said.append(data)


@cache
def screen(name: str) -> Reader:
    reader = Reader()
    reader.feed(files(name)["pages.html"].decode("utf-8"))
    reader.close()
    return reader
