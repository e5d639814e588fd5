"""The root of a falling function, for n of them at once: secants inside a shrinking bracket."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.physics.numbers import Floats

Function = Callable[[Floats], Floats]
Which = npt.NDArray[np.intp]

SLOW = 0.4
"""A secant that leaves more than this share of what was left is followed by a longer step, or by
a step towards the middle once the root lies between two points."""
PATIENCE = 4
"""After so many evaluations only those that still want it are carried on."""


@dataclass(frozen=True)
class Search:
    """How a root is looked for.

    `step`: how far off the second point is tried; `tolerance` on the function; `most`
    evaluations; `behind`: the share that may be left unfinished.
    """

    step: float
    tolerance: float
    most: int
    behind: float = 0.0


def falling_root(
    function_of: Callable[[Which | None], Function],
    low: Floats,
    high: Floats,
    start: Floats,
    search: Search,
) -> Floats:
    """Where does each of these falling functions pass through nothing?

    Parameters: `function_of(which)` gives the function for those members alone (None: all); it
    takes and gives one number for each and falls in each.  `low`, `high`: the root lies between,
    else the nearer end comes out.  `start`: a first guess.
    Returns (n,), the best point found.
    """
    function = function_of(None)
    old, f_old = start, function(start)
    left = np.abs(f_old)
    if np.count_nonzero(left >= search.tolerance) <= search.behind * left.size:
        return old
    stretch = _Stretch(low, high).narrowed(old, f_old)
    first = np.clip(old + np.copysign(search.step, f_old), low, high)
    x = np.where(left < search.tolerance, old, first)
    for turn in range(search.most):
        fx = function(x)
        was, left = left, np.abs(fx)
        going = left >= search.tolerance
        wanting = np.count_nonzero(going)
        if wanting <= search.behind * left.size:
            break
        stretch = stretch.narrowed(x, fx)
        new = _next(old, f_old, x, fx, stretch, left > SLOW * was)
        old, f_old, x = x, fx, np.where(going, new, x)
        if turn >= PATIENCE and wanting < 0.6 * left.size:
            return _rest(function_of, stretch, x, going, search)
    return x


@dataclass(frozen=True)
class _Stretch:
    """Where the roots lie, and whether an end has been seen to be one."""

    low: Floats
    high: Floats
    seen_low: npt.NDArray[np.bool_] | bool = False
    seen_high: npt.NDArray[np.bool_] | bool = False

    def narrowed(self, x: Floats, fx: Floats) -> _Stretch:
        above = fx > 0.0
        return _Stretch(
            np.where(above, x, self.low),
            np.where(above, self.high, x),
            self.seen_low | above,
            self.seen_high | ~above,
        )


def _next(
    old: Floats,
    f_old: Floats,
    x: Floats,
    fx: Floats,
    stretch: _Stretch,
    slow: npt.NDArray[np.bool_],
) -> Floats:
    """The secant's point; twice as far, or half way to the middle, where it has been slow."""
    low, high = stretch.low, stretch.high
    run = x - old
    rise = np.minimum((fx - f_old) / np.where(run == 0.0, 1.0, run), -1e-300)
    step = -fx / rise
    middle = 0.5 * (low + high)
    between = stretch.seen_low & stretch.seen_high
    eager = np.where(between, 0.5 * (x + step + middle), x + 2.0 * step)
    new = np.where(slow, eager, x + step)
    inside = (new > low) & (new < high) & (run != 0.0)
    return np.where(inside, new, middle)


def _rest(
    function_of: Callable[[Which | None], Function],
    stretch: _Stretch,
    x: Floats,
    going: npt.NDArray[np.bool_],
    search: Search,
) -> Floats:
    """Those that still want it, carried on alone."""
    which = np.flatnonzero(going)
    fewer = Search(search.step, search.tolerance, max(search.most - PATIENCE, PATIENCE))
    found = falling_root(
        lambda some: function_of(which if some is None else which[some]),
        stretch.low[which],
        stretch.high[which],
        x[which],
        fewer,
    )
    x = x.copy()
    x[which] = found
    return x
