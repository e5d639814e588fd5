"""The work record: everything the findings hold, for the file."""

from __future__ import annotations

from collections.abc import Sequence

from gaugewright import __version__
from gaugewright.analysis.outcome import Outcome
from gaugewright.job.model import Job
from gaugewright.report import (
    blocks,
    cause_tables,
    causes,
    checks_tables,
    display,
    matches_table,
    missing,
    next_tables,
    phrases,
    readings_table,
    words,
)
from gaugewright.report.blocks import Block, Cell, Column, Row, Run, cell, soft, strong
from gaugewright.report.carried import carried, remade
from gaugewright.report.handover import WIDTH, odometer
from gaugewright.report.keeping import kept
from gaugewright.report.lane_chart import lane_picture
from gaugewright.report.language import speaking
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import story_of

HALF_PAGE = {"a4": 286.0, "letter": 262.0}
"""Height of a recording's picture such that two fit on one page, in points."""


def record_page(outcome: Outcome, preferences: Preferences) -> blocks.Page:
    """The whole work record as blocks; as many pages as it takes."""
    with speaking(preferences.language):
        return _page(outcome, preferences)


def _page(outcome: Outcome, preferences: Preferences) -> blocks.Page:
    job = outcome.job
    body: list[Block] = [
        blocks.Heading(phrases.breakable(job.title), 1),
        *_facts(job, preferences),
        *_visits(job),
        *_seen(job),
        *_work(job),
        *_instruments(outcome),
        *_recordings(outcome, preferences),
        *readings_table.readings(outcome, preferences),
        *checks_tables.limits(outcome, preferences),
        *checks_tables.reference_checks(outcome, preferences, WIDTH[preferences.paper]),
        *matches_table.matches(outcome, preferences),
        *matches_table.switches(outcome),
        *_which_cause(outcome, preferences),
        *cause_tables.leaks(outcome.findings),
        *next_tables.next_tests(outcome.findings, preferences),
        *_not_tested(outcome),
        *_warnings(outcome),
        *_files(outcome),
        *_method(outcome),
    ]
    printed = words.PRINTED_ON.format(date=phrases.date(preferences.printed))
    shop = preferences.workshop.splitlines()
    return blocks.Page(
        "record",
        f"{words.RECORD}: {job.title}",
        ((strong(words.RECORD), soft(f", {phrases.clipped(job.title, 60)[0]}")),),
        ((soft(printed),),),
        tuple(body),
        phrases.clipped(", ".join(line.strip() for line in shop if line.strip()), 90)[0],
        f"{words.MADE_WITH} {__version__}",
        numbered=True,
        language=preferences.language,
    )


def table(
    heads: tuple[str, ...], shares: tuple[float, ...], rows: Sequence[tuple[Cell, ...]]
) -> Block:
    """A plain table with soft heads."""
    columns = tuple(
        Column(cell(soft(head)), share) for head, share in zip(heads, shares, strict=True)
    )
    return blocks.Table(columns, tuple(Row(cells) for cells in rows))


def said(text: str, look: str = "") -> Cell:
    """A cell of text that breaks wherever it has to."""
    plain = words.DASH if text.strip() == "-" else phrases.one_line(text)
    return cell(Run(phrases.breakable(plain), look))


def tight(text: str) -> str:
    """A value's text whose unit stays on its line."""
    return text.replace(" ", display.NO_BREAK)


def _facts(job: Job, preferences: Preferences) -> list[Block]:
    vehicle, place = job.vehicle, job.place
    size = tight(vehicle.displacement.text) if vehicle.displacement else ""
    engine = words.ENGINE.format(cylinders=vehicle.cylinders, cycle=carried(vehicle.cycle))
    where = place.barometer or place.altitude
    units = words.UNITS.format(pressure=preferences.pressure_unit, vacuum=preferences.vacuum_unit)
    burns = carried(vehicle.fuel or "")
    facts = [
        (words.FACT["vehicle"], vehicle.name),
        (words.FACT["engine"], ", ".join(p for p in (engine, size, burns) if p)),
        (words.FACT["oil"], vehicle.oil_grade or ""),
        (words.FACT["place"], tight(where.text) if where else ""),
        (words.FACT["codes"], ", ".join(job.complaint.codes) or words.NO_CODES),
        (words.FACT["job"], job.id or ""),
        (words.FACT["units"], units),
    ]
    stated = tuple((name, phrases.breakable(phrases.one_line(v))) for name, v in facts if v)
    body: list[Block] = [blocks.Facts(stated)]
    if job.complaint.text.strip():
        quoted = phrases.breakable(phrases.one_line(job.complaint.text))
        text = Run(f"{words.OPEN_QUOTE}{quoted}{words.CLOSE_QUOTE}")
        body += [blocks.Heading(words.COMPLAINT, 2), blocks.Paragraph((text,), "quote")]
    return body


def _visits(job: Job) -> list[Block]:
    if not job.visits:
        return []
    rows = [
        (
            said(visit.name, "strong"),
            said(" ".join(p for p in (phrases.date(visit.date), phrases.clock(visit.date)) if p)),
            said(odometer(visit.odometer.text) if visit.odometer else ""),
            said(visit.oil_grade or job.vehicle.oil_grade or ""),
            said(visit.work),
        )
        for visit in job.visits
    ]
    shares = (0.18, 0.2, 0.13, 0.1, 0.39)
    return kept(blocks.Heading(words.VISITS), table(words.VISIT_HEADS, shares, rows))


def _seen(job: Job) -> list[Block]:
    if not job.observations:
        return []
    rows = [
        (
            said(phrases.clipped(o.visit or "", 60)[0]),
            said(causes.observed(o.what)),
            said(carried(o.saw), "strong"),
            said(o.note),
        )
        for o in job.observations
    ]
    return kept(blocks.Heading(words.SEEN), table(words.SEEN_HEADS, (0.18, 0.16, 0.2, 0.46), rows))


def _work(job: Job) -> list[Block]:
    if not job.work:
        return []
    rows = [
        (
            said(phrases.clipped(w.visit or "", 60)[0]),
            said(w.text),
            said(words.STATE_OF_WORK[w.state], "strong"),
        )
        for w in job.work
    ]
    return kept(blocks.Heading(words.WORK), table(words.WORK_HEADS, (0.18, 0.6, 0.22), rows))


def _instruments(outcome: Outcome) -> list[Block]:
    if not outcome.instruments:
        return []
    rows = [
        (
            cell(
                strong(phrases.breakable(remade(note.name), 14), phrases.ink_of(note.quantity)),
                soft(f" {phrases.quantity(note.quantity)}" if note.quantity else ""),
            ),
            said(remade(note.measures_against)),
            said(remade(note.calibration)),
            said(remade(note.uncertainty)),
            said(remade(note.zero)),
        )
        for note in outcome.instruments
    ]
    shares = (0.24, 0.15, 0.25, 0.18, 0.18)
    return kept(blocks.Heading(words.INSTRUMENTS), table(words.INSTRUMENT_HEADS, shares, rows))


def _recordings(outcome: Outcome, preferences: Preferences) -> list[Block]:
    if not outcome.pictures:
        return [blocks.Heading(words.RECORDINGS), blocks.Paragraph((Run(words.NO_RECORDING),))]
    findings = outcome.findings
    body: list[Block] = [blocks.Heading(words.RECORDINGS)]
    width, most = WIDTH[preferences.paper], HALF_PAGE[preferences.paper]
    legend = soft(phrases.sentence(words.LEFT_OUT) + " " + phrases.sentence(words.PALE))
    for number, picture in enumerate(outcome.pictures):
        seconds = display.digits(picture.end_s - picture.start_s, 0)
        visit = phrases.visit_named(outcome.job, picture.visit)
        when = ", ".join(
            p for p in (picture.visit, phrases.date(visit.date if visit else None)) if p
        )
        title = words.RECORDING.format(
            name=phrases.clipped(picture.recording, 80)[0],
            visit=phrases.clipped(when, 80)[0],
            seconds=seconds,
        )
        drawn = lane_picture(
            picture, findings.readings, findings.limit_checks, preferences, width, most
        )
        parts: list[Block] = [blocks.Heading(phrases.breakable(title), 3), drawn]
        parts += [blocks.Paragraph((legend,), "note")] if number == 0 else []
        body.append(blocks.Keep(tuple(parts)))
    return [blocks.Keep((body[0], body[1])), *body[2:]]


def _which_cause(outcome: Outcome, preferences: Preferences) -> list[Block]:
    story = story_of(outcome.job, outcome.findings)
    warned = missing.failing(story) is not None or missing.lamp_on(outcome.job)
    width = WIDTH[preferences.paper]
    return cause_tables.which_cause(outcome.findings, preferences, width, warned)


def _not_tested(outcome: Outcome) -> list[Block]:
    story = story_of(outcome.job, outcome.findings)
    texts = missing.not_tested(outcome.job, outcome.findings, story)
    points = tuple((Run(phrases.breakable(text)),) for text in texts)
    return kept(blocks.Heading(words.NOT_TESTED), blocks.Items(points))


def _warnings(outcome: Outcome) -> list[Block]:
    warnings = outcome.findings.warnings
    if not warnings:
        return [blocks.Heading(words.WARNINGS), blocks.Paragraph((Run(words.NO_WARNINGS),))]
    rows = [(said(remade(w.where)), said(phrases.sentence(carried(w.text)))) for w in warnings]
    return kept(blocks.Heading(words.WARNINGS), table(words.WARNING_HEADS, (0.3, 0.7), rows))


def _files(outcome: Outcome) -> list[Block]:
    if not outcome.files:
        return []
    rows = []
    for note in outcome.files:
        rate = f"{display.digits(note.rate_hz, 0)}{display.NO_BREAK}Hz" if note.rate_hz else ""
        name: Cell = (
            (strong(phrases.breakable(note.recording)),),
            (Run(phrases.breakable(note.path)),),
            (soft("sha-256 " + phrases.breakable(note.sha256, 32)),),
        )
        rows.append(
            (
                name,
                ((Run(display.digits(float(note.rows), 0)),), (Run(rate),)),
                said("; ".join(map(carried, note.guesses)) or words.NONE_GUESSED),
                said("; ".join(map(carried, note.counts)) or words.NONE_COUNTED),
            )
        )
    return kept(blocks.Heading(words.FILES), table(words.FILE_HEADS, (0.34, 0.1, 0.36, 0.2), rows))


def _method(outcome: Outcome) -> list[Block]:
    findings = outcome.findings
    text = Run(phrases.breakable(phrases.one_line(carried(outcome.method)).rstrip(".") + "."))
    says = Run(" " + words.METHOD_SAYS.format(format=findings.format))
    note = soft(phrases.sentence(words.INHG_IS))
    return [
        blocks.Keep(
            (
                blocks.Heading(words.METHOD),
                blocks.Paragraph((text, says)),
                blocks.Paragraph((note,), "note"),
            )
        )
    ]
