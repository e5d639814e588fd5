"""What the owner tells and the technician sees, hears and smells, as the physics has it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine
from gaugewright.engine.steady import Solved, solve

TICKS_PA = 55e3
"""Bearings that get less than this at hot idle can be heard (judgement)."""
LIT, FLICKERS = 0.6, 0.02
"""Shares of the time from which a lamp is called on, and flickering (judgement)."""
LEAN, RICH = 0.20, -0.15
"""Trims that store a code: published limits run from 8 to 25 %."""
ROUGH = 0.09
"""Scatter of a cylinder's work from which misfires are counted (judgement)."""

STATES: Mapping[str, Held] = {
    "hot idle": Held(oil_degc=98.0),
    "warm idle": Held(oil_degc=70.0),
    "hot 2500": Held(speed_rpm=2500.0, oil_degc=98.0),
    "hot 4000": Held(speed_rpm=4000.0, oil_degc=100.0),
}
"""Where an owner drives it; what is seen there is what is told."""


@dataclass(frozen=True)
class Words:
    """What a cause leaves to be seen besides its pressures; the first word is the usual one."""

    level: tuple[str, ...] = ("between the marks",)
    smell: tuple[str, ...] = ("none",)
    foam: tuple[str, ...] = ("none",)
    noise: tuple[str, ...] = ()
    smoke: tuple[str, ...] = ("none",)
    began: tuple[str, ...] = ("not known",)
    before: tuple[str, ...] = ("nothing",)
    said: str = ""
    codes: tuple[str, ...] = ()


CAUSES: Mapping[str, Words] = {
    "oil-level-low": Words(
        level=("below minimum", "not on the dipstick"),
        began=("slowly", "after a long journey"),
        said="It has not been topped up for as long as anyone can remember.",
    ),
    "oil-aerated": Words(
        level=("above maximum",),
        foam=("foam", "some bubbles"),
        began=("after an oil change",),
        before=("oil changed", "oil topped up"),
        said="Someone filled it up not long ago, to be on the safe side.",
    ),
    "oil-thin": Words(
        smell=("burnt", "none"),
        began=("after an oil change", "slowly"),
        before=("oil of another grade", "nothing"),
        said="The oil in it came from a can that was in the garage.",
    ),
    "fuel-in-oil": Words(
        level=("rising", "above maximum"),
        smell=("fuel",),
        began=("slowly",),
        said="It does short trips, five minutes each way.",
    ),
    "pickup-restricted": Words(
        smell=("burnt", "none"),
        noise=("rattle after the start",),
        began=("slowly", "after running hot"),
        said="It missed a service or two.",
    ),
    "pickup-sucks-air": Words(
        foam=("some bubbles", "none"),
        noise=("rattle after the start",),
        began=("after a repair",),
        before=("engine repaired",),
        said="The sump was off a month ago.",
    ),
    "filter-restricted": Words(
        noise=("rattle after the start",),
        began=("slowly", "after an oil change"),
        before=("nothing", "filter changed"),
        said="The last filter is older than the tyres.",
    ),
    "relief-valve-open": Words(
        began=("suddenly",),
        before=("nothing", "pump changed"),
        said="From one day to the next.",
    ),
    "relief-valve-shut": Words(
        began=("after a repair", "suddenly"),
        before=("pump changed", "oil changed"),
        said="The filter weeps at its seal.",
    ),
    "worn-pump": Words(began=("slowly",), said="It has done a great many kilometres."),
    "pump-control-stuck": Words(
        began=("suddenly",), before=("nothing", "oil changed"), said="It came on the motorway."
    ),
    "worn-bearings": Words(
        noise=("knock under load",),
        began=("slowly", "after running hot"),
        said="It has pulled a trailer all its life.",
    ),
    "internal-leak": Words(began=("suddenly", "after a repair"), said="From one day to the next."),
    "indication-fault": Words(
        noise=("none",),
        began=("suddenly", "after a repair"),
        before=("nothing", "sender changed"),
        said="It drives as it always did.",
        codes=("P0520",),
    ),
    "ventilation-regulator-torn": Words(
        noise=("whistle",),
        smoke=("blue when driving", "none"),
        began=("suddenly", "slowly"),
        said="It whistles, and the idle goes up and down.",
        codes=("P052E",),
    ),
    "breather-blocked": Words(
        smoke=("blue when driving", "none"),
        began=("slowly", "after standing"),
        said="It leaves drops of oil in the yard.",
    ),
    "crankcase-open": Words(
        noise=("hiss", "none"),
        began=("after an oil change", "after a repair"),
        before=("oil topped up", "oil changed"),
        said="There is oil mist about the top of the engine.",
        codes=("P04DB",),
    ),
    "intake-leak": Words(
        noise=("hiss",),
        began=("suddenly", "after a repair"),
        before=("nothing", "engine repaired"),
        said="The idle is not what it was.",
    ),
    "worn-rings": Words(
        level=("at minimum", "falling"),
        smoke=("blue when driving",),
        began=("slowly",),
        said="It likes its oil.",
    ),
    "test-fault": Words(before=("oil changed", "nothing"), said="Another shop measured it first."),
    "nothing-wrong": Words(
        before=("oil changed", "nothing"), said="A neighbour said that it sounds wrong."
    ),
}


@dataclass(frozen=True)
class Seen:
    """The observations of a job by `what`, the owner's words, the stored codes."""

    observations: Mapping[str, str]
    said: str
    codes: tuple[str, ...] = field(default=())


def seen(
    build: Build, engine: Engine, causes: Sequence[str], rng: np.random.Generator, silent: float
) -> Seen:
    """What is seen of this engine before anything is measured.

    Parameters: its causes, the first leading; the chance that an observation was not made.
    """
    solved = solve(build, engine, tuple(STATES.values()))
    words = [CAUSES[cause] for cause in causes]
    lamp = "on in bends or when braking" if _starves(causes, solved) else lamp_word(solved)
    chosen = {
        "oil-level": _first_unusual([w.level for w in words], "between the marks", rng),
        "oil-smell": _first_unusual([w.smell for w in words], "none", rng),
        "oil-foam": _first_unusual([w.foam for w in words], "none", rng),
        "lamp": lamp,
        "noise": _noise(words, solved, rng),
        "began": _one(words[0].began, rng),
        "done-before": _one(words[0].before, rng),
        "smoke": _first_unusual([w.smoke for w in words], "none", rng),
    }
    made = {w: s for w, s in chosen.items() if w in ALWAYS or rng.random() >= silent}
    return Seen(made, _said(words[0], chosen), _codes(build, words, solved, rng))


ALWAYS = ("lamp", "oil-level")
"""What is looked at before any start, whatever the day is like."""


def _one(words: tuple[str, ...], rng: np.random.Generator) -> str:
    """One of these, the first as often as all the others."""
    usual = len(words) == 1 or rng.random() < 0.6
    return words[0] if usual else words[int(rng.integers(1, len(words)))]


def _first_unusual(choices: Sequence[tuple[str, ...]], usual: str, rng: np.random.Generator) -> str:
    drawn = [_one(words, rng) for words in choices]
    return next((word for word in drawn if word != usual), usual)


def _starves(causes: Sequence[str], solved: Solved) -> bool:
    """A low level is told by bends before it is told by anything that stands still."""
    return "oil-level-low" in causes and float(solved.lamp[0, 0]) < FLICKERS


def lamp_word(solved: Solved) -> str:
    """What the lamp does, in the words of the job format, at the four states in order."""
    hot_idle, warm_idle, fast, faster = (float(share) for share in np.nan_to_num(solved.lamp[:, 0]))
    if min(hot_idle, fast) > LIT:
        return "on at every speed"
    if min(hot_idle, warm_idle) > LIT:
        return "on at every idle"
    if hot_idle > LIT:
        return "on at hot idle"
    if max(fast, faster) > LIT:
        return "on at speed"
    return "flickers at idle" if hot_idle > FLICKERS else "never on"


def _noise(words: Sequence[Words], solved: Solved, rng: np.random.Generator) -> str:
    stated = [_one(w.noise, rng) for w in words if w.noise]
    loud = next((word for word in stated if word != "none"), None)
    if loud is not None:
        return loud
    return "tick at hot idle" if float(solved.gallery_pa[0, 0]) < TICKS_PA else "none"


SAYS: Mapping[str, str] = {
    "on at hot idle": "The oil lamp comes on at the lights once it is hot.",
    "on at every idle": "The oil lamp comes on at every stop.",
    "flickers at idle": "The oil lamp flickers when it idles.",
    "on in bends or when braking": "The oil lamp blinks in bends and when it brakes hard.",
    "on at speed": "The oil lamp comes on when it is driven fast.",
    "on at every speed": "The oil lamp stays on.",
    "never on": "The oil lamp has never come on.",
    "tick at hot idle": "It ticks when it is hot and idles.",
    "knock under load": "It knocks when it pulls uphill.",
    "rattle after the start": "It rattles for a while after the start.",
    "whistle": "It whistles.",
    "hiss": "Something hisses.",
    "blue when driving": "There is blue smoke behind it.",
}


def _said(words: Words, chosen: Mapping[str, str]) -> str:
    told = [SAYS.get(chosen[what], "") for what in ("lamp", "noise", "smoke")]
    return " ".join(sentence for sentence in dict.fromkeys([*told, words.said]) if sentence)


def _codes(
    build: Build, words: Sequence[Words], solved: Solved, rng: np.random.Generator
) -> tuple[str, ...]:
    """Codes a control unit would have stored; generic ones of SAE J2012."""
    own = [code for w in words for code in w.codes if rng.random() < 0.5]
    return tuple(dict.fromkeys([*own, *_trim_codes(build, solved), *_idle_codes(solved)]))


def _trim_codes(build: Build, solved: Solved) -> list[str]:
    if build.metering == "none":
        return []
    idle, fast = float(solved.trim[0, 0]), float(solved.trim[2, 0])
    if idle > LEAN:
        return ["P0171" if fast > 0.5 * LEAN else "P2187"]
    return ["P0172"] if idle < RICH else []


def _idle_codes(solved: Solved) -> list[str]:
    rough = float(solved.restless[0, 0]) > ROUGH
    return ["P0300"] if rough else []
