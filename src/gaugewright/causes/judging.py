"""From a job and its case to the causes, their severity, and why: the room's one entry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from gaugewright.causes import catalogue
from gaugewright.causes.builds import Kind, kinds_of
from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.explain import predicted_by, severity_of
from gaugewright.causes.glance import Glance, glance_at
from gaugewright.causes.healthy import healthy_of
from gaugewright.causes.lamp import lamp_likelihoods
from gaugewright.causes.observation import TRIM, Observed
from gaugewright.causes.observed import observed
from gaugewright.causes.odds import Table, odds_of
from gaugewright.causes.odds_file import shipped
from gaugewright.causes.stated import Least, with_limits, with_zeros
from gaugewright.causes.symptoms import Told, log_likelihoods
from gaugewright.causes.tested import tested
from gaugewright.causes.traces import trace_likelihoods
from gaugewright.causes.view import JobView, view_of
from gaugewright.causes.weighing import Considered, Weighed, weighed, weighed_alike
from gaugewright.evidence.case import Case, GaugeZero
from gaugewright.evidence.results import (
    CauseWeight,
    Caveat,
    Severity,
    Symptom,
)
from gaugewright.evidence.results import Hypothesis as Told_
from gaugewright.job.model import Job
from gaugewright.quantities.said import joined, said

Floats = npt.NDArray[np.float64]

LIKELY, POSSIBLE, NOT_EXCLUDED = 0.6, 0.15, 0.02
"""From these probabilities on a cause is called likely, possible, not excluded (judgement)."""
EXPLAINED = 0.05
MOST_EXPLAINED = 4
SHOWN = 0.002
SEA_LEVEL_PA = 101325.0
IDLES_BELOW_RPM = 1300.0
SHARPER = 1.3
"""The power that everything told of the car is taken to, tests apart: the tables of words are
written down modestly (judgement, borne out by jobs of both makers in `validation`)."""


@dataclass(frozen=True)
class Judged:
    """What the room hands on to the findings."""

    hypotheses: tuple[Told_, ...] = ()
    causes: tuple[CauseWeight, ...] = ()
    caveats: tuple[Caveat, ...] = ()


@dataclass(frozen=True)
class Race:
    """Everything the weighing starts from, and what it came to for each kind of engine.

    `told`: symptoms with their log likelihoods over `hypotheses`.
    """

    view: JobView
    seen: Observed
    hypotheses: tuple[Hypothesis, ...]
    odds: Mapping[Hypothesis, float]
    told: tuple[Told, ...]
    kinds: tuple[tuple[Kind, Weighed], ...]
    probability: Mapping[Hypothesis, float] = field(default_factory=dict)

    @property
    def leading(self) -> Weighed:
        """The weighing of the most probable kind of engine."""
        return max(self.kinds, key=lambda pair: np.log(pair[0].share) + pair[1].log_total)[1]


def race_of(
    job: Job,
    case: Case,
    barometer_pa: float | None,
    table: Table | None = None,
    zeros: Sequence[GaugeZero] = (),
) -> Race:
    """Weigh every hypothesis by all that was read and told of the car as it came in."""
    view = view_of(job)
    odds = odds_of(table or shipped(), view)
    hypotheses = tuple(odds)
    visits = visits_as_found(job)
    seen = observed(case, visits)
    pressures = any(item.quantity == "oil-pressure" for item in seen.items)
    measured = {item.quantity for item in seen.items}
    told = list(log_likelihoods(view, hypotheses, pressures, measured))
    outside = barometer_pa or SEA_LEVEL_PA
    lit = view.words("lamp")
    lamp = lamp_likelihoods(lit, hypotheses, seen, outside, _switch(job), _least_at_idle(job))
    if lamp is not None:
        told.append(Told("lamp beside the gauge", lit[0], lamp))
    told += trace_likelihoods(case, visits, hypotheses)
    told = [replace(one, log_likelihoods=SHARPER * one.log_likelihoods) for one in told]
    told += tested(view, hypotheses)
    whole = with_limits(with_zeros(seen, zeros), _least(job), visits[0]) if seen.items else seen
    sums = _summed(hypotheses, told)
    glances = [
        (kind, _glance(job, kind, whole, odds, sums, outside))
        for kind in kinds_of(job, TRIM in measured)
    ]
    race = Race(view, whole, hypotheses, odds, tuple(told), _kinds(glances))
    return Race(**{**vars(race), "probability": _mixed(race.kinds)})


def _kinds(glances: Sequence[tuple[Kind, Glance]]) -> tuple[tuple[Kind, Weighed], ...]:
    """Every kind of engine weighed: the most probable whole, the others by what that changed."""
    _, first = max(glances, key=lambda pair: np.log(pair[0].share) + pair[1].log_total)
    whole = weighed(first)
    return tuple(
        (kind, whole if one is first else weighed_alike(one, first, whole)) for kind, one in glances
    )


def _glance(
    job: Job,
    kind: Kind,
    seen: Observed,
    odds: Mapping[Hypothesis, float],
    told: Mapping[Hypothesis, float],
    outside_pa: float,
) -> Glance:
    size = job.vehicle.displacement
    known = [held.oil_u for held in seen.holds if held.oil_degc is not None and not held.gone]
    grade = job.vehicle.oil_grade is not None or any(v.oil_grade for v in job.visits)
    healthy = healthy_of(
        kind.build,
        None if size is None else size.si,
        outside_pa,
        grade,
        float(np.mean(known)) if known else None,
        _step(job),
    )
    return glance_at(seen, healthy, odds, told, outside_pa)


def _step(job: Job) -> float | None:
    """The speed at which the pump is told to step up."""
    switches = job.vehicle.pump_switches
    return None if switches is None else float(switches[1].si)


def visits_as_found(job: Job) -> tuple[str, ...]:
    """The visits before anything was done to the car: the first, and those that follow it
    without work between."""
    found = [job.visits[0].name]
    for visit in job.visits[1:]:
        if visit.work:
            break
        found.append(visit.name)
    return tuple(found)


def _least_at_idle(job: Job) -> float | None:
    """The maker's least oil pressure at idle, Pa."""
    slow = [one for one in _least(job) if one.speed_rpm is None or one.speed_rpm < IDLES_BELOW_RPM]
    return min((one.pressure_pa for one in slow), default=None)


def _least(job: Job) -> list[Least]:
    """What the maker's limits say of oil pressure on a gauge, running as found.

    Of limits that state no speed only the lowest is taken, for the idle: at what speed the others
    hold nobody knows.
    """
    found = [
        Least(
            limit.min.si,
            None if limit.speed is None else limit.speed.si,
            None if limit.oil_temperature is None else limit.oil_temperature.si,
        )
        for limit in job.limits
        if limit.quantity == "oil-pressure"
        and limit.min is not None
        and limit.min.si > 0.0
        and (limit.reference or "atmosphere") == "atmosphere"
        and not set(limit.did) - {"nothing", "speed-raised"}
        and not (limit.speed is None and "speed-raised" in limit.did)
    ]
    lowest = min((one.pressure_pa for one in found), default=0.0)
    return [one for one in found if one.speed_rpm is not None or one.pressure_pa == lowest]


def _switch(job: Job) -> tuple[float, float] | None:
    """Where the lamp's switch closes, and its standard uncertainty."""
    for one in job.switches:
        if one.quantity == "oil-pressure":
            half = one.tolerance.si if one.tolerance else 0.15 * one.closes_below.si
            return one.closes_below.si, half / np.sqrt(3.0)
    return None


def _summed(hypotheses: Sequence[Hypothesis], told: Sequence[Told]) -> dict[Hypothesis, float]:
    total = np.sum([t.log_likelihoods for t in told], axis=0) if told else np.zeros(len(hypotheses))
    return dict(zip(hypotheses, total, strict=True))


def _mixed(kinds: tuple[tuple[Kind, Weighed], ...]) -> dict[Hypothesis, float]:
    """Probabilities over the kinds of engine the job leaves open."""
    score = np.array([np.log(kind.share) + one.log_total for kind, one in kinds])
    share = np.exp(score - score.max())
    share /= share.sum()
    found: dict[Hypothesis, float] = {}
    for part, (_, one) in zip(share, kinds, strict=True):
        for h in one.hypotheses:
            found[h.causes] = found.get(h.causes, 0.0) + float(part) * h.probability
    return found


def judged(race: Race) -> Judged:
    """The race as the findings tell it; tests and leaks are left to their own modules."""
    sums = cause_sums(race.probability)
    before = cause_sums(race.odds)
    leading = sorted(sums, key=lambda c: -sums[c])
    explained = [c for c in leading if sums[c] >= EXPLAINED][:MOST_EXPLAINED]
    severities = _severities(race)
    return Judged(
        hypotheses=tuple(_hypothesis(race, h) for h in _shown(race)),
        causes=tuple(
            _cause(race, c, sums[c], before.get(c, 0.0), c in explained, severities.get(c))
            for c in leading
        ),
        caveats=_caveats(race),
    )


def cause_sums(probability: Mapping[Hypothesis, float]) -> dict[str, float]:
    """For each cause the sum over the hypotheses that contain it."""
    found = dict.fromkeys(catalogue.NAMES, 0.0)
    for h, p in probability.items():
        for cause in h:
            found[cause] += p
    return found


def word_of(probability: float) -> str:
    """The owner's word for a probability."""
    if probability >= LIKELY:
        return "likely"
    if probability >= POSSIBLE:
        return "possible"
    return "not excluded" if probability >= NOT_EXCLUDED else "hardly"


def _shown(race: Race) -> list[Hypothesis]:
    ranked = sorted(race.probability, key=lambda h: -race.probability[h])
    return [h for h in ranked if race.probability[h] >= SHOWN]


def _severities(race: Race) -> dict[str, Severity]:
    """How grave each cause is in the most probable hypothesis that holds it."""
    found: dict[str, Severity] = {}
    for one in _grave(race):
        for cause, severity in severity_of(race.leading, one).items():
            found.setdefault(cause, severity)
    return found


def _grave(race: Race) -> list[Considered]:
    return [h for h in race.leading.hypotheses if h.probability >= SHOWN and h.cells]


def _hypothesis(race: Race, h: Hypothesis) -> Told_:
    own = next((one for one in _grave(race) if one.causes == h), None)
    severity = severity_of(race.leading, own) if own else {}
    return Told_(h, catalogue.link(h), race.probability[h], severity)


def _cause(
    race: Race,
    cause: str,
    probability: float,
    before: float,
    explained: bool,
    severity: Severity | None,
) -> CauseWeight:
    return CauseWeight(
        cause=cause,
        probability=probability,
        word=word_of(probability),
        before=before,
        severity=severity,
        predicted=predicted_by(race.leading, cause) if explained else (),
        symptoms=_symptoms(race, cause) if explained else (),
    )


def _symptoms(race: Race, cause: str) -> tuple[Symptom, ...]:
    """How each symptom moves the odds of a cause against all others."""
    weight = np.array([race.probability.get(h, 0.0) for h in race.hypotheses])
    has = np.array([cause in h for h in race.hypotheses])
    if not (weight[has].sum() > 0.0 and weight[~has].sum() > 0.0):
        return ()
    return tuple(
        Symptom(t.what, t.saw, float(_mean(t, weight, has) - _mean(t, weight, ~has)))
        for t in race.told
    )


def _mean(told: Told, weight: Floats, which: npt.NDArray[np.bool_]) -> float:
    share = weight[which] / weight[which].sum()
    return float(np.log(share @ np.exp(told.log_likelihoods[which])))


def _caveats(race: Race) -> tuple[Caveat, ...]:
    refused = race.leading.refused
    if not refused:
        return ()
    names = joined(joined(map(said, h), " with ") for h in refused)
    return (
        Caveat(
            "cause-draws-too-few",
            said(
                "too few of the virtual engines drawn came near the readings to correct the "
                "straight-line weighing of {names}; their probabilities are coarse",
                names=names,
            ),
            said("causes"),
        ),
    )
