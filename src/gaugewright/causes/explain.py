"""Why a cause leads: what it predicts of each reading against what was read, and how grave it is.

What a cause predicts of a reading is what it makes of all the others: the reading itself is left
out, so that it can speak for the cause or against it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.glance import MODEST
from gaugewright.causes.lines import spread_of
from gaugewright.causes.marginal import Cell
from gaugewright.causes.model import Variants, engine_of, logged, steepness
from gaugewright.causes.observation import MARGIN, TRIM, ZERO, Seen
from gaugewright.causes.weighing import Considered, Weighed
from gaugewright.engine.faults import FAULTS
from gaugewright.evidence.results import Predicted, Severity
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.quantities.said import said

Floats = npt.NDArray[np.float64]

COVERAGE = 1.96
LEAST_DRAWS = 5.0
LEAST_DENSITY, LEAST_SHARE = 1e-12, 1e-6


def severity_of(weighed: Weighed, one: Considered) -> dict[str, Severity]:
    """How grave each cause of a hypothesis would have to be, with a 95 % interval."""
    found = {}
    for k, cause in enumerate(one.causes):
        fault = FAULTS.get(cause)
        if fault is None or fault.size is None or not one.cells:
            continue
        severity, weight, z = severities(weighed, one)
        sizes = _sizes(weighed, one.causes, cause, severity, z)
        value, low, high = (_quantile(sizes, weight, q) for q in (0.5, 0.025, 0.975))
        del k
        found[cause] = Severity(said(fault.words, size=value), value, low, high, fault.unit or None)
    return found


def severities(weighed: Weighed, one: Considered) -> tuple[Floats, Floats, Floats]:
    """Severities (n, k) with weights (n,) and their sound numbers z (n, d)."""
    if one.drawn is not None and one.drawn.effective >= LEAST_DRAWS:
        return one.drawn.severity, one.drawn.weight, one.drawn.z
    d = weighed.question.healthy.count
    evidence = np.array([cell.log_evidence for cell in one.cells])
    weight = np.exp(evidence - evidence.max())
    severity = np.stack([_at(cell, d) for cell in one.cells])
    z = np.stack([cell.mean[:d] for cell in one.cells])
    return severity, weight / weight.sum(), z


def _at(cell: Cell, d: int) -> Floats:
    return np.asarray(np.clip(cell.severity + cell.mean[d:] * spread_of(cell.width), 0.0, 1.0))


def _sizes(weighed: Weighed, causes: Hypothesis, cause: str, severity: Floats, z: Floats) -> Floats:
    """The size of one fault in the trade's terms, (n,)."""
    healthy = weighed.question.healthy
    place = causes.index(cause)
    sound = engine_of(healthy, Variants((), np.zeros((len(z), 0)), z))
    faulty = engine_of(healthy, Variants((cause,), severity[:, place : place + 1], z))
    size = FAULTS[cause].size
    assert size is not None
    return np.asarray(np.broadcast_to(size(sound, faulty), len(z)))


def _quantile(values: Floats, weight: Floats, share: float) -> float:
    order = np.argsort(values)
    reached = np.cumsum(weight[order]) - 0.5 * weight[order]
    return float(np.interp(share, reached, values[order]))


def predicted_by(weighed: Weighed, cause: str) -> tuple[Predicted, ...]:
    """Every reading as the leading hypothesis with this cause predicts it from the others."""
    own = _leading_with(weighed, cause)
    if own is None:
        return ()
    cell = _best(own)
    speaks = _speaks(weighed, cause)
    return tuple(
        _predicted(weighed, item, cell, k, speaks[k])
        for k, item in enumerate(weighed.question.observed.items)
        if item.quantity not in (MARGIN, ZERO)
    )


def _leading_with(weighed: Weighed, cause: str) -> Considered | None:
    return next((h for h in weighed.hypotheses if cause in h.causes and h.cells), None)


def _best(one: Considered) -> Cell:
    return max(one.cells, key=lambda cell: cell.log_evidence)


def _speaks(weighed: Weighed, cause: str) -> Floats:
    """How much each reading moves the odds for this cause against all others, (m,)."""
    known = [one for one in weighed.hypotheses if one.cells]
    forth = [one for one in known if cause in one.causes]
    against = [one for one in known if cause not in one.causes]
    if not forth or not against:
        return np.zeros(len(weighed.question.observed.items))
    return np.asarray(np.log(_mixed(forth)) - np.log(_mixed(against)))


def _densities(one: Considered) -> Floats:
    """Density of each reading given the others, (m,)."""
    cell = _best(one)
    white = cell.off**2 / cell.off_variance
    found = np.exp(-0.5 * white) / np.sqrt(2.0 * np.pi * cell.off_variance)
    return np.asarray(np.where(np.isfinite(found), found, 0.0))


def _mixed(group: list[Considered]) -> Floats:
    """Density of each reading over these hypotheses, each by its odds among them, (m,)."""
    score = np.array([np.log(h.before) + MODEST * h.log_readings + h.log_told for h in group])
    share = np.exp(score - score.max())
    rows = [(part, one) for part, one in zip(share, group, strict=True) if part > LEAST_SHARE]
    mixed = np.sum([part * _densities(one) for part, one in rows], axis=0)
    return np.asarray(np.maximum(mixed / sum(part for part, _ in rows), LEAST_DENSITY))


def _predicted(weighed: Weighed, item: Seen, cell: Cell, k: int, speaks: float) -> Predicted:
    observed = weighed.question.observed
    held = observed.holds[item.place]
    factor, unit = _shown(item)
    own = float(np.sqrt(observed.covariance[k, k]))
    steep = steepness(observed)[k]
    spread = float(np.sqrt(max(cell.off_variance[k] - (own * steep) ** 2, 0.0)))
    off = float(cell.off[k])
    told, low, high = (_back(item, off + by * spread) for by in (0.0, COVERAGE, -COVERAGE))
    return Predicted(
        visit=held.visit,
        condition=held.condition,
        quantity=item.quantity,
        reference=item.reference,
        unit=unit,
        read=factor * item.value,
        read_low=factor * (item.value - COVERAGE * own),
        read_high=factor * (item.value + COVERAGE * own),
        predicted=factor * told,
        predicted_low=factor * low,
        predicted_high=factor * high,
        pull=float(off / np.sqrt(cell.off_variance[k])),
        speaks=float(speaks),
    )


def _back(item: Seen, off: float) -> float:
    """The value that lies so far below a reading on the scale it was weighed on."""
    return item.value * float(np.exp(-off)) if logged(item) else item.value - off


def _shown(item: Seen) -> tuple[float, str]:
    """Factor and unit of the findings for a reading."""
    if item.quantity == TRIM:
        return 1.0, "%"
    kind = QUANTITIES[item.quantity]
    return kind.findings_factor, kind.findings_unit
