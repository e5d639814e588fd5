"""The words a job may use: what was done to the engine, and what was seen of it."""

from __future__ import annotations

PASSING = (
    "nothing",
    "vent-port-blocked",
    "fresh-air-blocked",
    "regulator-port-blocked",
    "filler-cap-off",
    "dipstick-tube-open",
    "ventilation-hose-off",
    "speed-raised",
    "snap",
    "valve-commanded",
    "engine-off",
    "cranking",
)
"""Actions that hold for one condition."""

LASTING = ("oil-changed", "oil-topped-up", "level-corrected", "repaired")
"""Actions whose effect stays: they split a visit into states."""

ACTIONS = (*PASSING, *LASTING)

BLOCKING = ("vent-port-blocked", "fresh-air-blocked")
"""Actions that close the crankcase's way out or in: such a stretch is a course, not a mean."""

OBSERVATIONS: dict[str, tuple[str, ...]] = {
    "oil-level": (
        "not on the dipstick",
        "below minimum",
        "at minimum",
        "between the marks",
        "at maximum",
        "above maximum",
        "rising",
        "falling",
    ),
    "oil-smell": ("none", "fuel", "burnt", "coolant"),
    "oil-foam": ("none", "some bubbles", "foam", "milky"),
    "lamp": (
        "never on",
        "on at hot idle",
        "on at every idle",
        "flickers at idle",
        "on in bends or when braking",
        "on at speed",
        "on at every speed",
        "on for seconds after the start",
        "dark with the ignition on",
    ),
    "noise": (
        "none",
        "tick at hot idle",
        "tick after the start",
        "tick always",
        "knock under load",
        "rattle after the start",
        "whine",
        "whistle",
        "hiss",
    ),
    "began": (
        "suddenly",
        "slowly",
        "after an oil change",
        "after a repair",
        "after a long journey",
        "after running hot",
        "after standing",
        "not known",
    ),
    "done-before": (
        "nothing",
        "oil changed",
        "oil topped up",
        "oil of another grade",
        "filter changed",
        "sender changed",
        "pump changed",
        "ventilation parts changed",
        "engine repaired",
        "not known",
    ),
    "smoke": ("none", "blue after the start", "blue when driving", "white", "black"),
}
"""What was observed -> the words for what was seen."""
