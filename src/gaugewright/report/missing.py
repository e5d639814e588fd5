"""What the owner has to know besides: what was not tested, what fails, the lamp, the causes."""

from __future__ import annotations

from gaugewright.evidence.results import Findings
from gaugewright.job.model import Job, Observation
from gaugewright.report import phrases, words
from gaugewright.report.story import FAILS, OPEN, Side, Story

LAMP_QUIET = ("never on", "dark with the ignition on", "on for seconds after the start")
WORTH_SAYING = (
    "oil-pressure",
    "crankcase-pressure",
    "manifold-pressure",
    "cylinder-pressure",
    "fuel-pressure",
    "exhaust-pressure",
    "coolant-pressure",
)


def not_tested(job: Job, findings: Findings, story: Story | None) -> list[str]:
    """What was not measured, not judged and not weighed, derived from what is missing."""
    read = {reading.quantity for reading in findings.readings}
    said = []
    missing = [phrases.quantity(name) for name in WORTH_SAYING if name not in read]
    if missing:
        said.append(words.NOT_MEASURED.format(quantities=phrases.listed(missing)))
    if "oil-pressure" in read and not any(r.reference == "crankcase" for r in findings.readings):
        said.append(words.NOT_THE_BEARINGS)
    if read and "oil-temperature" not in read and not _warm(findings):
        said.append(words.NOT_THE_TEMPERATURE)
    if read and not any(reading.speed for reading in findings.readings):
        said.append(words.NOT_THE_SPEED)
    if read and not job.recordings:
        said.append(words.NOT_HAND)
    if lamp_unknown(job):
        said.append(words.NOT_THE_LAMP)
    said += _limits_not_judged(job, findings, story)
    if not findings.causes and not findings.hypotheses:
        said.append(words.NOT_CAUSES)
    return said


def _warm(findings: Findings) -> bool:
    return any(reading.oil_temperature for reading in findings.readings)


def _limits_not_judged(job: Job, findings: Findings, story: Story | None) -> list[str]:
    if not job.limits:
        return [words.NOT_WITHOUT_LIMITS]
    last = story.told[-1].state.visit if story and story.told else None
    checks = [c for c in findings.limit_checks if c.value is not None]
    ever = {c.limit for c in checks}
    lately = {c.limit for c in checks if c.visit in (last, None)}
    never = [limit.name for limit in job.limits if limit.name not in ever]
    before = [name for name in (limit.name for limit in job.limits) if name in ever - lately]
    said = [words.NOT_THE_LIMIT.format(limits=phrases.listed(never))] if never else []
    return said + ([words.NOT_AGAIN.format(limits=phrases.listed(before))] if before else [])


def lamp_on(job: Job) -> bool:
    """Whether the lamp was seen on at the last visit."""
    return any(o.saw not in LAMP_QUIET for o in _lamps(job) if o.visit in (_last(job), None))


def lamp_unknown(job: Job) -> bool:
    """Whether the lamp was on once and nothing was noted of it at the last visit."""
    seen = _lamps(job)
    lately = [o for o in seen if o.visit in (_last(job), None)]
    return not lately and any(o.saw not in LAMP_QUIET for o in seen)


def _lamps(job: Job) -> list[Observation]:
    return [o for o in job.observations if o.what == "lamp"]


def _last(job: Job) -> str | None:
    return job.visits[-1].name if job.visits else None


def failing(story: Story | None) -> str | None:
    """Who sees a failed limit now: "gauge", "bearings", "value", or None."""
    if story is None or not story.told:
        return None
    now = story.told[-1]
    if _verdict(now.gauge) in FAILS:
        return "gauge" if story.quantity == "oil-pressure" else "value"
    return "bearings" if _verdict(now.bearings) in FAILS else None


def undecided(story: Story | None) -> bool:
    """Whether something is too close to call in the last state."""
    if story is None or not story.told or story.limit is None:
        return False
    now = story.told[-1]
    return OPEN in (_verdict(now.gauge), _verdict(now.bearings))


def advice(story: Story | None) -> str:
    """What is advised where the technician noted nothing."""
    if failing(story):
        return words.ADVISE_REPAIR
    return words.ADVISE_TEST if undecided(story) else words.NOTHING_ADVISED


def _verdict(side: Side | None) -> str | None:
    return side.verdict if side else None
