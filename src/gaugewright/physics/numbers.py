"""What the formulas take and give: one number, or an array of them."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Floats: TypeAlias = npt.NDArray[np.float64]
Numbers: TypeAlias = float | Floats
"""A float or an array; arrays of different shapes broadcast as NumPy's own do."""
