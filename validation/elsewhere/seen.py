"""What was seen, smelled and heard, and which codes were stored: judgements with errors."""

from __future__ import annotations

from validation.elsewhere.plan import Plan
from validation.elsewhere.tables import Rng, happens, pick, table

WHATS = (
    "oil-level",
    "oil-smell",
    "oil-foam",
    "lamp",
    "noise",
    "began",
    "done-before",
    "smoke",
)
LAMP_ON: dict[str, dict[str, float]] = {
    "idle": {"on at hot idle": 60, "on at every idle": 25, "flickers at idle": 15},
    "near": {"flickers at idle": 40, "on at hot idle": 32, "never on": 28},
    "always": {"on at every speed": 90, "on at every idle": 10},
}


def seen(
    rng: Rng, causes: tuple[str, ...], plan: Plan, margins: tuple[float, float]
) -> tuple[tuple[str, str], ...]:
    """What was noted of each thing looked at.

    `margins`: true pressure over the pressure that lights the lamp, at hot idle and at speed.
    """
    words = {what: _word(rng, causes, what, margins) for what in WHATS}
    return tuple((what, word) for what, word in words.items() if what in plan.told)


def _word(rng: Rng, causes: tuple[str, ...], what: str, margins: tuple[float, float]) -> str:
    sound = table("seen")["sound"][what]
    chance = rng.uniform()
    if chance < table("seen")["any"]:
        return pick(rng, dict.fromkeys(sound, 1.0))
    if chance < table("seen")["any"] + table("seen")["wrong"]:
        return pick(rng, sound)
    if what == "lamp":
        return _lamp(rng, causes, margins)
    return pick(rng, _weights(rng, causes, what))


def _weights(rng: Rng, causes: tuple[str, ...], what: str) -> dict[str, float]:
    """The words of one cause that says something about it, else those of a sound car."""
    own = [table("seen")["cause"].get(cause, {}).get(what) for cause in causes]
    known: list[dict[str, float]] = [words for words in own if words]
    sound: dict[str, float] = table("seen")["sound"][what]
    return known[int(rng.integers(len(known)))] if known else sound


def _lamp(rng: Rng, causes: tuple[str, ...], margins: tuple[float, float]) -> str:
    """By the pressure where the indication is sound; else by what its fault shows."""
    if "indication-fault" not in causes:
        if max(margins) < 1.0:
            return pick(rng, LAMP_ON["always"])
        if margins[0] < 1.0:
            return pick(rng, LAMP_ON["idle"])
        if margins[0] < 1.5:
            return pick(rng, LAMP_ON["near"])
        return pick(rng, _weights(rng, causes, "lamp"))
    return pick(rng, table("seen")["cause"]["indication-fault"]["lamp"])


def codes(rng: Rng, causes: tuple[str, ...], short: bool) -> tuple[str, ...]:
    """Codes stored; `short`: the pressure lies below what the maker prints."""
    known = table("seen")["codes"]
    chances = dict(known["sound"])
    for group in (*causes, *(["low-pressure"] if short else [])):
        for code, chance in known.get(group, {}).items():
            chances[code] = max(chance, chances.get(code, 0.0))
    return tuple(sorted(code for code, chance in chances.items() if happens(rng, chance)))
