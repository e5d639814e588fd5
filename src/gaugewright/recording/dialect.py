"""What the first lines of a delimited text say about the rest; job.toml's word comes first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from gaugewright.errors import InputError, Problem
from gaugewright.job.model import Text
from gaugewright.quantities.said import Said, said
from gaugewright.recording import cells, header, source
from gaugewright.recording.firstrow import Rows, begins, is_data, past_odd_rows
from gaugewright.recording.layout import WORDS, Layout, Split

_PARTED = ((";", "."), (";", ","), ("\t", "."), ("\t", ","), (",", "."), ("|", "."), ("|", ","))
_BLANKS = ((" ", "."), (" ", ","))
_QUOTED = ((",", ","),)
_SAMPLE = 60


@dataclass(frozen=True)
class _Trial:
    split: Split
    rows: int
    width: int
    filled: int
    named: bool

    @property
    def score(self) -> tuple[int, bool, int]:
        return self.rows, self.named, self.filled


def guess(ends: source.Ends, text: Text, wanted: Sequence[str], file: str) -> Layout:
    """Work out how a text is laid out.

    Parameters: the file's `ends`; the job's overrules; the column names the job uses; the
    file's name for messages.  Returns the layout with its guesses as sentences.
    Raises InputError when no row of numbers is found or an overrule does not fit the file.
    """
    encoding = text.encoding or source.encoding(ends.head)
    lines = _lines(ends, encoding, file)
    split, width = _split(lines, text, file)
    first = _first_row(lines, split, width, text, file)
    above = lines[: first - 1]
    name_at = _overruled(text.header_row, first, "header_row", file)
    if name_at is None:
        name_at = header.names_row(above, split, width, wanted)
    names = header.row_cells(above[name_at], split, width) if name_at is not None else None
    unit_at = _overruled(text.units_row, first, "units_row", file)
    if unit_at is None and name_at is not None:
        below = header.units_row(above[name_at + 1 :], split, width)
        unit_at = None if below is None else name_at + 1 + below
    units = header.row_cells(above[unit_at], split, width) if unit_at is not None else None
    count = _real_width(lines[first - 1 :], split, width, names)
    heads, twice = header.heads(names, units, count)
    return Layout(
        encoding=encoding,
        newline=source.newline(ends.head),
        split=split,
        width=width,
        first_row=first,
        header_row=None if name_at is None else name_at + 1,
        units_row=None if unit_at is None else unit_at + 1,
        heads=heads,
        skipped=frozenset(line.strip() for line in above if len(split.cells(line)) > 1),
        guesses=(
            *_said(split, width, encoding, text, name_at, unit_at, first, count < width),
            *_too_many_names(names, count),
            *(_passed_over(above, name_at, split, width) if text.first_row is None else ()),
        ),
        twice=twice,
        sample=tuple(tuple(split.cells(line)) for line in lines[first - 1 : first + 199]),
    )


def _lines(ends: source.Ends, encoding: str, file: str) -> list[str]:
    try:
        text = ends.head.decode(encoding, errors="replace")
    except LookupError:
        raise InputError(
            Problem(
                file,
                "text.encoding",
                f"'{encoding}' is no encoding we know",
                'write "utf-8", "utf-16" or "latin-1"',
            )
        ) from None
    lines = text.strip("\ufeff\0").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not ends.whole and len(lines) > 1:
        lines.pop()
    while lines and not lines[-1].strip():
        lines.pop()
    return lines


def _split(lines: list[str], text: Text, file: str) -> tuple[Split, int]:
    sample = lines[-_SAMPLE:]
    quoted = any('"' in line for line in sample)
    trials = [_trial(lines, sample, d, m, quoted) for d, m in _allowed(_PARTED, text)]
    if quoted:
        trials += [_trial(lines, sample, d, m, True) for d, m in _allowed(_QUOTED, text)]
    best = max(trials, key=lambda trial: trial.score, default=None)
    if best is None or best.rows == 0 or best.width == 1:
        blanks = [_trial(lines, sample, d, m, False) for d, m in _allowed(_BLANKS, text)]
        best = max([*filter(None, [best]), *blanks], key=lambda trial: trial.score, default=None)
    if best is None or best.rows == 0:
        raise InputError(_no_rows(lines, text, file))
    return best.split, best.width


def _allowed(pairs: Sequence[tuple[str, str]], text: Text) -> list[tuple[str, str]]:
    mark = {"\\t": "\t", "tab": "\t", "blank": " "}.get(text.delimiter or "", text.delimiter)
    known = [(d, m) for d, m in pairs if mark in (None, d) and text.decimal in (None, m)]
    if mark is not None and mark not in WORDS and pairs is _PARTED:
        return [(mark, m) for m in (".", ",") if text.decimal in (None, m)]
    if text.delimiter is not None and text.decimal is not None and pairs is _PARTED:
        return known or ([] if mark == " " else [(str(mark), text.decimal)])
    return known


def _trial(
    lines: list[str], sample: list[str], delimiter: str, decimal: str, quoted: bool
) -> _Trial:
    split = Split(delimiter, decimal, quoted)
    rows = [split.cells(line) for line in sample if line.strip()]
    data = [row for row in rows if is_data(row, decimal)]
    width = Counter(len(row) for row in data).most_common(1)[0][0] if data else 0
    data = [row for row in data if len(row) == width]
    known = {"number", "glued", "stamp", "thousands"}
    filled = sum(cells.kind(cell, decimal) in known for row in data for cell in row)
    named = any(
        len(split.cells(line)) == width and not is_data(split.cells(line), decimal)
        for line in lines[:_SAMPLE]
        if line.strip()
    )
    return _Trial(split, len(data), width, filled, named)


def _no_rows(lines: list[str], text: Text, file: str) -> Problem:
    if text.delimiter is not None or text.decimal is not None:
        mark = WORDS.get(text.delimiter or "", f"'{text.delimiter}'")
        return Problem(
            file,
            "text",
            f"no row of numbers is found with columns parted by {mark} and decimals by "
            f"'{text.decimal or 'either mark'}'",
            "leave delimiter and decimal out to have them guessed",
        )
    for number, line in enumerate(lines, 1):
        thousands = [c for c in line.replace("\t", ";").split(";") if cells.has_thousands(c)]
        if thousands:
            return _thousands(file, number, thousands[0])
    if len(lines) == 1 or not any(char.isdigit() for line in lines for char in line):
        found = f"{len(lines)} line{'s' * (len(lines) != 1)} of text and no row of numbers"
        return Problem(file, f"line {len(lines)}", found, "export the recording with its samples")
    return Problem(
        file,
        f"lines 1 to {len(lines)}",
        "no row of numbers parted by commas, semicolons, tabs or blanks",
        "state delimiter, decimal and first_row under [recording.text], or export it as CSV",
    )


def _thousands(file: str, line: int, cell: str) -> Problem:
    return Problem(
        file,
        f"line {line}",
        f"'{cell}' is written with thousands marks, which could as well be decimals",
        "export the numbers without thousands marks",
    )


def _first_row(lines: list[str], split: Split, width: int, text: Text, file: str) -> int:
    if text.first_row is not None:
        if not 1 <= text.first_row <= len(lines):
            raise InputError(
                Problem(
                    file,
                    "text.first_row",
                    f"line {text.first_row} is not among the first {len(lines)} lines",
                    "give the line of the first row of numbers, counted from 1",
                )
            )
        return text.first_row
    least = max(text.header_row or 0, text.units_row or 0)
    rows = Rows(lines, split, width)
    for index in range(least, len(lines)):
        if rows.mark(index) is not None and begins(rows, index):
            return past_odd_rows(rows, index) + 1
    good = [index for index in range(least, len(lines)) if rows.mark(index) is not None]
    if not good:
        raise InputError(_no_rows(lines, text, file))
    return good[0] + 1


def _overruled(line: int | None, first: int, key: str, file: str) -> int | None:
    if line is None:
        return None
    if not 1 <= line < first:
        raise InputError(
            Problem(
                file,
                f"text.{key}",
                f"line {line} is not above the first row of numbers in line {first}",
                f"give a line from 1 to {first - 1}, or first_row with it",
            )
        )
    return line - 1


def _real_width(lines: list[str], split: Split, width: int, names: list[str] | None) -> int:
    rows = [row for row in map(split.cells, lines[:200]) if len(row) == width]
    trailing = width > 1 and all(row[-1] == "" for row in rows)
    unnamed = names is None or len(names) < width or names[width - 1] == ""
    return width - 1 if trailing and unnamed else width


def _passed_over(
    above: list[str], name_at: int | None, split: Split, width: int
) -> tuple[str, ...]:
    """Rows of numbers above the first one that was read, said lest they were samples."""
    rows = Rows(above, split, width)
    start = 0 if name_at is None else name_at + 1
    found = [str(index + 1) for index in range(start, len(above)) if rows.mark(index) is not None]
    if not found:
        return ()
    which = said("lines {lines} are", lines=", ".join(found))
    if len(found) == 1:
        which = said("line {line} is", line=found[0])
    return (
        said(
            "{which} taken as numbers, rates or factors of the columns, not as samples", which=which
        ),
    )


def _too_many_names(names: list[str] | None, count: int) -> tuple[str, ...]:
    there = len([name for name in names if name]) if names else 0
    if there <= count:
        return ()
    return (
        said(
            "{names} names stand above {count} columns; they are taken from the left",
            names=there,
            count=count,
        ),
    )


def _said(
    split: Split,
    width: int,
    encoding: str,
    text: Text,
    name_at: int | None,
    unit_at: int | None,
    first: int,
    trailing: bool,
) -> tuple[str, ...]:
    told: list[str] = []
    if text.delimiter is None or text.decimal is None:
        told.append(_parted(split, width))
    if trailing:
        told.append("each line ends with one delimiter too many")
    if text.encoding is None and encoding != "utf-8":
        told.append(said("the text is encoded as {encoding}", encoding=encoding))
    if text.header_row is None:
        names = said("the columns are named in line {line}", line=(name_at or 0) + 1)
        none = "no line names the columns; they are called 1, 2, 3 and so on"
        told.append(none if name_at is None else names)
    if text.units_row is None and unit_at is not None:
        told.append(said("their units stand in line {line}", line=unit_at + 1))
    if text.first_row is None:
        told.append(said("the numbers begin in line {line}", line=first))
    return tuple(told)


def _parted(split: Split, width: int) -> Said:
    mark = {".": said("a point"), ",": said("a comma")}[split.decimal]
    if width <= 1:
        return said("there is one column, decimals by {mark}", mark=mark)
    word = WORDS.get(split.delimiter)
    by = said(word) if word else f"'{split.delimiter}'"
    return said("columns are parted by {by}, decimals by {mark}", by=by, mark=mark)
