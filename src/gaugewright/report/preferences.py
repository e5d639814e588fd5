"""What the workshop prefers on its pages: paper, units, its own name, the date printed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from gaugewright.report.language import Language

Paper = Literal["a4", "letter"]
PressureUnit = Literal["kPa", "psi", "bar"]
VacuumUnit = Literal["kPa", "inHg", "mbar"]


@dataclass(frozen=True)
class Preferences:
    """How both pages are printed; the findings never depend on it.

    `pressure_unit` is for oil, fuel and other pressures, `vacuum_unit` for crankcase and
    manifold.  `workshop` is printed at the head of both pages (a line break starts a new line).
    `printed` is the date the pages carry; it is handed in, the report reads no clock.
    `language` is that of the printed words; what was typed stays as it is.
    """

    printed: dt.date
    paper: Paper = "a4"
    pressure_unit: PressureUnit = "kPa"
    vacuum_unit: VacuumUnit = "kPa"
    workshop: str = ""
    language: Language = "en"
