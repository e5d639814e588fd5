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

NOT_KNOWN = "not known"
"""An answer that says nothing."""

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
        NOT_KNOWN,
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
        NOT_KNOWN,
    ),
    "smoke": ("none", "blue after the start", "blue when driving", "white", "black"),
}
"""What was observed -> the words for what was seen."""

TESTED: dict[str, tuple[str, ...]] = {
    "look-and-refit": ("seated and sealed", "loose, cracked or missing"),
    "lamp-and-switch": (
        "lamp follows the switch",
        "lamp does not follow, or plug, screen or part are wrong",
    ),
    "filter-cut": ("clean", "bearing metal", "sludge, or its valve stuck or torn"),
    "staged-blocking": (
        "even loss at all bearings",
        "a step at one jet, adjuster or plug",
        "little loss anywhere",
    ),
    "strainer": ("clean and sealed", "strainer partly blocked", "seal cut, flat or missing"),
    "relief-valve-out": (
        "moves freely, spring whole",
        "held open, or spring weak or broken",
        "stuck shut",
    ),
    "smoke-into-intake": (
        "none comes out",
        "at the intake",
        "at the regulator's cover or port",
        "at cap, dipstick or a cover seal",
    ),
    "leak-down": (
        "small everywhere",
        "large, heard at the filler",
        "large, heard at a valve or the coolant",
    ),
    "cranking": ("even and strong", "uneven, or weak"),
    "zero-again": ("zero holds, port and hose right", "zero off, or port, hose or supply wrong"),
    "second-gauge": (
        "all agree",
        "the car's lamp or gauge tells something else",
        "our own first gauge tells something else",
    ),
    "cold-fill-time": ("within 2 s", "2 to 4 s", "over 4 s"),
    "filter-drop": ("small", "large"),
    "pump-pressure": ("right in both", "low in both", "right at the pump, low in the gallery"),
    "snap": ("follows the speed", "lags, dips or hunts"),
    "bends": ("holds", "falls away in bends or when braking"),
}
"""A test that is looked at, not read -> the words for what it showed; the advice's own names."""

SEEN = {**OBSERVATIONS, **TESTED}
"""All that an observation may be of."""
