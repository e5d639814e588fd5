"""Small pieces of speech that both pages share: names, dates, limits, states, verdicts."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable

from gaugewright.evidence.results import LimitCheck, Quantified, Reading
from gaugewright.job.model import Job, Limit, Visit
from gaugewright.report import display, marks, svg, words
from gaugewright.report.blocks import Number, Plate, PlateLook
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import FAILS, MEETS, OPEN

ZERO_WIDTH = "\u200b"
SOFT_HYPHEN = "\u00ad"


def quantity(name: str) -> str:
    """A quantity's word."""
    return words.QUANTITY.get(name) or words.PREDICTED_QUANTITY.get(name, name.replace("-", " "))


def the_quantity(name: str) -> str:
    """A quantity's word as a sentence needs it that speaks of it."""
    return words.THE_QUANTITY.get(name) or quantity(name)


def within(text: str) -> str:
    """A name as it stands within a sentence: small, but where nouns are written large."""
    return text if words.NOUNS_LARGE else text[:1].lower() + text[1:]


def capital(text: str) -> str:
    """The same text beginning with a capital."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """The same text as a sentence: a capital at its head, a full stop at its end."""
    said = capital(text.strip())
    return said if not said or said[-1] in ".!?\u2026" else said + "."


def reference(name: str, against: str | None) -> str:
    """What a reading is measured against, in words; empty where there is nothing to say."""
    if against is None:
        return ""
    if name == "oil-pressure":
        return words.REFERENCE.get(against, against)
    return words.REFERENCE_OF_CRANKCASE.get(against, words.REFERENCE.get(against, against))


def flag(code: str) -> str:
    """A flag in words."""
    return words.FLAG.get(code, code.replace("-", " "))


def date(when: dt.date | dt.datetime | None) -> str:
    """A date with the month's name, "4 March 2031"; empty where there is none."""
    if when is None:
        return ""
    month = words.MONTHS[when.month - 1]
    return words.DATE.format(day=when.day, month=month, year=when.year)


def clock(when: dt.date | dt.datetime | None) -> str:
    """The time of day, "14:10"; empty where only a date is known."""
    return f"{when:%H:%M}" if isinstance(when, dt.datetime) else ""


def visit_named(job: Job, name: str | None) -> Visit | None:
    """The visit of this name, if the job states it."""
    return next((visit for visit in job.visits if visit.name == name), None)


def listed(parts: Iterable[str]) -> str:
    """Words in a row: "a, b and c"."""
    items = [part for part in parts if part]
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])}{words.AND}{items[-1]}"


def breakable(text: str, longest: int = 24) -> str:
    """The same text, with places to break put into words longer than any line."""
    said = text
    for word, with_seams in words.SEAMS.items():
        said = said.replace(word, with_seams)
    return re.sub(
        rf"[^\s{SOFT_HYPHEN}]{{{longest + 1},}}",
        lambda found: ZERO_WIDTH.join(re.findall(rf".{{1,{longest}}}", found[0])),
        said,
    )


def label(text: str, longest: int = 24) -> str:
    """A name where it is only a label: cut at 60 signs, breaking wherever it has to."""
    return breakable(clipped(text, 60)[0], longest)


def one_line(text: str) -> str:
    """A text without line breaks, control signs or doubled blanks, safe to set anywhere."""
    kept = (display.NO_BREAK, display.NARROW)
    clean = (sign if sign.isprintable() or sign in kept else " " for sign in text)
    return re.sub(" +", " ", "".join(clean)).strip(" ")


def clipped(text: str, most: int | None) -> tuple[str, bool]:
    """A text cut at a word's end to at most so many signs, and whether it was cut."""
    said = one_line(text)
    if most is None or len(said) <= most:
        return said, False
    head = said[: most - 1]
    cut = head.rsplit(" ", 1)[0] if " " in head[most // 2 :] else head
    return cut.rstrip(" ,;:") + "\u2026", True


def limit_value(values: dict[str, float], name: str, unit: str, preferences: Preferences) -> str:
    """What a limit asks for: "90 kPa or more", "\u22124 kPa to +1 kPa"."""
    how = display.shown(name, unit, preferences)
    low = display.stated(values["min"], how) if "min" in values else ""
    high = display.stated(values["max"], how) if "max" in values else ""
    pattern = words.BETWEEN if low and high else words.OR_MORE if low else words.OR_LESS
    return pattern.format(low=low, high=high)


def limit_values(limit: Limit) -> dict[str, float]:
    """A limit's ends in findings units (kPa for pressures)."""
    factor = 1e-3 if limit.quantity.endswith("-pressure") else 1.0
    ends = {"min": limit.min, "max": limit.max}
    return {name: end.si * factor for name, end in ends.items() if end is not None}


def nearest_end(values: dict[str, float], value: float) -> dict[str, float]:
    """Of a limit's two ends the one that matters for a value: the nearer, or the one passed."""
    if len(values) < 2:
        return values
    name = min(values, key=lambda end: abs(values[end] - value))
    return {name: values[name]}


def held_at(limit: Limit) -> str:
    """The state a limit holds for, "820 rpm and 80 °C"; empty where it states none."""
    speed = display.rpm(limit.speed.si) if limit.speed else ""
    heat = limit.oil_temperature
    warm = f"{display.digits(heat.si, 0)}{display.NO_BREAK}°C" if heat else ""
    return listed([speed, warm])


def at(state: dict[str, Quantified]) -> str:
    """A state in figures, "820 rpm and 80 °C"."""
    return listed(
        f"{display.digits(v.value, 0)}{display.NO_BREAK}{display.spelled(v.unit)}"
        for v in state.values()
    )


def finding_unit(name: str) -> str:
    """The findings' unit of a quantity, where no finding says it."""
    if name.endswith("-pressure"):
        return "kPa"
    if name.endswith("-temperature"):
        return "degC"
    return {"engine-speed": "rpm", "battery-voltage": "V"}.get(name, "%")


def verdict_plate(verdict: str, observer: str = "") -> Plate:
    """A verdict on its plate; a failed one names what fails."""
    if verdict == MEETS:
        return Plate(f"{words.VERDICT[verdict]}{_place(observer)}", "meets", marks.sign(verdict))
    if verdict in FAILS:
        sign = marks.sign(verdict, "paper", "ink")
        return Plate(f"{words.VERDICT[verdict]}{_place(observer)}", "fails", sign)
    look: PlateLook = "open" if verdict == OPEN else "none"
    sign = marks.sign(verdict) if look == "open" else ""
    said = words.VERDICT.get(verdict) or flag(verdict)
    return Plate(said, look, sign)


def _place(observer: str) -> str:
    places = {"gauge": words.AT_GAUGE, "bearings": words.AT_BEARINGS}
    return f" {places[observer]}" if observer in places else ""


def observer_of(check: LimitCheck) -> str:
    """Who sees a check: gauge or bearings for the oil pressure, nobody else for the others."""
    return check.seen_by if check.quantity == "oil-pressure" else ""


def reading_number(
    reading: Reading, preferences: Preferences, unit: bool = True, signed: bool = False
) -> Number:
    """A reading as a figure; a one-sided one says "at most" or "at least" instead of a ±."""
    how = display.shown(reading.quantity, reading.unit, preferences, signed, reading.reference)
    if reading.bound:
        said = words.BOUND.get(reading.bound, reading.bound) + display.NO_BREAK
        return display.number(reading.value, None, how, said, unit)
    return display.number(reading.value, half_width(reading), how, "", unit)


def half_width(reading: Reading) -> float | None:
    """Half the width of a reading's 95 % interval; None where none is known."""
    if reading.low is not None and reading.high is not None:
        return 0.5 * (reading.high - reading.low)
    return None if reading.standard_uncertainty is None else 1.96 * reading.standard_uncertainty


def ink_of(name: str) -> str:
    """The colour a quantity's name is printed in; empty where it has none."""
    return svg.COLOUR_OF.get(name, "")
