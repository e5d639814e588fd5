"""A physical value as the user wrote it and as the house computes with it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Physical:
    """A text with its unit ("0.8 V") and its value in the house unit of its dimension.

    House units: pressure Pa, speed rpm, temperature degC, voltage V, current A, time s,
    frequency Hz, length m, volume m3, mass flow kg/s, trim %, distance km.
    """

    text: str
    si: float
