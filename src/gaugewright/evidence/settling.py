"""Finding the transition that a marked stretch may hold at its ends.

People mark a condition a second or two early, while the engine still settles.  The middle of
the stretch says how the quantity is held: its course, its slope on speed and its scatter.  A
head or tail that departs from that course, carried on to the end, by more than its scatter and
the course's own doubt allow is left out, with as much again as its decay needs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

LONGEST_S = 4.0
"""A transition longer than this is not a transition but part of the condition (J)."""
SHARE = 0.3
BLOCK_S = 0.3
IMPROBABLE = 2e-4
"""A block departs when a block of the middle would do so with this probability."""
LARGE = 3.0
"""... and by this many times the middle's scatter at the very end of the stretch."""
FADED = 0.4


@dataclass(frozen=True)
class Departure:
    """Off-course block means from one end inwards, and the threshold of each."""

    off: Floats
    threshold: Floats
    spread: float


def settled(
    time_s: Floats, series: list[Floats], speed_rpm: Floats | None, *, bend: bool = False
) -> tuple[int, int]:
    """Which cycles of a stretch are settled?

    `time_s` (n,) cycle middles; `series` cycle means (n,) of the quantities that tell; `bend`
    says that the condition is a course of its own, which may curve.
    Returns the first kept cycle and one past the last.
    """
    count = len(time_s)
    block = max(1, round(BLOCK_S / float(np.median(np.diff(time_s))))) if count > 1 else 1
    if count < 16 * block or count < 16:
        return 0, count
    first, last = 0, count
    for values in series:
        speed = None if values is speed_rpm else speed_rpm
        head, tail = _ends(time_s, values, speed, block, bend)
        first = max(first, _cut(head, block))
        last = min(last, count - _cut(tail, block))
    return (first, last) if last - first >= count // 3 else (0, count)


def _ends(
    time_s: Floats, values: Floats, speed: Floats | None, block: int, bend: bool
) -> tuple[Departure | None, Departure | None]:
    """How the blocks of head and tail depart from the course of the middle."""
    usable = len(values) // block * block
    forward = _blocks(time_s, values, speed, block, slice(0, usable))
    if forward is None:
        return None, None
    time, level, pace = forward
    zone = _zone(time)
    middle = slice(zone, len(time) - zone)
    design = _design(time, pace, bend)
    if len(time) - 2 * zone < design.shape[1] + 6:
        return None, None
    expected, spread, doubt = _course(design, level, middle)
    off = level - expected
    head = Departure(off[:zone], doubt[:zone], spread)
    tail = Departure(off[::-1][:zone], doubt[::-1][:zone], spread)
    return head, tail


def _blocks(
    time_s: Floats, values: Floats, speed: Floats | None, block: int, part: slice
) -> tuple[Floats, Floats, Floats | None] | None:
    """Block means of time, value and speed; None where values are missing."""
    if not np.isfinite(values[part]).all():
        return None
    pace = None if speed is None else speed[part].reshape(-1, block).mean(axis=1)
    if pace is not None and not np.isfinite(pace).all():
        return None
    return (
        time_s[part].reshape(-1, block).mean(axis=1),
        values[part].reshape(-1, block).mean(axis=1),
        pace,
    )


def _zone(time_s: Floats) -> int:
    """How many blocks at an end may belong to a transition."""
    length = min(LONGEST_S, SHARE * float(time_s[-1] - time_s[0]))
    return int(np.searchsorted(time_s - time_s[0], length))


def _design(time: Floats, pace: Floats | None, bend: bool) -> Floats:
    course = (time - time.mean()) / max(float(np.ptp(time)), 1e-9)
    columns = [np.ones(len(time)), course]
    if bend:
        columns.append(course**2)
    if pace is not None and np.ptp(pace) > 0:
        columns.append((pace - pace.mean()) / float(np.ptp(pace)))
    return np.column_stack(columns)


def _course(design: Floats, level: Floats, middle: slice) -> tuple[Floats, float, Floats]:
    """The middle's course carried on over all blocks, its scatter, each block's threshold."""
    from scipy.special import stdtrit

    inner, known = design[middle], level[middle]
    normal = np.linalg.pinv(inner.T @ inner)
    beta = normal @ (inner.T @ known)
    left = known - inner @ beta
    dof = len(known) - design.shape[1]
    spread = float(np.sqrt(left @ left / dof))
    together = _memory(left)
    longer = (1 + together) / (1 - together)
    reach = np.einsum("ij,jk,ik->i", design, normal, design)
    factor = float(stdtrit(max(dof / longer, 3.0), 1.0 - IMPROBABLE / 2))
    floor = 1e-9 * float(np.max(np.abs(level))) + 1e-12
    return (
        design @ beta,
        max(spread, floor),
        factor * max(spread, floor) * np.sqrt(1 + longer * reach),
    )


def _memory(left: Floats) -> float:
    """Lag-one correlation of what the course leaves, 0 to 0.9."""
    size = float(left @ left)
    return float(np.clip(left[1:] @ left[:-1] / size, 0.0, 0.9)) if size > 0 else 0.0


def _cut(found: Departure | None, block: int) -> int:
    """How many cycles at this end are not settled."""
    if found is None or len(found.off) < 2:
        return 0
    departing = np.abs(found.off) > found.threshold
    if not departing[0] or abs(found.off[0]) < LARGE * found.spread:
        return 0
    quiet = np.flatnonzero(~departing)
    end = int(quiet[0]) if len(quiet) else len(found.off)
    return block * min(end + 1 + _fade(found, end), len(found.off))


def _fade(found: Departure, end: int) -> int:
    """Blocks that an exponential decay needs from its last seen size to nothing that matters."""
    off = np.abs(found.off)
    peak = int(np.argmax(off[: end + 1]))
    last = min(end, len(off) - 1)
    fallen = off[peak] / max(float(off[last]), found.spread)
    if fallen <= 1.5 or last <= peak:
        return 0
    constant = (last - peak) / np.log(fallen)
    remaining = max(float(off[last]), found.spread) / (FADED * found.spread)
    return int(np.ceil(constant * max(np.log(remaining), 0.0)))
