"""One condition in several stretches becomes one level with their spread."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaugewright.evidence.level import Level
from gaugewright.evidence.sources import Source


def merged(sources: list[Source]) -> list[Source]:
    """One condition in two stretches of a recording becomes one level with their spread."""
    groups: dict[tuple[object, ...], list[Source]] = {}
    for source in sources:
        h = source.held
        key = (h.visit, h.state, h.condition, h.quantity, h.reference, h.labels)
        groups.setdefault(key, []).append(source)
    return [group[0] if len(group) == 1 else _pooled(group) for group in groups.values()]


def _pooled(group: list[Source]) -> Source:
    known = [source for source in group if source.held.level.has_interval]
    if len(known) < 2:
        return (known or group)[0]
    levels = [source.held.level for source in known]
    longest = max(group, key=lambda source: source.held.level.cycles)
    merged = pooled_level(levels)
    flags = tuple(dict.fromkeys(flag for s in group for flag in s.held.flags))
    held = replace(longest.held, level=merged, flags=(*flags, "several-stretches"))
    return replace(longest, held=held)


def pooled_level(levels: list[Level]) -> Level:
    """The mean of several stretches at their common mean speed, their spread included.

    Weights are durations; a spread beyond the stretches' own uncertainties is added by the
    method of moments (R. DerSimonian and N. Laird, Controlled Clinical Trials 7 (1986) 177).
    """
    speeds = [level.speed_rpm for level in levels]
    weight = np.array([max(level.length_s, 1e-9) for level in levels])
    weight /= weight.sum()
    known = [s for s in speeds if s is not None]
    speed = float(weight @ np.array(known)) if len(known) == len(levels) else None
    at = [level.at(speed) if _sloped(level) else level.at(None) for level in levels]
    values, variances = np.array([a[0] for a in at]), np.array([a[1] for a in at])
    mean = float(weight @ values)
    between = float(np.sum((values - values.mean()) ** 2)) / (len(levels) - 1)
    extra = max(0.0, between - float(np.mean(variances)))
    variance = float(weight**2 @ (variances + extra))
    best = max(levels, key=lambda level: level.cycles)
    scale = best.scale.copy()
    scale[0, :] = scale[:, 0] = 0.0
    scale[0, 0] = variance
    own = float(weight**2 @ variances)
    dof = 1.0
    if 0.0 < variance < np.inf:
        apart = (variance - own) ** 2 / (len(levels) - 1)
        dof = variance**2 / (own**2 / max(best.dof, 1.0) + apart)
    return replace(
        best,
        value=mean,
        speed_rpm=speed,
        scale=scale,
        dof=dof,
        cycles=sum(level.cycles for level in levels),
        support_rpm=_joint_support(levels),
    )


def _sloped(level: Level) -> bool:
    return level.speed_rpm is not None and bool(np.isfinite(level.scale[1, 1]))


def _joint_support(levels: list[Level]) -> tuple[float, float] | None:
    known = [level.support_rpm for level in levels if level.support_rpm is not None]
    return (min(s[0] for s in known), max(s[1] for s in known)) if known else None
