"""Slow channels in fast rows: which values were measured, and which only carried forward.

A logger that asks one channel after the other writes a row for each answer and repeats the rest.
Such a column changes only at certain rows: the gaps between its changes are whole multiples of one
number of rows, or nearly so where the refreshes keep their own time; or it stands still for many
rows and then leaps over several of its steps, again and again. A signal that is really sampled and
just moves slowly changes at rows that follow no such rule; one that flickers between two levels
changes from row to row. Where the values leave it open (too few changes, a straight ramp that
passes one step after the other, two levels only) all samples are kept.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.recording.types import Floats

Rows = npt.NDArray[np.intp]

_STILL = 0.4
_GOOD = 0.95
_CHANCE = 6.0
_FEW = 20
_LOOK = 4096
_VARIED = 4
_LEAPS = 0.6


@dataclass(frozen=True)
class Refreshes:
    """The rows (k,) at which a column was measured anew, every `period` rows or about so."""

    rows: Rows
    period: float


def find(columns: Mapping[str, Floats]) -> dict[str, Refreshes]:
    """Find the columns that are carried forward and the rows of their refreshes.

    Parameters: columns (n,) of one clock, NaN where missing.  Returns only the columns for which
    the values leave no doubt; where several share one period, a column with few changes that
    all agree with it is believed too.
    """
    changes = {name: _changes(values) for name, values in columns.items() if _is_still(values)}
    periods = {name: _period(columns[name], rows) for name, rows in changes.items()}
    common = Counter(period for period in periods.values() if period is not None)
    shared = [period for period, count in common.items() if count >= 2 and period % 1 == 0]
    for name, rows in changes.items():
        if periods[name] is None and len(shared) == 1 and _agrees(rows, shared[0]):
            periods[name] = shared[0]
    return {
        name: Refreshes(_refreshes(columns[name], changes[name], period), period)
        for name, period in periods.items()
        if period is not None
    }


def _is_still(values: Floats) -> bool:
    """A cheap first look: whether many rows repeat the row before."""
    if values.size < _FEW:
        return False
    starts = {0, max(0, values.size // 2), max(0, values.size - _LOOK)}
    parts = [values[start : start + _LOOK] for start in sorted(starts)]
    still = sum(int((np.diff(part) == 0).sum()) for part in parts)
    filled = sum(int((~np.isnan(np.diff(part))).sum()) for part in parts)
    return filled > 0 and still >= _STILL * filled


def _changes(values: Floats) -> Rows:
    good = np.flatnonzero(~np.isnan(values))
    return np.asarray(good[1:][np.diff(values[good]) != 0])


def _period(values: Floats, changes: Rows) -> float | None:
    """The number of rows between refreshes, or None where the changes don't tell."""
    if changes.size < 4 or np.unique(values[changes[:2000]]).size < 3:
        return None
    gaps = np.diff(changes)
    exact = _exact(gaps)
    period = exact if exact is not None else _about(gaps)
    single = _single_steps(values, changes)
    if period is None:
        return _uneven(values, changes, gaps) if single < _LEAPS else None
    return None if _may_be_ramp(gaps, period, exact is not None, single) else period


def _single_steps(values: Floats, changes: Rows) -> float:
    """The share of the changes that are of the usual size (a signal that passes its steps)."""
    jumps = np.abs(values[changes] - values[changes - 1])
    jumps = jumps[np.isfinite(jumps)]
    return float(np.mean(np.isclose(jumps, np.median(jumps), rtol=1e-6))) if jumps.size else 1.0


def _uneven(values: Floats, changes: Rows, gaps: Rows) -> float | None:
    """The usual period of refreshes that come when a slow event does, such as an engine cycle.

    A value that stands still for many rows and then leaps over several of its steps, again and
    again and about as often, is held: what is sampled moves on from row to row.
    """
    if gaps.size < _FEW or np.unique(values[changes[:2000]]).size < 5:
        return None
    short, usual, long = np.quantile(gaps, [0.02, 0.5, 0.98])
    return float(usual) if short >= 8 and long < 6 * short else None


def _exact(gaps: Rows) -> float | None:
    """The largest whole number of which nearly all gaps are multiples, if beyond chance."""
    some = gaps[:400]
    tried = Counter(int(g) for g in np.gcd(some[:-1], some[1:])) + Counter(some.tolist())
    needed = 1.0 if gaps.size < _FEW else _GOOD
    good = [p for p, _ in tried.most_common(40) if p > 1 and np.mean(gaps % p == 0) >= needed]
    if not good:
        return None
    period = max(good)
    return float(period) if gaps.size * math.log10(period) >= _CHANCE else None


def _about(gaps: Rows) -> float | None:
    """The period of refreshes that keep their own time, some rows early or late."""
    if gaps.size < _FEW:
        return None
    shortest = gaps[gaps <= 1.5 * np.quantile(gaps, 0.1)]
    period = float(shortest.mean())
    if period < 8 or np.mean(gaps < 0.6 * period) > 0.02:
        return None
    off = np.abs(gaps / period - np.round(gaps / period))
    low = gaps < 6 * period
    close = float(np.median(off[low])) < 0.06 and float(np.mean(off[low] < 0.2)) >= _GOOD
    return period if low.sum() >= _FEW and close else None


def _may_be_ramp(gaps: Rows, period: float, exact: bool, single: float) -> bool:
    """Whether a steady course through the steps of a really sampled signal would look the same.

    A ramp, or a ripple that repeats itself, passes one step at a time after equal or few
    different numbers of rows; a refreshed channel passes them after many different multiples.
    """
    if single < 0.9:
        return False
    multiples = np.round(gaps / period)
    varied = np.unique(multiples).size >= _VARIED and float(np.mean(multiples == 1)) <= 0.8
    return not (exact and varied)


def _agrees(changes: Rows, period: float) -> bool:
    gaps = np.diff(changes)
    return gaps.size >= 1 and bool(np.all(gaps % int(period) == 0))


def _refreshes(values: Floats, changes: Rows, period: float) -> Rows:
    """All refreshes: the changes, and between them those that brought the same value again."""
    first = int(np.flatnonzero(~np.isnan(values))[0])
    before = np.arange(changes[0] - period, first - 0.5, -period)[::-1]
    after = np.arange(changes[-1] + period, values.size - 0.5, period)
    gaps = np.diff(changes)
    parts = np.maximum(1, np.round(gaps / period)).astype(np.intp)
    start = np.repeat(changes[:-1], parts)
    within = np.arange(parts.sum()) - np.repeat(np.cumsum(parts) - parts, parts)
    inner = start + within * np.repeat(gaps / parts, parts)
    rows = np.concatenate([before, inner, changes[-1:], after])
    return np.unique(np.round(rows).astype(np.intp))
