"""Every word on both pages in English; `words_de` has the same names.

Texts with braces are filled by `str.format`; which of them is said is chosen elsewhere.
"""

from __future__ import annotations

HANDOVER = "Handover sheet"
RECORD = "Work record"
OPEN_QUOTE, CLOSE_QUOTE = "\u201c", "\u201d"
DASH = "\u2013"
DECIMAL = "."
AND = " and "
DATE = "{day}\u00a0{month} {year}"
UNIT = {"degC": "\u00b0C", "rpm": "rpm"}
UNIT_OF_AIR = "crankcase|manifold|sump|vent|vacuum"
TO = "to"
CONTINUED = "continued in the work record"
PAGE_OF = "Page {page} of {pages}"
PRINTED_ON = "printed {date}"
MADE_WITH = "gaugewright"
DETAILS = "All readings, limits and checks: see the work record of the same date."

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

QUANTITY = {
    "oil-pressure": "oil pressure",
    "crankcase-pressure": "crankcase pressure",
    "manifold-pressure": "manifold pressure",
    "cylinder-pressure": "cylinder pressure",
    "exhaust-pressure": "exhaust back-pressure",
    "fuel-pressure": "fuel pressure",
    "coolant-pressure": "cooling system pressure",
    "ignition": "ignition",
    "crank": "crankshaft wheel",
    "cam": "camshaft wheel",
    "engine-speed": "engine speed",
    "oil-temperature": "oil temperature",
    "coolant-temperature": "coolant temperature",
    "air-flow": "air flow",
    "fuel-trim-short": "short fuel trim",
    "fuel-trim-long": "long fuel trim",
    "battery-voltage": "battery voltage",
    "starter-current": "starter current",
}
THE_QUANTITY = QUANTITY
"""As a sentence speaks of it: in other languages with its article."""
NOUNS_LARGE = False
LANE = QUANTITY
"""As a lane of a recording is named, beside its rule."""
SEAMS: dict[str, str] = {}
"""Long words, and the same with soft hyphens where they may break."""
PREDICTED_QUANTITY = {"fuel-trim": "fuel trim, short and long"}
REFERENCE = {
    "atmosphere": "at the gauge",
    "crankcase": "at the bearings",
    "vacuum": "absolute",
    "sealed": "against its sealed chamber",
}
REFERENCE_OF_CRANKCASE = {"atmosphere": "against the outside air", "vacuum": "absolute"}
SEEN_BY = {"gauge": "gauge", "bearings": "bearings"}
DID = {
    "nothing": "",
    "vent-port-blocked": "vent port blocked",
    "fresh-air-blocked": "fresh-air side blocked",
    "regulator-port-blocked": "regulator's port blocked",
    "filler-cap-off": "filler cap off",
    "dipstick-tube-open": "dipstick tube open",
    "ventilation-hose-off": "ventilation hose off",
    "speed-raised": "speed raised",
    "snap": "throttle snapped",
    "valve-commanded": "valve commanded",
    "engine-off": "engine off",
    "cranking": "cranking",
    "oil-changed": "oil changed",
    "oil-topped-up": "oil topped up",
    "level-corrected": "oil level corrected",
    "repaired": "repaired",
}
SAW = {
    "what": {
        "oil-level": "oil level",
        "oil-smell": "oil smell",
        "oil-foam": "oil foam",
        "lamp": "lamp",
        "noise": "noise",
        "smoke": "smoke",
        "began": "began",
        "done-before": "done before",
        "code": "code",
    }
}
BOUND = {"at most": "at most", "at least": "at least"}
BOUND_BRIEF = BOUND
"""The same beside a drawing, where room is scarce."""

# Verdicts -----------------------------------------------------------------------------
VERDICT = {
    "meets": "meets",
    "falls short": "falls short",
    "exceeds": "exceeds",
    "too close to call": "too close to call",
    "not measured": "not measured",
}
UNMEASURED = "not measured"
PLATE_WIDTH = 130.0
"""Room for the longest verdict on its plate, in points."""
AT_GAUGE, AT_BEARINGS = "at the gauge", "at the bearings"
STATED_FOR_GAUGE = "the maker states this limit for the gauge"
SURE = {
    "very sure": "very sure",
    "sure": "sure",
}

# The owner's page: headline -----------------------------------------------------------
HEAD_NOTHING = "Nothing could be measured yet."
HEAD_NO_LIMIT = "We measured the {quantity}. There was no limit to judge it by."
HEAD_UNMEASURED = "The {quantity} could not be judged yet."
HEAD_SHORT = "The {quantity} falls short of the maker\u2019s limit."
HEAD_SHORT_GAUGE = "The {quantity} at the gauge falls short of the maker\u2019s limit."
HEAD_EXCEEDS = "The {quantity} is higher than the maker allows."
HEAD_OPEN = "The {quantity} is too close to the limit to call."
HEAD_BEARINGS_SHORT = "The gauge shows enough {quantity}, but the bearings get too little."
HEAD_BEARINGS_EXCEED = "The gauge meets the limit, but the bearings get more than it allows."
HEAD_BEARINGS_OPEN = "The gauge meets the limit; for the bearings it is too close to call."
HEAD_NOW_MEETS = "The {quantity} was outside the maker\u2019s limit.\nNow it meets it."
HEAD_BEARINGS_NOW = "The bearings got too little {quantity}.\nNow they get enough."
HEAD_MEETS = "The {quantity} meets the maker\u2019s limit."
HEAD_LAMP = "The {quantity} meets the maker\u2019s limit, yet the oil lamp comes on."
HEAD_DISAGREE = "Two instruments disagree about the {quantity}: there is no verdict."

# The owner's page: what it says below the headline ------------------------------------
SAY_FIRST = "{when}the gauge showed {gauge}{asked}."
SAY_ONLY_VALUE = "{when}the {quantity} was {gauge}{asked}."
SAY_AT_SPEED = " at {speed}"
SAY_ASKED = "; the maker asks for {limit}"
SAY_LIFTED = "Pressure in the crankcase held the gauge up by {effect}: the bearings got {bearings}."
SAY_PULLED = "Vacuum in the crankcase drew the gauge down by {effect}: the bearings got {bearings}."
SAY_BEARINGS = "The bearings got {bearings}."
SAY_BETWEEN = "{when}the gauge showed {gauge} and the bearings got {bearings}."
SAY_BETWEEN_GAUGE = "{when}the gauge showed {gauge}."
SAY_BETWEEN_VALUE = "{when}it was {gauge}."
SAY_GAUGE_RULES = (
    "The maker states this limit for the gauge, so what the bearings get does not make up for it."
)
SAY_SETTLE = (
    "The reading lies too near the limit for its own accuracy; a further test would settle it."
)
SAY_UNMEASURED = (
    "No reading was taken at the speed and oil temperature for which the maker states the limit."
)
SAY_NOTHING = "No reading could be taken from what was recorded. The work record says why."
SAY_DISAGREE = "Before any verdict, the two instruments have to be compared with a third."
WHEN_FIRST = "At the first visit, "
WHEN_AFTER_WORK = "After \u201c{work}\u201d, "
WHEN_ON = "On {date}, "
WHEN_STATE = "After that ({did}), "
WHEN_AT = "{visit}, "
OR_MORE, OR_LESS, BETWEEN = "{low} or more", "{high} or less", "{low} to {high}"
HELD_AT = "at {state}"

# The owner's page: headings and fixed sentences ---------------------------------------
TOLD_US = "What you told us"
MEASURED = "What we measured: {quantity}"
MEASURED_AT = "What we measured: {quantity}, {limit}"
MAKER_ASKS = "the maker asks for {limit}"
GAUGE_SHOWED, GAUGE_SHOWS = "the gauge showed", "the gauge shows"
BEARINGS_GOT, BEARINGS_GET = "the bearings got", "the bearings get"
READ_WAS, READ_IS = "it was", "it is"
HOW_SURE = "How sure:"
SURE_SAYS = "{sure} {what}"
SURE_WHAT = {
    ("gauge", "meets"): "that the gauge meets the limit",
    ("gauge", "falls short"): "that the gauge falls short of the limit",
    ("gauge", "exceeds"): "that the gauge exceeds the limit",
    ("bearings", "meets"): "that the bearings get enough",
    ("bearings", "falls short"): "that the bearings get too little",
    ("bearings", "exceeds"): "that the bearings get more than the limit allows",
    ("value", "meets"): "that it meets the limit",
    ("value", "falls short"): "that it falls short of the limit",
    ("value", "exceeds"): "that it exceeds the limit",
}
SURE_EXPLAINS = " (an explanation, not a pass)"
ENOUGH_NO_PASS = "enough here, but no pass"
SURE_OPEN = {
    "gauge": "too close to call at the gauge",
    "bearings": "too close to call at the bearings",
    "value": "too close to call",
}
SURE_NONE = "no verdict, see the work record"
NOTE_GAUGE = "The gauge measures against the outside air; the bearings feel the crankcase."
NOTE_BEARINGS = (
    "For the bearings this is an explanation: the maker states this limit for the gauge."
)
NOTE_SPINDLE = "Each shape is as long as the doubt that is left about its value."
NOTE_ONE_SIDED = "An arrow marks a reading known on one side only: the instrument was at its stop."
NOTE_KPA = {"kPa": "100\u00a0kPa are 1\u00a0bar.", "psi": "", "bar": ""}
NOTE_OTHER_WALL = "The limit\u2019s other end, {other}, lies outside this picture."
NOTE_STATE_LEFT = "One visit between is in the work record."
NOTE_STATES_LEFT = "{count} visits between are in the work record."
OTHER_LIMITS = "Other limits"
DONE = "What was done"
NOTHING_DONE = "No work was noted."
ADVISED = "What we advise"
NOTHING_ADVISED = "No advice was noted."
ADVISE_REPAIR = "Find the reason and put it right; then measure again in the same way."
ADVISE_TEST = "A further test, to settle what is too close to call."
ADVISED_ON = "advised {date}"
STATE_OF_WORK = {
    "agreed": "agreed",
    "declined": "declined by the owner",
    "done": "done",
    "advised": "advised",
}
NOT_TESTED = "What was not tested"
NOT_MEASURED = "Not measured: {quantities}."
NOT_THE_BEARINGS = (
    "What the bearings get is not known: the pressure in the crankcase was not measured with it."
)
NOT_THE_TEMPERATURE = "The oil\u2019s temperature was not measured."
NOT_THE_SPEED = "The engine\u2019s speed was not measured."
NOT_THE_LIMIT = "Not judged, because the engine was not held at its state: {limits}."
NOT_WITHOUT_LIMITS = "No limit of the maker was given, so nothing was judged."
NOT_CAUSES = "The possible causes were not weighed against each other; none is named here."
NOT_THE_LAMP = "Whether the oil lamp still comes on was not noted at the last visit."
NOT_HAND = "There is no recording; the values were read by hand."
NOT_AGAIN = "Not measured again since the last work: {limits}."
WATCH = "Please watch"
STOP_BOLD = "Stop the engine"
STOP_REST = " if the oil lamp comes on while driving, or if it knocks. Do not drive on; call us."
FAILS_BOLD = "Have this put right before the car is driven:"
FAILS_REST = {
    "gauge": " the {quantity} at the gauge is outside the maker\u2019s limit.",
    "bearings": " the bearings are outside what the limit leaves them.",
    "value": " the {quantity} is outside the maker\u2019s limit.",
}
OPEN_BOLD = "Not decided:"
OPEN_REST = " ask for the further test before relying on this engine."
LAMP_BOLD = "The oil lamp was on:"
LAMP_REST = " do not drive until its reason is found."
CONSENT = "I agree to the work advised:"
CONSENT_YES, CONSENT_NO = "yes", "no"
CONSENT_PART = "only this:"
SIGN_WORKSHOP = "explained and handed over: date, workshop"
SIGN_OWNER = "received and explained to me: date, owner"

CAUSE = {
    "oil-level-low": "oil level too low",
    "oil-aerated": "air in the oil",
    "oil-thin": "oil too thin",
    "fuel-in-oil": "fuel in the oil",
    "pickup-restricted": "oil pick-up restricted",
    "pickup-sucks-air": "oil pick-up sucks air",
    "filter-restricted": "oil filter restricted",
    "relief-valve-open": "relief valve open",
    "relief-valve-shut": "relief valve shut",
    "worn-pump": "oil pump worn",
    "pump-control-stuck": "oil pump control stuck",
    "worn-bearings": "bearings worn",
    "internal-leak": "leak inside the engine",
    "indication-fault": "fault in the indication",
    "ventilation-regulator-torn": "crankcase ventilation regulator torn",
    "breather-blocked": "crankcase breather blocked",
    "crankcase-open": "crankcase open to the air",
    "intake-leak": "leak in the intake",
    "worn-rings": "piston rings worn",
    "test-fault": "fault in the test itself",
    "nothing-wrong": "nothing found by these readings",
    "none-of-these": "none of the causes on the list",
}

# Causes, leaks and next tests: both pages and the terminal ----------------------------
CAUSES_HEAD = "Which cause"
NOT_WEIGHED = "The possible causes were not weighed."
JUDGED = (
    "The percentages are model and judged odds, tested on simulated engines only, until an "
    "archive of closed jobs says how often they were right."
)
ADD_UP = (
    "These exclude each other and add up to 100\u00a0%. In the table above a cause counts in every "
    "pair that holds it."
)
NO_PASS = (
    "Whatever weighs most here, it turns no failed limit into a pass and no lamp that comes on "
    "into a false one: the maker states the limit for the gauge."
)
BEFORE = "before: {percent}"
CAUSE_HEADS = ("weight", "cause", "speaks most for it", "speaks most against it")
NEARLY, HARDLY = "over 99", "under 1"
LESS_THAN = "Under 1\u00a0% each: {causes}."
SPEAKS_FOR, SPEAKS_AGAINST = "+", "\u2013"
NOTHING_SPEAKS = "nothing of weight"
READ_AND_PREDICTED = "{reading}: {read} read, {predicted} predicted"
TOLD = "{what}: {saw}"
ODDS_UP, ODDS_DOWN = "odds\u00a0\u00d7\u00a0{times}", "odds\u00a0\u00f7\u00a0{times}"
ODDS_UNMOVED = "odds unmoved"
MOST_TIMES = "over\u00a01000"
SEVERITY = "if so, {text}"
PAIRS_HEAD = "One fault or two"
PAIR_HEADS = ("weight", "together")
LINK = {
    "single": "{first}, alone",
    "consequence": "{first}, and because of it {second}",
    "unrelated": "{first} and, unrelated to it, {second}",
}
OTHER_PAIRS = "all others together"
PREDICTED_HEAD = "What was read against what each leading cause predicts"
PREDICTED_NOTE = (
    "Each prediction is made from all the other readings. Intervals of 95\u00a0%. Hollow: against "
    "the outside air; filled: at the bearings. The pale band is the reading, drawn down over the "
    "predictions."
)
PREDICTED_TABLE_NOTE = (
    "Odds: how this reading alone moves this cause against all others. Above, below: where the "
    "reading lies from the prediction; u: the standard uncertainty of the two together."
)
LOUDEST = "Drawn are the {count} readings that say most; the table holds all."
READ, PREDICTED = "read", "predicted"
PREDICTED_HEADS = ("reading", "read")
MOST_FOR, MOST_AGAINST = "most for", "most against"
PULL_UP, PULL_DOWN = "{times}\u00a0u\u00a0above", "{times}\u00a0u\u00a0below"
ENDS = "{low} to {high}"
LEAKS_HEAD = "How large the leak is"
LEAK_HEADS = ("from, to", "diameter", "95 % interval", "discharge coefficient", "from readings in")
LEAKS_NOTE = (
    "The round, sharp-edged hole that would pass the same air at this discharge coefficient; "
    "the real one has its own shape."
)
TESTS_HEAD = "Next tests"
TEST_TITLE = "{minutes}\u00a0min: {test}"
TESTS_NOTE = (
    "The one with the shortest way to a call first. A bit halves what is open, on average over the "
    "outcomes."
)
TEST_TELLS = "Tells {bits}"
BITS = "{bits}\u00a0bit"
TEST_SAVES = "spares {minutes}\u00a0min of work on a wrong call"
TEST_EFFORT = "effort: {effort}"
EFFORT = {"none": "none", "small": "small", "some": "some", "great": "great"}
OUTCOME_HEADS = ("what would be seen", "chance", "it would leave")
LATER_TESTS = "Then: {tests}."
LATER_TEST = "{test}, {minutes}\u00a0min"
NOT_WHEN = "Not when:"
MIND = "Mind:"
NO_TEST = "No next test was worked out."
TERMINAL_CAUSES = ("weight", "cause", "if so", "speaks most for it", "speaks most against it")
TERMINAL_TESTS = ("time", "test", "tells", "what would be seen, and what it would leave")
TERMINAL_OUTCOME = "{saw} ({chance})"
TERMINAL_LEAVES = "{outcome}: {leaves}"

# What the owner reads of them -------------------------------------------------------
OWNER_CAUSES = "What may be behind it"
OWNER_CAUSES_WERE = "What may have been behind it"
OWNER_WORD = {
    "likely": "Likely:",
    "possible": "Possible:",
    "not excluded": "Not excluded:",
}
OWNER_UNKNOWN = "something that these readings cannot weigh"
OWNER_TWO = "Two things may have come together: {pair}."
OWNER_MORE = "and others, see the work record"
OWNER_UNEXPLAINED = (
    "These readings alone do not show the reason. That does not make up for what is outside its "
    "limit, nor for a lamp that comes on."
)
OWNER_NOT_SHOWN = (
    "That the indication or the measurement is at fault is not shown yet: until a test shows it, "
    "take the warning as real."
)
OWNER_QUIET = "Nothing in these readings points to a cause."
OWNER_NEXT = "Next step:"
OWNER_MINUTES = "about {minutes} minutes"
OWNER_POINTS = "It would point to {causes}."
OWNER_TELLS = "It would tell whether this has a part in it: {cause}."
OR = ", or to "
OWNER_POINT = "{cause} ({chance})"
OWNER_STOP = "No further test that we know would be worth its time."
CHANCE_WORDS = (
    (0.66, "likely"),
    (0.33, "as likely as not"),
    (0.1, "unlikely"),
    (0.0, "very unlikely"),
)

# The work record ----------------------------------------------------------------------
FACT = {
    "vehicle": "vehicle",
    "engine": "engine",
    "oil": "oil",
    "place": "place",
    "codes": "codes stored",
    "read": "read",
    "job": "job",
    "units": "units on this page",
}
ENGINE = "{cylinders} cylinders, {cycle}"
UNITS = "{pressure}; crankcase and manifold {vacuum}"
NO_CODES = "none noted"
INHG_IS = "1 inHg is 3386.389 Pa (conventional)"
COMPLAINT = "Complaint, in the owner\u2019s words"
VISITS = "Visits"
VISIT_HEADS = ("visit", "date", "read", "oil", "done since the visit before")
SEEN = "Seen, smelled, heard, tested"
SEEN_HEADS = ("visit", "what", "saw", "note")
WORK = "Work"
WORK_HEADS = ("visit", "work", "state")
INSTRUMENTS = "Instruments and calibration"
INSTRUMENT_HEADS = ("instrument", "measures against", "calibration", "uncertainty", "zero")
RECORDINGS = "Recordings"
RECORDING = "Recording \u201c{name}\u201d, {visit}, {seconds} s"
LEFT_OUT = "left out: the engine was still settling, or the samples cannot be used"
PALE = "pale: between the conditions, not used"
SECONDS = "seconds"
READINGS = "Readings (95 % intervals)"
READINGS_NOTE = (
    "\u00b1 is the half width of the 95 % interval: it counts the spread over whole cycles, the "
    "sensor and its zero. At the bearings: gauge less crankcase."
)
CYCLES = "cycles, behaviour"
NO_READINGS = "No reading could be taken; the warnings say why."
BEHAVIOUR = {"steady": "steady", "drifting": "drifting", "hunting": "hunting"}
BY_HAND = "by hand"
LIMITS = "Limits"
LIMIT_HEADS = (
    "limit, source",
    "seen by",
    "condition",
    "value at the limit\u2019s state",
    "guard band",
    "chance of meeting",
    "verdict",
)
LIMITS_NOTE = (
    "The gauge\u2019s check is the maker\u2019s own. The bearings\u2019 check below it explains "
    "and never turns it into a pass: the maker states this limit for the gauge."
)
PRINTED = "printed \u201c{text}\u201d"
NO_LIMITS = "No limit was given: nothing was judged."
OVER, UNDER = "over 99.9 %", "under 0.1 %"
MATCHES = "Matches: brought to one speed"
MATCHES_WITHIN = "within a visit: tests the engine"
MATCHES_ACROSS = "across visits: shows the repair"
MATCH_FROM_TO = "from, to"
MATCHES_ABSOLUTE = (
    "A difference of absolute pressures is the same but for the barometer and is left to the "
    "findings file where the one against the outside air stands here."
)
EXTRAPOLATED = "extrapolated"
CHECKS = "Does the gauge follow the crankcase?"
CHECK_VERDICT = {
    "follows the crankcase": (
        "follows the crankcase: between these conditions the bearings felt no change"
    ),
    "real loss as well": "real loss as well: the gauge fell by more than the crankcase gave",
    "does not follow the crankcase": "does not follow the crankcase",
    "undecided": "whether the gauge follows the crankcase is undecided",
}
CHECK_VERDICT_SHORT = {
    "follows the crankcase": "follows the crankcase",
    "real loss as well": "real loss as well",
    "does not follow the crankcase": "does not follow the crankcase",
    "undecided": "undecided",
}
CHECK_EXPLAINS = {
    "all of it": "The crankcase explains all of the shortfall; the limit is for the gauge.",
    "part of it": "The crankcase explains part of the shortfall.",
    "nothing": "The crankcase explains nothing of a shortfall.",
    "undecided": "How much of a shortfall the crankcase explains is undecided.",
}
CHECK_EFFECT = "The crankcase\u2019s own pressure as found: {effect}."
SLOPE = "slope "
SLOPE_ONE = ("1", "all from the crankcase")
SLOPE_NONE = ("0", "nothing from the crankcase")
SLOPE_X = "crankcase pressure, {unit}"
SLOPE_Y = "oil pressure at the gauge, {unit}"
SWITCHES = "Would the lamp light?"
EXPLAINS_LAMP = {"yes": "yes", "no": "no", "cannot say": "cannot say"}
SWITCH_HEADS = ("switch", "visit", "conditions", "share of the time on", "explains the lamp")
WARNINGS = "Warnings"
WARNING_HEADS = ("where", "what")
NO_WARNINGS = "None."
FILES = "Files"
FILE_HEADS = ("recording, file", "rows, rate", "guessed", "counted")
METHOD = "Method"
METHOD_SAYS = "Findings format {format}."
NONE_COUNTED = "nothing missing, clipped or repeated"
NONE_GUESSED = "nothing"
NO_RECORDING = "There is no recording; all readings were taken by hand."

FLAG = {
    "several-stretches": "from several stretches",
    "instruments-combined": "instruments combined",
    "by-hand": "by hand",
    "no-interval": "no interval known",
    "uncertainty-unstated": "uncertainty not stated, 1 % of range taken",
    "oil-temperature-from-coolant": "oil temperature taken from the coolant",
    "oil-temperature-from-neighbour": "oil temperature taken from a stretch nearby",
    "speed-unknown": "speed unknown",
    "speed-from-ripple": "speed from the pressure\u2019s own ripple",
    "near-relief-ceiling": "near the relief valve\u2019s ceiling",
    "pressure-held-by-a-computer": "a computer holds the pressure",
    "crankcase-hardly-moved": "the crankcase hardly moved",
    "crankcase-unmoved": "the crankcase did not move",
    "crankcase-not-measured": "crankcase not measured",
    "crankcase-of-a-sound-engine-unknown": "a sound engine\u2019s crankcase pressure is not stated",
    "one-condition-only": "one condition only",
    "barometer-unknown": "barometer unknown",
    "missing-samples": "samples missing",
    "drop-outs": "drop-outs",
    "cycles-left-out": "cycles left out",
    "pump-stage-between": "between the pump\u2019s stages",
    "instruments-disagree": "the instruments disagree",
    "calibration-unstated": "calibration not stated, 1 % of range taken",
    "zero-at-stop": "zero not used: it may rest on a stop",
    "oil-temperature-unknown": "oil temperature unknown",
    "few-cycles": "few cycles",
    "out-of-range": "outside the sensor\u2019s range",
    "at-stop": "at a stop",
    "interference": "interference",
    "speed-by-hand": "speed by hand",
    "speed-of-other-recording": "speed of other recording",
    "calibration-lack-of-fit": "calibration lack of fit",
}
CAUTION = "caution"
