"""The open recording that is shipped with the package: a cold start of a piston engine.

Cut to eight columns from the public repository AlexC/aerotrace-parsers (docs/, commit ccea669),
MIT licence; what is known of it was read off the file by hand: oil pressure reaches 20 psi 2.7 s
and 60 psi 4.4 s after the start, its peak is 87 psi, the supply dips to 10.6 V and the manifold
holds 29.9 inHg at rest.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from gaugewright.job.model import RecordingEntry
from gaugewright.recording.reading import read


def test_cold_start(making: Callable[..., RecordingEntry]) -> None:
    folder = Path(str(files("gaugewright.examples") / "data"))
    names = ("oil pressure", "supply", "manifold pressure", "engine speed left")
    recorded = read(making("piston-start.csv", *names, time="clock"), folder)
    oil, supply, manifold, speed = (recorded.columns[name] for name in names)
    assert recorded.rows == 501
    assert recorded.rate_hz == pytest.approx(3)
    assert (oil.unit, supply.unit, manifold.unit, speed.unit) == ("psi", "V", "inHg", "rpm")
    assert oil.values.max() == 87
    assert supply.values.min() == 10.6
    assert manifold.values[0] == 29.9
    assert (oil.step, supply.step, speed.step) == pytest.approx((1.0, 0.1, 10.0))
    assert np.all(np.diff(oil.time_s) > 0)
    turning = speed.time_s[np.flatnonzero(speed.values > 0)[0]]
    first = {p: oil.time_s[np.flatnonzero(oil.values >= p)[0]] for p in (20, 60)}
    assert first[60] - first[20] == pytest.approx(4.4 - 2.7, abs=0.4)
    assert 0 <= first[20] - turning < 3.5
    assert [(n.code, n.count) for n in recorded.notes] == [("stamps-coarse", 332)]
    assert not any(column.notes for column in recorded.columns.values())
