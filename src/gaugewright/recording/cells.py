"""What one cell of a table is: a number, a stamp of time, a missing value, a unit, or a text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from gaugewright.recording.types import Floats

NO_VALUE = frozenset(
    {"", "nan", "-nan", "na", "n/a", "#n/a", "null", "none", "nil", "-", "--", "---", "----"}
)
_UNITS = (
    "s sec ms msec us usec µs μs ns min h h:m:s h:m:s.ms hh:mm:ss v mv kv volt volts a ma ka "
    "amp amps ohm ω rpm 1/min min-1 r/min u/min bar mbar pa hpa kpa mpa psi psia psig inhg mmhg "
    "torr inh2o mmh2o cmh2o atm c degc deg.c °c deg f degf °f k degk % hz khz mhz km/h kmh kph "
    "mph m/s g/s kg/h kg/s g/min lb/min l/h l/min ml/s gal/h gph deg ° °crk degca mm cm m km in "
    "inch ft mg mg/stk nm n kw w hp lambda afr cst g kg l ml 1 [-] - ratio count"
)
UNITS = frozenset(_UNITS.split())
_POINT = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_COMMA = re.compile(r"[+-]?(?:\d+(?:[,.]\d+)?|[,.]\d+)(?:[eE][+-]?\d+)?")
_GLUED = re.compile(r"\s?((?:in|mm|cm)H2O|[A-Za-z°%µμΩ/²³]+)")
_THOUSANDS = re.compile(
    r"[+-]?\d{1,3}(?:(?:\.\d{3})+,\d+|(?:,\d{3})+\.\d+|(?:['\u2019\u00a0]\d{3})+)"
)
_STAMP = re.compile(
    r"(?:\d{4}-\d{1,2}-\d{1,2}|\d{1,2}[./-]\d{1,2}[./-]\d{2,4}|\d{4}/\d{1,2}/\d{1,2})"
    r"(?:[T ]+\d{1,2}:\d{2}(?::\d{2})?(?:[.,: ]\d+)?)?(?:\s?(?:Z|[+-]\d{2}:?\d{2}|[AaPp][Mm]))?"
    r"|\d{1,4}:\d{2}(?::\d{2})?(?:[.,: ]\d+)?(?:\s?[AaPp][Mm])?"
)


@dataclass(frozen=True)
class Numbers:
    """Cells turned to numbers: `values` (n,), glued-on `units`, rows that are no number (`bad`)."""

    values: Floats
    units: frozenset[str]
    bad: tuple[int, ...]
    infinite: int = 0


def kind(cell: str, decimal: str) -> str:
    """What a cell looks like: "number", "glued", "stamp", "thousands", "empty", "text"."""
    text = cell.strip()
    if text.casefold() in NO_VALUE:
        return "empty"
    match = (_POINT if decimal == "." else _COMMA).match(text)
    if match and match.end() == len(text):
        return "number"
    if match and _GLUED.fullmatch(text, match.end()):
        return "glued"
    if _STAMP.fullmatch(text):
        return "stamp"
    return "thousands" if has_thousands(text) else "text"


def is_unit(cell: str) -> bool:
    """Whether a cell reads as a unit, with or without brackets."""
    return cell.strip().strip("[]()").strip().casefold() in UNITS and cell.strip() != ""


def has_thousands(cell: str) -> bool:
    """Whether a number is written with thousands marks (1.234,5), which are not read."""
    return _THOUSANDS.fullmatch(cell.strip()) is not None


def numbers(cells: Sequence[str], decimal: str, missing: Iterable[str] = ()) -> Numbers:
    """Turn cells to numbers; a cell that is none is NaN and its index goes to `bad`.

    Plain cells are turned at once; only where one resists is each looked at alone.
    """
    marks = frozenset(missing)
    try:
        if decimal == "," or marks:
            raise ValueError
        values = np.array([float(c) if c else np.nan for c in cells], dtype=np.float64)
        return _finite(values, frozenset(), ())
    except ValueError:
        return _one_by_one(cells, decimal, marks)


def _one_by_one(cells: Sequence[str], decimal: str, marks: frozenset[str]) -> Numbers:
    values = np.full(len(cells), np.nan)
    bad: list[int] = []
    units: set[str] = set()
    known: dict[str, float] = {}
    for row, cell in enumerate(cells):
        value = known.get(cell)
        if value is None:
            found = _number(cell.strip(), decimal, marks)
            if found is None:
                bad.append(row)
                continue
            value = found[0]
            units |= {found[1]} - {""}
            if len(known) < 100_000:
                known[cell] = value
        values[row] = value
    return _finite(values, frozenset(units), tuple(bad))


def _number(text: str, decimal: str, marks: frozenset[str]) -> tuple[float, str] | None:
    if text in marks or text.casefold() in NO_VALUE:
        return np.nan, ""
    if text.casefold().lstrip("+-") in {"inf", "infinity", "∞"}:
        return np.inf, ""
    match = (_POINT if decimal == "." else _COMMA).match(text)
    if not match:
        return None
    value = float(match.group().replace(",", "."))
    if match.end() == len(text):
        return value, ""
    glued = _GLUED.fullmatch(text, match.end())
    return (value, glued.group(1)) if glued else None


def _finite(values: Floats, units: frozenset[str], bad: tuple[int, ...]) -> Numbers:
    infinite = int(np.isinf(values).sum())
    if infinite:
        values[np.isinf(values)] = np.nan
    return Numbers(values, units, bad, infinite)


def mark_missing(values: Floats, missing: Iterable[str]) -> Floats:
    """NaN wherever a value equals one of the marks for "no value" ("-99" also takes -99.0)."""
    for text in missing:
        try:
            mark = float(text.replace(",", "."))
        except ValueError:
            continue
        if np.any(values == mark):
            values = np.where(values == mark, np.nan, values)
    return values
