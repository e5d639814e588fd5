"""Both pages of an analysed job, on paper and for the screen."""

from __future__ import annotations

from pathlib import Path

from gaugewright.analysis.outcome import Outcome
from gaugewright.errors import OutputError
from gaugewright.report import blocks, paper, screen
from gaugewright.report.handover import handover_page
from gaugewright.report.language import speaking
from gaugewright.report.preferences import Preferences
from gaugewright.report.record import record_page
from gaugewright.report.tightness import LEVELS
from gaugewright.report.writing import problem, write_together

HANDOVER, RECORD, SCREEN = "handover.pdf", "record.pdf", "pages.html"


def write(outcome: Outcome, folder: Path, preferences: Preferences) -> tuple[Path, ...]:
    """Write handover.pdf, record.pdf and pages.html for an analysed job.

    Parameters: the outcome of one analysis; the folder, made where it does not stand; what the
    workshop prefers.
    Returns the three files.  Equal outcomes and preferences give equal bytes.
    Raises OutputError with one sentence when they can't be written; what stood there before is
    then untouched.
    """
    try:
        made = render(outcome, preferences)
    except OSError as failure:
        raise OutputError(problem(folder, failure)) from failure
    return write_together(folder, made)


def render(outcome: Outcome, preferences: Preferences) -> dict[str, bytes]:
    """The three files' contents by name, nothing written."""
    with speaking(preferences.language):
        sheet, handover = one_sheet(outcome, preferences)
        record = record_page(outcome, preferences)
        return {
            HANDOVER: handover,
            RECORD: paper.pdf(record, preferences)[0],
            SCREEN: screen.html(sheet, record).encode("utf-8"),
        }


def one_sheet(outcome: Outcome, preferences: Preferences) -> tuple[blocks.Page, bytes]:
    """The handover sheet at the first tightness at which it is one page."""
    for level in range(len(LEVELS)):
        page = handover_page(outcome, preferences, level)
        made, sheets = paper.pdf(page, preferences)
        if sheets == 1:
            break
    return page, made
