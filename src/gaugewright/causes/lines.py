"""Straight lines through what the virtual engine predicts, one for each cell of severities.

A rough line has its own value at the middle of its cell, but shares the slopes along the sound
engine's numbers with its hypothesis' other cells, or has them added up from those of its two causes
alone; its slopes along the severities are those from cell to cell.  A line at a point has all
slopes of its own.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.causes.model import Asked, Variants, scaled_predictions
from gaugewright.engine.faults import FAULTS

Floats = npt.NDArray[np.float64]
Hypothesis = tuple[str, ...]

STEP_Z = 0.25
"""Difference in z for the slopes, in standard deviations."""
STEP_SEVERITY = 0.04
LAMP_ONLY = frozenset({"indication.switch_pa", "indication.lamp_forced"})
"""Numbers that move the lamp and no reading."""


@dataclass(frozen=True)
class Place:
    """A hypothesis within one cell of severities: middle (k,) and size (k,) of the cell.

    Where the sound numbers themselves are off, they are `shift` + `stretch` z, each (d,).
    `effect` (m,): by how much the causes move each prediction.
    """

    causes: Hypothesis
    severity: Floats
    width: Floats
    shift: Floats | float = 0.0
    stretch: Floats | float = 1.0
    effect: Floats | float = 0.0

    @property
    def spread(self) -> Floats:
        """Standard deviation of an even spread over the cell, (k,)."""
        return spread_of(self.width)


@dataclass(frozen=True)
class Line:
    """Prediction about a point: value (m,) there, slopes (m, d + k), and the point (d + k,).

    Severities are counted from the cell's middle in units of its spread; `effect` as in `Place`.
    """

    value: Floats
    slopes: Floats
    at: Floats
    effect: Floats | float = 0.0


def spread_of(width: Floats) -> Floats:
    """Standard deviation of an even spread over a cell."""
    return np.asarray(width / np.sqrt(12.0))


def cuts_of(causes: Hypothesis, grid: Mapping[int, int]) -> tuple[int, ...]:
    """Into how many cells each severity is cut; one that moves no reading is not cut.

    `grid`: cells by how many causes a hypothesis has.
    """
    return tuple(grid[len(causes)] if _shows(cause) else 1 for cause in causes)


def _shows(cause: str) -> bool:
    fault = FAULTS.get(cause)
    return fault is None or not {change.name for change in fault.changes} <= LAMP_ONLY


def places_of(causes: Hypothesis, cuts: tuple[int, ...]) -> list[Place]:
    """Every combination of cells, the last severity running fastest."""
    width = 1.0 / np.array(cuts, dtype=np.float64)
    middles = [(np.arange(count) + 0.5) / count for count in cuts]
    mesh = np.meshgrid(*middles, indexing="ij") if cuts else []
    rows = np.stack([axis.ravel() for axis in mesh], axis=1) if cuts else np.zeros((1, 0))
    return [Place(causes, row, width) for row in rows]


@dataclass(frozen=True)
class Rough:
    """Places of every hypothesis with their rough lines, and each one's slopes along z (m, d)."""

    lines: dict[Hypothesis, list[tuple[Place, Line]]]
    along_z: dict[Hypothesis, Floats]

    def only(self, some: Collection[Hypothesis]) -> Rough:
        """Those of some hypotheses."""
        return Rough({h: self.lines[h] for h in some}, {h: self.along_z[h] for h in some})


def rough_lines(
    question: Asked,
    hypotheses: Sequence[Hypothesis],
    grid: Mapping[int, int],
    alone: Rough | None = None,
) -> Rough:
    """A rough line for every cell of every hypothesis, all solved in one go.

    `alone`: each cause alone and none, from whose slopes along z those of two are added up.
    """
    d = question.healthy.count
    places = {causes: places_of(causes, cuts_of(causes, grid)) for causes in hypotheses}
    blocks = [_block(causes, places[causes], d, alone is None) for causes in hypotheses]
    found = scaled_predictions(question, blocks)
    lines, along = {}, {}
    for causes, values in zip(hypotheses, found, strict=True):
        own = places[causes]
        middle = values[len(own) // 2]
        stepped = values[len(own) :]
        z = (
            _finite((stepped - middle).T / STEP_Z)
            if alone is None
            else _added(alone.along_z, causes)
        )
        along[causes] = z
        lines[causes] = _with_severities(own, values[: len(own)], z, cuts_of(causes, grid))
    return _with_effects(Rough(lines, along), (alone or Rough(lines, along)).lines.get(()))


def _with_effects(rough: Rough, sound: list[tuple[Place, Line]] | None) -> Rough:
    """The same, each with its effect, where the sound engine stands among them."""
    if sound is None:
        return rough
    [(_, base)] = sound
    told = {
        causes: [
            (replace(place, effect=effect), replace(line, effect=effect))
            for place, line in rows
            for effect in [_finite(line.value - base.value)]
        ]
        for causes, rows in rough.lines.items()
    }
    return replace(rough, lines=told)


def _block(causes: Hypothesis, places: list[Place], d: int, stepped: bool) -> Variants:
    """The middle of every cell, and steps along each z from the middle of the middle one."""
    grave, middle = [place.severity for place in places], len(places) // 2
    z = np.zeros((len(places), d))
    if not stepped:
        return Variants(causes, np.stack(grave), z)
    grave += [places[middle].severity] * d
    z = np.concatenate([z, STEP_Z * np.eye(d)])
    near = np.concatenate([np.arange(len(places)), np.full(d, middle)])
    return Variants(causes, np.stack(grave), z, near)


def _added(alone: Mapping[Hypothesis, Floats], causes: Hypothesis) -> Floats:
    sound = alone[()]
    return np.asarray(sum((alone[cause,] - sound for cause in causes), start=sound))


def _with_severities(
    places: list[Place], values: Floats, along_z: Floats, cuts: tuple[int, ...]
) -> list[tuple[Place, Line]]:
    m, d = along_z.shape
    table = values.reshape(*cuts, m)
    slopes = [
        _finite(np.gradient(table, axis=axis) * count) if count > 1 else np.zeros_like(table)
        for axis, count in enumerate(cuts)
    ]
    rows = [slope.reshape(len(places), m) for slope in slopes]
    found = []
    for row, place in enumerate(places):
        along = [rows[k][row] * place.spread[k] for k in range(len(cuts))]
        whole = np.concatenate([along_z, np.array(along).reshape(len(cuts), m).T], axis=1)
        found.append((place, Line(values[row], whole, np.zeros(d + len(cuts)))))
    return found


def lines_at(question: Asked, places: Sequence[Place], points: Sequence[Floats]) -> list[Line]:
    """A line at a point of each place, all solved in one go; those of one hypothesis together."""
    d = question.healthy.count
    inside = [_within(at, place, d) for place, at in zip(places, points, strict=True)]
    groups: dict[Hypothesis, list[int]] = {}
    for row, place in enumerate(places):
        groups.setdefault(place.causes, []).append(row)
    blocks = [
        _joined(causes, [_around(places[row], inside[row], d) for row in rows])
        for causes, rows in groups.items()
    ]
    found: dict[int, Line] = {}
    solved = scaled_predictions(question, blocks)
    for rows, values in zip(groups.values(), solved, strict=True):
        parts = np.split(values, len(rows))
        found |= {
            row: _line(part, places[row], inside[row], d)
            for row, part in zip(rows, parts, strict=True)
        }
    return [found[row] for row in range(len(places))]


def _within(at: Floats, place: Place, d: int) -> Floats:
    """The point with its severities where there are any: from 0 to a step short of 1."""
    low, high = -place.severity / place.spread, 1.0 - STEP_SEVERITY - place.severity
    return np.concatenate([at[:d], np.clip(at[d:], low, high / place.spread)])


def _around(place: Place, at: Floats, d: int) -> tuple[Floats, Floats]:
    """(severities, z) of the point, and of a step from it along each z and each severity."""
    k = len(place.causes)
    z = np.tile(at[:d], (1 + d + k, 1))
    z[1 + np.arange(d), np.arange(d)] += STEP_Z
    z = place.shift + place.stretch * z
    grave = np.tile(place.severity + at[d:] * place.spread, (1 + d + k, 1))
    grave[1 + d + np.arange(k), np.arange(k)] += STEP_SEVERITY
    return grave, z


def _joined(causes: Hypothesis, parts: list[tuple[Floats, Floats]]) -> Variants:
    """Points and the steps from them as one, each step near to its point."""
    grave, z = (np.concatenate([part[k] for part in parts]) for k in (0, 1))
    size = len(z) // len(parts)
    return Variants(causes, grave, z, size * (np.arange(len(z)) // size))


def _line(values: Floats, place: Place, at: Floats, d: int) -> Line:
    slopes = np.empty((values.shape[1], len(values) - 1))
    slopes[:, :d] = (values[1 : 1 + d] - values[0]).T / STEP_Z
    slopes[:, d:] = (values[1 + d :] - values[0]).T / STEP_SEVERITY * place.spread
    return Line(values[0], _finite(slopes), at, place.effect)


def _finite(slopes: Floats) -> Floats:
    return np.where(np.isfinite(slopes), slopes, 0.0)
