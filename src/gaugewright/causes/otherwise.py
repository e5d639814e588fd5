"""None of these: how well an engine predicts the readings that is ill in a way of no catalogue."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaugewright.causes.lines import Place, lines_at
from gaugewright.causes.marginal import REACH_Z, Cell, cell_of
from gaugewright.causes.meeting import Blend, Noise, Point, updated
from gaugewright.causes.model import Asked

Floats = npt.NDArray[np.float64]

NOWHERE: Floats = np.zeros(0)


def otherwise_cells(question: Asked, near: Blend, wide: Sequence[Noise]) -> list[Cell]:
    """A cell for every way to be ill otherwise, as probable as each other before.

    Either the engine breathes, burns or drags as no sound one does, and the readings scatter about
    that as about any; or it is sound, and something moves the readings themselves far (`wide`).
    """
    ways = [Place((), NOWHERE, NOWHERE, *way) for way in question.healthy.ill_otherwise()]
    sound = Place((), NOWHERE, NOWHERE)
    places = [*ways, *(sound for _ in wide)]
    noises: list[Noise | Blend] = [*(near for _ in ways), *wide]
    points = [np.zeros(question.healthy.count) for _ in places]
    for _ in range(2):
        lines = lines_at(question, places, points)
        found = [
            updated([line], question, noise)[0] for line, noise in zip(lines, noises, strict=True)
        ]
        points = [_reached(point) for point in found]
    return [cell_of(place, point) for place, point in zip(places, found, strict=True)]


def _reached(point: Point) -> Floats:
    return np.clip(point.mean, -REACH_Z, REACH_Z)
