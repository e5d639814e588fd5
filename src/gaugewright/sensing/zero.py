"""An engine-off stretch as an observation of the sensor's shared errors.

A gauge sensor's true value is then nothing, an absolute one's the barometer.  The observation
narrows curve and points (and the barometer) by least squares; nothing is ever subtracted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.recording.types import Note
from gaugewright.sensing.shared import Gradient, SharedErrors, plus
from gaugewright.sensing.types import Bools, Signal

Floats = npt.NDArray[np.float64]

STOP_SHARE = 0.005
"""More than this share of a stretch at a stop makes it one-sided (job format)."""
BATCHES = 20


@dataclass(frozen=True)
class Zero:
    """What a signal showed with the engine off.

    `indicated` the mean in house units; `variance` that of the mean, autocorrelation included;
    `samples` how many took part; `at_stop` True where the stretch may rest on a stop.
    """

    indicated: float
    variance: float
    samples: int
    at_stop: bool


def zero_of(signal: Signal, stretches: Sequence[tuple[float, float]]) -> Zero | None:
    """What did the signal show over these engine-off stretches, and how surely?

    Parameters: `stretches` as (from, to) in seconds on the file's own clock.
    Returns: the `Zero`, its variance that of the mean by batch means with a quantisation part
    (step^2/12, not averaged down where the signal is quieter than its step); None where no
    sample lies in them.
    Source: batch means as in any text on simulation output; quantisation JCGM 100:2008, F.2.2.1.
    """
    inside = np.zeros(len(signal.time_s), dtype=bool)
    for start, end in stretches:
        first, last = np.searchsorted(signal.time_s, [start, end])
        inside[first:last] = True
    usable = inside & np.isfinite(signal.values)
    if signal.bad is not None:
        usable &= ~signal.bad
    values = signal.values[usable]
    if not len(values):
        return None
    return Zero(
        float(values.mean()),
        _mean_variance(values, signal.step),
        len(values),
        _rests(signal.at_low, usable) or _rests(signal.at_high, usable),
    )


def observe_zero(
    book: SharedErrors,
    gradient: Gradient,
    zero: Zero,
    true_value: float = 0.0,
    true_gradient: Gradient | None = None,
) -> tuple[SharedErrors, tuple[Note, ...]]:
    """What does the book know after this zero?

    Parameters: `gradient` of the signal at the indicated zero; `true_value` what it should
    have shown (0 for a gauge sensor, the barometer in Pa for an absolute one) and
    `true_gradient` the shared errors of that (the barometer's block).
    Returns: the narrowed book; where the zero may rest on a stop the book as it was, and a note.
    """
    if zero.at_stop:
        text = "the engine-off zero may rest on a stop of the sensor and was not used"
        return book, (Note("zero-at-stop", text),)
    observed = plus(gradient, true_gradient or {}, -1.0)
    return book.observe(observed, true_value - zero.indicated, zero.variance), ()


def _rests(at_stop: Bools | None, usable: Bools) -> bool:
    return at_stop is not None and float(at_stop[usable].mean()) > STOP_SHARE


def _mean_variance(values: Floats, step: float) -> float:
    """The variance of a mean by batch means; at few samples the plain one."""
    count = len(values)
    batches = BATCHES if count >= 4 * BATCHES else count
    means = np.array([part.mean() for part in np.array_split(values, batches)])
    scatter = float(means.var(ddof=1)) / batches if batches > 1 else float("nan")
    noise = float(values.std()) if count > 1 else 0.0
    unseen = step**2 / 12.0 if noise < 0.5 * step else step**2 / 12.0 / count
    return (scatter if np.isfinite(scatter) else 0.0) + unseen
