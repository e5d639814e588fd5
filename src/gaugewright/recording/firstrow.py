"""Which line is the first row of numbers, and which only looks like one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from gaugewright.recording import cells
from gaugewright.recording.layout import Split

RUN = 3


def is_data(row: Sequence[str], decimal: str) -> bool:
    """Whether a row is one of numbers: more than half of its filled cells are."""
    kinds = [cells.kind(cell, decimal) for cell in row]
    filled = [kind for kind in kinds if kind != "empty"]
    return bool(filled) and 2 * sum(kind != "text" for kind in filled) > len(filled)


class Rows:
    """The lines as rows of cells and what each looks like, worked out when asked for."""

    def __init__(self, lines: list[str], split: Split, width: int) -> None:
        self.lines, self.split, self.width = lines, split, width
        self._marks: dict[int, tuple[str, ...] | None] = {}

    def __len__(self) -> int:
        return len(self.lines)

    def mark(self, index: int) -> tuple[str, ...] | None:
        """The kinds of the cells of a row of numbers, or None for any other line."""
        if index not in self._marks:
            row = self.split.cells(self.lines[index])
            fits = len(row) == self.width or 1 < len(row) < self.width
            kinds = tuple(cells.kind(cell, self.split.decimal) for cell in row)
            good = fits and is_data(row, self.split.decimal)
            self._marks[index] = kinds if good else None
        return self._marks[index]

    def wordy(self, index: int) -> bool:
        """Whether a line holds words and no number at all, and is no repeat or remark."""
        line = self.lines[index].strip()
        if not line or line.startswith("#") or line in map(str.strip, self.lines[:index]):
            return False
        kinds = {cells.kind(cell, self.split.decimal) for cell in self.split.cells(line)}
        return kinds <= {"text", "empty"}


def begins(rows: Rows, index: int) -> bool:
    """Whether the recording begins here: some rows of numbers before the next line of words."""
    found = 1
    for later in range(index + 1, min(index + 20, len(rows))):
        if rows.mark(later) is not None:
            found += 1
        elif rows.wordy(later):
            return False
        if found == RUN:
            return True
    return True


def past_odd_rows(rows: Rows, start: int) -> int:
    """Step over rows of channel numbers, rates or factors that only look like samples."""
    after = range(start + 2, min(start + 40, len(rows)))
    later = [mark for mark in map(rows.mark, after) if mark is not None]
    if len(later) < RUN:
        return start
    usual = Counter(later).most_common(1)[0][0]
    for index in (start + 1, start):
        counted = index == start and _counts_up(rows.split.cells(rows.lines[index]))
        if counted or _odd(rows.mark(index), usual):
            return index + 1
    return start


def _odd(mark: tuple[str, ...] | None, usual: tuple[str, ...]) -> bool:
    if mark is None or len(mark) != len(usual):
        return False
    pairs = [(a, b) for a, b in zip(mark, usual, strict=True) if "empty" not in (a, b)]
    return any(a != b and "glued" in (a, b) for a, b in pairs) or (
        bool(pairs) and pairs[0][0] != pairs[0][1] and "stamp" in pairs[0]
    )


def _counts_up(row: list[str]) -> bool:
    return len(row) > 2 and row == [str(n) for n in range(1, len(row) + 1)]
