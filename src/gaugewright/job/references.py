"""What must hold between tables: recordings, conditions, readings, visits, files."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from itertools import combinations
from pathlib import PurePosixPath

from gaugewright.errors import Problem
from gaugewright.job.checks import (
    check_reference,
    check_stated,
    unique,
)
from gaugewright.job.context import FIRST, Context
from gaugewright.job.fields import dimension_in, not_a_word
from gaugewright.job.model import (
    Condition,
    HandReading,
    Job,
    Limit,
    Observation,
    RecordingEntry,
    Text,
    Work,
)
from gaugewright.job.signal_checks import check_signal
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.units import spoken

Problems = Iterator[Problem]
_Visited = Observation | RecordingEntry | HandReading | Work


def check_references(job: Job, context: Context) -> Problems:
    """Everything wrong between tables of a job."""
    yield from _visits(job, context)
    for visit in dict.fromkeys(_visit(entry, context) for entry in job.recordings):
        same = [entry for entry in job.recordings if _visit(entry, context) == visit]
        yield from unique(same, context, " of one visit")
    for entry in job.recordings:
        yield from _recording(entry, job, context)
    for reading in job.readings:
        yield from _reading(reading, job, context)
    for limit in job.limits:
        yield from _did(limit, context)
    nothing = not context.source.raw.get("recording") and not context.source.raw.get("reading")
    if nothing:
        found = "found neither a [[recording]] nor a [[reading]]"
        yield context.source.problem((), found, "add at least one of them")


def _visits(job: Job, context: Context) -> Problems:
    names = context.names["visit"]
    listed = " or ".join(f'"{name}"' for name in names)
    parts: tuple[_Visited, ...] = (
        *job.observations,
        *job.recordings,
        *job.readings,
        *job.work,
    )
    for part in parts:
        visit = part.visit
        if visit is None and len(names) > 1:
            found = "no visit is named while the job has several"
            yield context.problem(part, "visit", found, f"write {listed}")
        elif visit is not None and visit not in names:
            remedy = f"write {listed}, or add a [[visit]]"
            if names == (FIRST,) and not job.visits:
                remedy = f'add a [[visit]] of that name, or write "{FIRST}"'
            yield context.problem(part, "visit", f'found "{visit}", which is no visit', remedy)


def _visit(entry: RecordingEntry, context: Context) -> str | None:
    """The visit of a recording; the only one where it is silent."""
    names = context.names["visit"]
    return entry.visit or (names[0] if len(names) == 1 else None)


def _did(part: Limit | Condition, context: Context) -> Problems:
    if "nothing" in part.did and len(part.did) > 1:
        found = 'found "nothing" together with an action'
        yield context.problem(part, "did", found, "write the actions alone")


def _recording(entry: RecordingEntry, job: Job, context: Context) -> Problems:
    yield from _file(entry, context)
    yield from _clock(entry, context)
    yield from _alignment(entry, job, context)
    if entry.text is not None:
        yield from _text(entry.text, context)
    if not entry.signals and not context.written(entry, "signal"):
        found = "found no [[recording.signal]]"
        yield context.problem(entry, "", found, "add one for each column that is used")
    for signal in entry.signals:
        yield from check_signal(signal, job, context)
    yield from _same_column(entry, context)
    yield from _conditions(entry, context)


_DRIVE = re.compile(r"^[A-Za-z]:")


def unsafe(name: str) -> bool:
    """Whether a file name leaves the folder it should stay in, on any system."""
    path = PurePosixPath(name)
    return (
        path.is_absolute()
        or ".." in path.parts
        or "\\" in name
        or "\0" in name
        or bool(_DRIVE.match(name))
    )


def _file(entry: RecordingEntry, context: Context) -> Problems:
    if unsafe(entry.file):
        found = f'found "{entry.file}", which leads outside the job folder'
        remedy = 'write a path inside it with "/", such as "recordings/hot-idle.csv"'
        yield context.problem(entry, "file", found, remedy)
        return
    if context.folder is None:
        return
    target = context.folder / entry.file
    if not target.resolve().is_relative_to(context.folder.resolve()):
        found = f'found "{entry.file}", a link that leads outside the job folder'
        yield context.problem(entry, "file", found, "copy the recording itself into the folder")
    elif not target.is_file():
        found = f'the file "{entry.file}" is not there'
        yield context.problem(entry, "file", found, "put it there, or correct the name")


def _clock(entry: RecordingEntry, context: Context) -> Problems:
    own = entry.signals and all(signal.time for signal in entry.signals)
    if entry.time is not None and entry.rate is not None:
        found = f'found both time = "{entry.time}" and rate = "{entry.rate.text}"'
        yield context.problem(entry, "rate", found, "keep the one that is right")
    elif not (own or context.written(entry, "time", "rate")):
        found = "found neither time nor rate"
        yield context.problem(entry, "", found, 'add time = "…", a column, or rate = "10 kHz"')
    if entry.rate is not None and entry.rate.si <= 0:
        found = f'found "{entry.rate.text}"'
        yield context.problem(entry, "rate", found, 'write a rate above zero, such as "10 kHz"')


def _alignment(entry: RecordingEntry, job: Job, context: Context) -> Problems:
    if entry.aligned_with is None:
        if entry.aligned_by is not None:
            found = "found aligned_by without aligned_with"
            yield context.problem(entry, "aligned_by", found, 'add aligned_with = "…", a recording')
        return
    visit = _visit(entry, context)
    others = [
        other for other in job.recordings if other is not entry and _visit(other, context) == visit
    ]
    other = next((item for item in others if item.name == entry.aligned_with), None)
    if other is None:
        found = f'found "{entry.aligned_with}", which is no other recording of the visit'
        names = ", ".join(f'"{item.name}"' for item in others) or "a recording that exists"
        yield context.problem(entry, "aligned_with", found, f"write {names}")
        return
    both = shared_quantities(entry, other)
    if entry.aligned_by is not None and entry.aligned_by not in both:
        found = f'found "{entry.aligned_by}", which the two recordings do not both hold'
        remedy = f"write {', '.join(both)}" if both else "delete it and state clock_offset"
        yield context.problem(entry, "aligned_by", found, remedy)
    elif entry.aligned_by is None and len(both) != 1:
        found = f"both recordings hold {', '.join(both) or 'no common quantity'}"
        remedy = "say which with aligned_by" if both else "state clock_offset instead"
        yield context.problem(entry, "aligned_with", found, remedy)


def shared_quantities(one: RecordingEntry, other: RecordingEntry) -> tuple[str, ...]:
    """The quantities that both recordings have a signal of."""
    held = {signal.quantity for signal in other.signals}
    return tuple(dict.fromkeys(s.quantity for s in one.signals if s.quantity in held))


def _text(text: Text, context: Context) -> Problems:
    if text.delimiter is not None and (len(text.delimiter) != 1 or text.delimiter in '\r\n"'):
        found = f'found "{text.delimiter}"'
        yield context.problem(text, "delimiter", found, 'write one character, such as ";" or "\\t"')
    if text.delimiter is not None and text.delimiter == text.decimal:
        found = f'found "{text.decimal}" as delimiter and as decimal mark'
        yield context.problem(text, "decimal", found, "correct one of them")
    if text.encoding is not None and not _codec(text.encoding):
        found = f'found "{text.encoding}", which is no encoding'
        yield context.problem(text, "encoding", found, 'write one such as "utf-8" or "latin-1"')
    for key in ("header_row", "units_row"):
        row = getattr(text, key)
        if row is not None and text.first_row is not None and row >= text.first_row:
            found = f"found line {row} while the numbers begin in line {text.first_row}"
            yield context.problem(text, key, found, "write a line before first_row")


def _codec(name: str) -> bool:
    try:
        codecs.lookup(name)
    except (LookupError, ValueError):
        return False
    return True


def _same_column(entry: RecordingEntry, context: Context) -> Problems:
    seen: set[tuple[str, str]] = set()
    for signal in entry.signals:
        if (signal.column, signal.quantity) in seen:
            found = f'the column "{signal.column}" is used twice for {signal.quantity}'
            yield context.problem(signal, "column", found, "delete one, or name another column")
        seen.add((signal.column, signal.quantity))


def _conditions(entry: RecordingEntry, context: Context) -> Problems:
    for stretch in entry.conditions:
        if stretch.from_.si >= stretch.to.si:
            found = f'found from "{stretch.from_.text}" to "{stretch.to.text}"'
            yield context.problem(stretch, "from", found, "write the earlier time first")
        yield from _did(stretch, context)
    for one, other in combinations(sorted(entry.conditions, key=_start), 2):
        if one.from_.si < one.to.si and other.from_.si < min(one.to.si, other.to.si):
            found = (
                f'"{other.name}" begins at "{other.from_.text}", before "{one.name}" ends at '
                f'"{one.to.text}"'
            )
            yield context.problem(other, "from", found, "let them follow one another")


def _start(condition: Condition) -> float:
    return condition.from_.si


def _reading(reading: HandReading, job: Job, context: Context) -> Problems:
    kind = QUANTITIES[reading.quantity]
    if kind.pulses:
        found, remedy = f'found "{reading.quantity}", which is counted', "read what is measured"
        yield context.problem(reading, "quantity", found, remedy)
    yield from check_reference(reading, reading.quantity, reading.reference, context)
    yield from check_stated(reading, "value", reading.reference, context)
    name = reading.instrument
    if name is None:
        return
    if name not in context.names["instrument"]:
        known = context.names["instrument"]
        error = not_a_word(name, "instrument of this job", known or ("…",))
        remedy = error.remedy if known else "add an [[instrument]] of that name"
        yield context.problem(reading, "instrument", error.found, remedy)
        return
    gauge = next((item for item in job.instruments if item.name == name), None)
    stated = (gauge.accuracy or (gauge.range and gauge.range[0])) if gauge else None
    if stated is not None and dimension_in(stated) != kind.dimension:
        found = f'"{name}" reads {spoken(dimension_in(stated))}, not {spoken(kind.dimension)}'
        yield context.problem(reading, "instrument", found, "name another instrument")
