"""What the recording page is told after every change: readings, marks on the lanes, a sentence."""

from __future__ import annotations

from dataclasses import dataclass

from gaugewright.evidence.case import Case
from gaugewright.evidence.cycles import Sensed
from gaugewright.evidence.results import Findings
from gaugewright.report import display
from gaugewright.report.preferences import Preferences
from gaugewright.web.recording_case import DRAFT, Read, Setout, shift_s, weighed
from gaugewright.web.recording_marked import Marked, marked
from gaugewright.web.recording_marks import lane_marks
from gaugewright.web.recording_panel import Block, Teller, block
from gaugewright.web.recording_room import Opened
from gaugewright.web.wording import Words


@dataclass(frozen=True)
class Told:
    """The readings of a page: a block for each condition, the draft's, and the lanes' marks."""

    findings: Findings
    blocks: tuple[Block, ...]
    draft: Block | None
    lanes: dict[str, dict[str, list[dict[str, object]]]]
    left_out: tuple[dict[str, object], ...]
    said: str


@dataclass(frozen=True)
class _Settled:
    """What was left out of each stretch, on the page's clock, and what was kept of it."""

    kept: dict[str, list[float]]
    left_out: dict[str, list[tuple[float, float]]]


def told(
    open_: Opened, read: Read, setout: Setout | None, preferences: Preferences, words: Words
) -> Told:
    """The readings of a recording's visit, with a stretch that is being set out."""
    main = read.sensed(open_.entry)
    findings, case = weighed(read, main, setout)
    stretches = marked(open_.kept, open_.main, open_.tracks)
    if setout is not None:
        draft = Marked(DRAFT, setout.did, setout.from_s, setout.to_s, ())
        stretches = (*stretches, draft)
    teller = Teller(findings, main.visit, stretches, preferences, words)
    settled = _settled(case, stretches, main)
    names = dict.fromkeys(s.name for s in stretches if s.name != DRAFT)
    blocks = tuple(block(teller, name, _seconds(settled, stretches, name)) for name in names)
    drafted = block(teller, DRAFT, _seconds(settled, stretches, DRAFT)) if setout else None
    return Told(
        findings,
        blocks,
        drafted,
        lane_marks(teller, open_.shown, stretches, settled.kept),
        _hatches(settled, words),
        _said(drafted, words),
    )


def _settled(case: Case, stretches: tuple[Marked, ...], main: Sensed) -> _Settled:
    """By stretch: the page's own recording tells, another one where it has no such condition."""
    kept: dict[str, list[float]] = {}
    left: dict[str, list[tuple[float, float]]] = {}
    ordered = sorted(case.gathered.stretches, key=lambda k: k.recording.name != main.name)
    for one in ordered:
        shift = shift_s(one.recording, main)
        for stretch in stretches:
            same = stretch.name == one.span.condition
            near = abs(one.span.from_s + shift - stretch.from_s) < 0.5 * (
                stretch.to_s - stretch.from_s
            )
            if same and near and stretch.key not in kept:
                kept[stretch.key] = [one.from_s + shift, one.to_s + shift]
                left[stretch.key] = [(a + shift, b + shift) for a, b in one.left_out]
    return _Settled(kept, left)


def _seconds(settled: _Settled, stretches: tuple[Marked, ...], name: str) -> float:
    parts = [p for s in stretches if s.name == name for p in settled.left_out.get(s.key, [])]
    return sum(b - a for a, b in parts)


def _hatches(settled: _Settled, words: Words) -> tuple[dict[str, object], ...]:
    return tuple(
        {"from": a, "to": b, "said": words("recording.left-out", time=display.digits(b - a, 1))}
        for parts in settled.left_out.values()
        for a, b in parts
    )


def _said(drafted: Block | None, words: Words) -> str:
    """A sentence for those who hear the page."""
    if drafted is None:
        return words("recording.up-to-date")
    rows = ", ".join(
        f"{row.name} {row.against} {row.figure.whole}{row.figure.fraction} {row.figure.after}"
        for row in drafted.rows
    )
    return words("recording.draft-reads", rows=rows or words("recording.no-reading"))
