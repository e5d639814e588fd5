"""The file itself: its first and last bytes, its checksum, its encoding."""

from __future__ import annotations

import codecs
import hashlib
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

HEAD_BYTES = 1 << 18
TAIL_BYTES = 1 << 16
_CHUNK = 1 << 20
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_PACKED = (
    (b"PK\x03\x04", "a zip or spreadsheet file", "export the sheet as CSV"),
    (b"\x1f\x8b", "a gzip file", "unpack it first"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet file", "export the sheet as CSV"),
    (b"%PDF", "a PDF", "export the numbers as CSV"),
)


@dataclass(frozen=True)
class Ends:
    """The first and last bytes of a file and its size."""

    head: bytes
    tail: bytes
    size: int

    @property
    def whole(self) -> bool:
        """Whether the head is already the whole file."""
        return len(self.head) == self.size


def ends(path: Path, head_bytes: int = HEAD_BYTES) -> Ends:
    """Read the first and last bytes of a file."""
    with path.open("rb") as file:
        head = file.read(head_bytes)
        size = file.seek(0, 2)
        file.seek(max(0, size - TAIL_BYTES))
        return Ends(head, file.read(), size)


def sha256(path: Path) -> str:
    """The SHA-256 of the file's bytes, in hexadecimal."""
    digest = hashlib.sha256()
    buffer = bytearray(_CHUNK)
    with path.open("rb", buffering=0) as file:
        while count := file.readinto(buffer):
            digest.update(memoryview(buffer)[:count])
    return digest.hexdigest()


class Checksum:
    """The checksum, worked out on a second thread while the file is read."""

    def __init__(self, path: Path) -> None:
        self._pool = ThreadPoolExecutor(1)
        self._answer: Future[str] = self._pool.submit(sha256, path)
        self._pool.shutdown(wait=False)

    def result(self) -> str:
        """Wait for the checksum."""
        return self._answer.result()


def encoding(head: bytes) -> str:
    """The encoding that the first bytes speak for: by mark, by zero bytes, by validity."""
    for mark, name in _MARKS:
        if head.startswith(mark):
            return name
    sample = head[:4096].rstrip(b"\0")
    if len(sample) > 3 and sample[1::2].count(0) > 0.4 * len(sample[1::2]):
        return "utf-16-le"
    if len(sample) > 3 and sample[::2].count(0) > 0.4 * len(sample[::2]):
        return "utf-16-be"
    return "utf-8" if _is_utf8(head) else "latin-1"


def _is_utf8(head: bytes) -> bool:
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        decoder.decode(head)
    except UnicodeDecodeError:
        return False
    return True


def binary(head: bytes) -> tuple[str, str] | None:
    """What a file is that holds no text, and what would do; None for a text."""
    for mark, what, remedy in _PACKED:
        if head.startswith(mark):
            return what, remedy
    if encoding(head).startswith("utf-16"):
        return None
    sample = head[:65536].rstrip(b"\0")
    control = sum(sample.count(code) for code in (*range(9), *range(14, 32), 127))
    if not sample or 0 in sample or control > 0.01 * len(sample):
        return "a binary file, not a table of text", "export it as CSV or Parquet"
    return None


def newline(head: bytes) -> str:
    r"""How lines end: "\n" (also "\r\n") or a bare "\r"."""
    return "\r" if b"\r" in head and b"\n" not in head else "\n"


def repaired(text: str) -> str:
    """Text whose degree or micro sign was damaged by a wrong encoding, mended."""
    for wrong, right in (("Â°", "°"), ("Âµ", "µ"), ("Â²", "²"), ("ï»¿", ""), ("\ufeff", "")):
        text = text.replace(wrong, right)
    for letter in "CF":
        for wrong in ("\ufffd\ufffd", "\ufffd", "?"):
            text = text.replace(f"[{wrong}{letter}]", f"[°{letter}]")
            text = text.replace(f"({wrong}{letter})", f"(°{letter})")
    return text
