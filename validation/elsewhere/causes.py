"""Which causes a job's car has, and how far gone each of them is."""

from __future__ import annotations

from dataclasses import dataclass

from validation.elsewhere.tables import Rng, happens, pick, table

KINDS = ("even", "trade")
SOUND = "nothing-wrong"


@dataclass(frozen=True)
class Truth:
    """Causes with their severity, 0 (mild but noticeable) to 1 (gross)."""

    causes: tuple[str, ...]
    link: str
    severity: tuple[float, ...]


def catalogue() -> tuple[str, ...]:
    """Every cause of the job format but none-of-these, in the order of the trade's table."""
    return tuple(table("odds")["single"])


def truth(rng: Rng, kind: str, turn: int) -> Truth:
    """The causes of one job; `turn` counts through the catalogue for the kind `even`."""
    causes, link = ((catalogue()[turn],), "single") if kind == "even" else _by_trade(rng)
    return Truth(causes, link, tuple(float(rng.uniform()) for _ in causes))


def _by_trade(rng: Rng) -> tuple[tuple[str, ...], str]:
    odds = table("odds")
    if not happens(rng, odds["two_faults"]):
        return (pick(rng, odds["single"]),), "single"
    if happens(rng, odds["consequence"]):
        chains = {f"{c['first']} {c['then']}": c["weight"] for c in odds["chain"]}
        first, then = pick(rng, chains).split()
        return (first, then), "consequence"
    return _two_unrelated(rng), "unrelated"


def _two_unrelated(rng: Rng) -> tuple[str, str]:
    odds = {cause: odd for cause, odd in table("odds")["single"].items() if cause != SOUND}
    while True:
        first, second = pick(rng, odds), pick(rng, odds)
        if first != second and can_be_together(first, second):
            return first, second


def can_be_together(first: str, second: str) -> bool:
    """Can one car have both at once, each showing?"""
    sets = (set(entry["together"]) for entry in table("odds")["never"])
    return not any({first, second} <= known for known in sets)
