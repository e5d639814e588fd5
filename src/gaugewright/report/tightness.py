"""How tightly the owner's page is set: steps from roomy to the least that is still told."""

from __future__ import annotations

from dataclasses import dataclass

from gaugewright.report import limit_chart


@dataclass(frozen=True)
class Tightness:
    """How much room the page takes: type scale, most signs, most points, most states."""

    scale: float
    complaint: int | None = None
    point: int | None = None
    points: int | None = None
    states: int = 9
    measures: limit_chart.Measures = limit_chart.ROOMY


LEVELS = (
    Tightness(1.12, measures=limit_chart.WIDE),
    Tightness(1.05, measures=limit_chart.WIDE),
    Tightness(1.0),
    Tightness(0.95),
    Tightness(0.9, measures=limit_chart.TIGHT),
    Tightness(0.86, measures=limit_chart.TIGHT),
    Tightness(0.88, 420, 160, 5, 5, limit_chart.TIGHT),
    Tightness(0.86, 300, 120, 4, 4, limit_chart.TIGHT),
    Tightness(0.84, 260, 110, 4, 3, limit_chart.TIGHT),
    Tightness(0.82, 180, 80, 3, 3, limit_chart.TIGHT),
    Tightness(0.8, 180, 80, 3, 2, limit_chart.TIGHT),
    Tightness(0.78, 120, 60, 2, 2, limit_chart.TIGHT),
)
