"""Stretches that look held one way and bear no name yet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from gaugewright.evidence.cycles import Sensed
from gaugewright.evidence.offers import LEAST_S, offered
from gaugewright.web.recording_case import Read, shift_s
from gaugewright.web.recording_marked import Marked

Stretch = tuple[float, float]


def free_stretches(read: Read, main: Sensed, named: Sequence[Marked]) -> list[Stretch]:
    """What looks held in any recording that ran with this one, less what is named already."""
    taken = [(stretch.from_s, stretch.to_s) for stretch in named]
    pieces = [p for held in offered(_together(read, main)) for p in _less(held, taken)]
    return [(begin, finish) for begin, finish in pieces if finish - begin >= LEAST_S]


def _together(read: Read, main: Sensed) -> Sensed:
    """The signals of all recordings of the visit, on this one's clock."""
    others = [
        replace(signal, time_s=signal.time_s + shift_s(one, main))
        for one in read.of_visit(main.visit)
        if one is not main
        for signal in one.signals
    ]
    turning = [one for one in read.of_visit(main.visit) if one.rotation is not None]
    rotation = main.rotation
    if rotation is None and turning:
        other = turning[0].rotation
        assert other is not None
        rotation = replace(other, edges_s=other.edges_s + shift_s(turning[0], main))
    signals = (*main.signals, *others)
    return Sensed(main.name, main.visit, main.offset_s, signals, rotation, main.spans)


def _less(held: Stretch, taken: Iterable[Stretch]) -> list[Stretch]:
    """What is left of a stretch without the parts that are taken."""
    left = [held]
    for begin, finish in taken:
        cut = [((a, min(b, begin)), (max(a, finish), b)) for a, b in left]
        left = [(a, b) for parts in cut for a, b in parts if b > a]
    return left
