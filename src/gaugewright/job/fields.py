"""The kinds of field a job has: values with units, words from lists, dates, whole numbers."""

from __future__ import annotations

import contextlib
import datetime as dt
import difflib
from collections.abc import Callable, Iterable
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, PlainValidator, Strict, WithJsonSchema
from pydantic_core.core_schema import ValidationInfo

from gaugewright.job.words import ACTIONS, OBSERVATIONS, SEEN
from gaugewright.physics.grades import find_grade
from gaugewright.quantities import units
from gaugewright.quantities.catalogue import QUANTITIES, difference_of
from gaugewright.quantities.physical import Physical
from gaugewright.quantities.unit_table import EXAMPLES

_WITH_UNIT = r"[0-9].*[^0-9.,\s]"


class FieldError(ValueError):
    """A value that a key cannot hold: what was found, what would do."""

    def __init__(self, found: str, remedy: str) -> None:
        self.found = found
        self.remedy = remedy
        super().__init__(f"{found}; {remedy}")


def _listing(words: Iterable[str]) -> str:
    quoted = [f'"{word}"' for word in words]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"


MOST_LISTED = 8
"""A longer list of words is left out where the nearest word is offered."""


def not_a_word(value: object, kind: str, words: Iterable[str]) -> FieldError:
    """The error for a word that is not in its list, with the nearest that is."""
    return FieldError(f'found "{value}", which is no {kind}', offer(value, tuple(words)))


def offer(value: object, words: tuple[str, ...]) -> str:
    """What would do in place of a wrong word: the nearest, the list, or both."""
    near = difflib.get_close_matches(str(value), words, n=1, cutoff=0.6)
    if len(words) == 1 or (near and len(words) > MOST_LISTED):
        return f'write "{near[0] if near else words[0]}"'
    return f'write "{near[0]}", or one of {_listing(words)}' if near else f"write {_listing(words)}"


def parse_any(text: Any, difference: bool = False) -> Physical:
    """A value whose unit says the dimension; a temperature unit may mean a difference."""
    if isinstance(text, Physical):
        return text
    if not isinstance(text, str):
        return units.parse(text, "pressure")
    _, unit = units.split(text)
    dimension = units.dimension_of(unit) or "pressure"
    return units.parse(text, difference_of(dimension) if difference else dimension)


def dimension_in(value: Physical) -> str:
    """The dimension of a value by its unit's text (a temperature's for a difference too)."""
    return units.dimension_of(units.split(value.text)[1]) or "pressure"


def _text_schema(description: str) -> WithJsonSchema:
    return WithJsonSchema({"type": "string", "pattern": _WITH_UNIT, "description": description})


def _of(dimension: str) -> tuple[PlainValidator, WithJsonSchema]:
    def read(value: Any) -> Physical:
        return value if isinstance(value, Physical) else units.parse(value, dimension)

    words = f"{units.spoken(dimension)} with its unit, such as {EXAMPLES[dimension]}"
    return PlainValidator(read), _text_schema(words)


def _by_quantity(difference: bool) -> Callable[[Any, ValidationInfo], Physical]:
    def read(value: Any, info: ValidationInfo) -> Physical:
        kind = QUANTITIES.get(info.data.get("quantity", ""))
        if isinstance(value, Physical) or kind is None:
            return parse_any(value, difference)
        return units.parse(value, kind.difference if difference else kind.dimension)

    return read


def _by_points(difference: bool) -> Callable[[Any, ValidationInfo], Physical]:
    def read(value: Any, info: ValidationInfo) -> Physical:
        points = info.data.get("points")
        if isinstance(value, Physical) or not points:
            return parse_any(value, difference)
        swapped = dimension_in(points[0][0]) == "pressure"
        dimension = dimension_in(points[0][0 if swapped else 1])
        return units.parse(value, difference_of(dimension) if difference else dimension)

    return read


def _quantity(word: str) -> str:
    if word not in QUANTITIES:
        raise not_a_word(word, "quantity", QUANTITIES)
    return word


def _action(word: str) -> str:
    if word not in ACTIONS:
        raise not_a_word(word, "action", ACTIONS)
    return word


def _observed(word: str) -> str:
    if word not in SEEN:
        near = difflib.get_close_matches(word, SEEN, n=1)
        raise not_a_word(word, "thing to observe", SEEN if near else OBSERVATIONS)
    return word


def _saw(word: str, info: ValidationInfo) -> str:
    what = info.data.get("what")
    if what is not None and word not in SEEN[what]:
        raise not_a_word(word, f'word for "{what}"', SEEN[what])
    return word


def _grade(text: str) -> str:
    try:
        find_grade(text)
    except ValueError as error:
        remedy = 'write an SAE J300 grade, such as "5W-30" or "SAE 30", or leave the key out'
        raise FieldError(f'found "{text}", which is no oil grade', remedy) from error
    return text


def _date(value: Any) -> dt.datetime | dt.date:
    if isinstance(value, str):
        kind = dt.datetime if len(value) > 10 else dt.date
        with contextlib.suppress(ValueError):
            return kind.fromisoformat(value)
    if isinstance(value, dt.date):
        return value
    remedy = "write a date such as 2031-03-04 or a date and time such as 2031-03-04T09:30:00"
    raise FieldError(f"found {said(value)}, which is no date", remedy)


def said(value: Any) -> str:
    """A value of a job file as a sentence quotes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list" if len(value) > 4 else f"[{', '.join(said(item) for item in value)}]"
    return str(value)


def _one_or_many(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Pressure = Annotated[Physical, *_of("pressure")]
Speed = Annotated[Physical, *_of("speed")]
Temperature = Annotated[Physical, *_of("temperature")]
Voltage = Annotated[Physical, *_of("voltage")]
Time = Annotated[Physical, *_of("time")]
Frequency = Annotated[Physical, *_of("frequency")]
Length = Annotated[Physical, *_of("length")]
Distance = Annotated[Physical, *_of("distance")]
Volume = Annotated[Physical, *_of("volume")]
OfQuantity = Annotated[
    Physical,
    PlainValidator(_by_quantity(difference=False)),
    _text_schema("a value of the quantity, with its unit"),
]
SpreadOfQuantity = Annotated[
    Physical,
    PlainValidator(_by_quantity(difference=True)),
    _text_schema("a difference of the quantity, with its unit"),
]
OfPoints = Annotated[
    Physical,
    PlainValidator(_by_points(difference=False)),
    _text_schema("a value of what the sensor measures, with its unit"),
]
SpreadOfPoints = Annotated[
    Physical,
    PlainValidator(_by_points(difference=True)),
    _text_schema("a difference of what the sensor measures, with its unit"),
]
AnyValue = Annotated[Physical, PlainValidator(parse_any), _text_schema("a value with its unit")]
AnySpread = Annotated[
    Physical,
    PlainValidator(lambda value: parse_any(value, difference=True)),
    _text_schema("a difference or an uncertainty with its unit"),
]
Whole = Annotated[int, Strict()]
Number = Annotated[float, Strict()]
YesNo = Annotated[bool, Strict()]
Quantity = Annotated[str, AfterValidator(_quantity), WithJsonSchema({"enum": list(QUANTITIES)})]
Action = Annotated[str, AfterValidator(_action), WithJsonSchema({"enum": list(ACTIONS)})]
Did = Annotated[
    tuple[Action, ...],
    BeforeValidator(_one_or_many),
    WithJsonSchema(
        {
            "anyOf": [
                {"enum": list(ACTIONS)},
                {"type": "array", "items": {"enum": list(ACTIONS)}},
            ]
        }
    ),
]
Observed = Annotated[str, AfterValidator(_observed), WithJsonSchema({"enum": list(SEEN)})]
Saw = Annotated[
    str,
    AfterValidator(_saw),
    WithJsonSchema({"enum": sorted({word for words in SEEN.values() for word in words})}),
]
Grade = Annotated[str, AfterValidator(_grade)]
Date = Annotated[
    dt.datetime | dt.date,
    PlainValidator(_date),
    WithJsonSchema({"type": "string", "description": "a date, or a date and time"}),
]
