"""The root of a falling function, for n of them at once: secants inside a shrinking bracket."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from gaugewright.physics.numbers import Floats

FIRST_STEP = 1e-3
"""The second point tried, as a share of the bracket at the start."""
SLOW = 0.5
"""A secant that leaves more than this share of what was left is followed by a halving."""


def falling_root(
    function: Callable[[Floats], Floats],
    low: Floats,
    high: Floats,
    start: Floats,
    tolerance: float,
    most: int,
) -> Floats:
    """Where does each of these falling functions pass through nothing?

    Parameters: `function` takes and gives (n,) and falls in each; `low`, `high`: the root lies
    between, else the nearer end comes out; `start`: a first guess; `tolerance` on the function;
    `most` evaluations.
    Returns (n,), the best point found.
    """
    x, fx = start, function(start)
    low, high = _narrowed(low, high, x, fx)
    nearer = np.where(fx > 0.0, FIRST_STEP, -FIRST_STEP) * (high - low)
    old, f_old = x, fx
    x = np.where(np.abs(fx) < tolerance, x, np.clip(x + nearer, low, high))
    for _ in range(most):
        f_old, fx_new = fx, function(x)
        low, high = _narrowed(low, high, x, fx_new)
        slow = np.abs(fx_new) > SLOW * np.abs(f_old)
        fx = fx_new
        going = np.abs(fx) >= tolerance
        if not going.any():
            break
        old, x = x, np.where(going, _next(old, f_old, x, fx, low, high, slow), x)
    return x


def _narrowed(low: Floats, high: Floats, x: Floats, fx: Floats) -> tuple[Floats, Floats]:
    above = fx > 0.0
    return np.where(above, x, low), np.where(above, high, x)


def _next(
    old: Floats, f_old: Floats, x: Floats, fx: Floats, low: Floats, high: Floats, slow: Floats
) -> Floats:
    """The secant's point where it lies inside the bracket and has been quick, else the middle."""
    rise = np.minimum((fx - f_old) / np.where(x == old, 1.0, x - old), -1e-300)
    secant = x - fx / rise
    inside = (secant > low) & (secant < high) & (x != old)
    middle = 0.5 * (low + high)
    return np.where(inside, np.where(slow, 0.5 * (secant + middle), secant), middle)
