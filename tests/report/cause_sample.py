"""Invented causes, leaks and next tests over the invented jobs, from none to far too many."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from report_sample import findings, job, judged, outcome

from gaugewright.analysis.outcome import Outcome
from gaugewright.evidence.results import (
    CauseWeight,
    Findings,
    Hypothesis,
    Leak,
    NextTest,
    Predicted,
    Quantified,
    Severity,
    Split,
    Symptom,
)
from gaugewright.report import words

UNITS = {"engine-speed": "rpm", "fuel-trim": "%", "oil-temperature": "degC"}


def predicted(
    condition: str,
    quantity: str,
    reference: str | None,
    read: float,
    foretold: float,
    speaks: float,
    **changes: Any,
) -> Predicted:
    """One reading of ± 1 (speed ± 6) against a prediction of ± 4 (speed ± 40)."""
    own, theirs = (6.0, 40.0) if quantity == "engine-speed" else (1.0, 4.0)
    made = Predicted(
        visit="as found",
        condition=condition,
        quantity=quantity,
        reference=reference,
        unit=UNITS.get(quantity, "kPa"),
        read=read,
        read_low=read - own,
        read_high=read + own,
        predicted=foretold,
        predicted_low=foretold - theirs,
        predicted_high=foretold + theirs,
        pull=(read - foretold) / (0.51 * math.hypot(own, theirs)),
        speaks=speaks,
    )
    return replace(made, **changes)


def readings_against(shift: float, loud: float = 1.0) -> tuple[Predicted, ...]:
    """The van's readings against a cause that misses them by so much."""
    return (
        predicted("hot idle", "oil-pressure", "atmosphere", 95.0, 94.0 + shift, 0.5 * loud),
        predicted("hot idle", "oil-pressure", "crankcase", 84.0, 83.0 + shift, 0.05),
        predicted("hot idle", "crankcase-pressure", "atmosphere", 11.0, 10.2 - shift, 2.1 * loud),
        predicted("hot idle", "engine-speed", None, 823.4, 831.0, -0.02),
        predicted("hot idle", "fuel-trim", None, -3.4, -1.0 - shift, -0.8 * loud),
        predicted(
            "held at 2000", "oil-pressure", "atmosphere", 218.4, 221.0 + 2 * shift, -0.3 * loud
        ),
        predicted("held at 2000", "crankcase-pressure", "atmosphere", 17.6, 15.9 - shift, 0.9),
    )


BREATHER = CauseWeight(
    "breather-blocked",
    0.83,
    "likely",
    0.02,
    Severity("the way out narrowed to 1.8 mm", 1.8, 1.2, 2.5, "mm"),
    readings_against(0.0),
    (Symptom("oil-smell", "fuel", 0.4), Symptom("oil-level", "above maximum", -0.2)),
)
FUEL = CauseWeight(
    "fuel-in-oil",
    0.52,
    "possible",
    0.05,
    Severity("oil thinned to 7.1 cSt at 100 °C", 7.1, 5.9, 8.6, "cSt"),
    readings_against(6.0, 0.4),
    (Symptom("oil-smell", "fuel", 1.3), Symptom("oil-level", "above maximum", 1.1)),
)
RINGS = CauseWeight(
    "worn-rings",
    0.09,
    "not excluded",
    0.01,
    Severity("blow-by 4 times a sound engine's"),
    readings_against(-9.0, -0.7),
    (Symptom("smoke", "blue", -1.7),),
)
LESS = (
    CauseWeight("worn-bearings", 0.06, "not excluded", 0.08),
    CauseWeight("none-of-these", 0.04, "not excluded", 0.02),
    CauseWeight("nothing-wrong", 0.006, "hardly", 0.04),
    CauseWeight("oil-thin", 0.004, "hardly", 0.09),
    CauseWeight("test-fault", 0.003, "hardly", 0.03),
)
TOGETHER = (
    Hypothesis(("breather-blocked", "fuel-in-oil"), "unrelated", 0.46),
    Hypothesis(("breather-blocked",), "single", 0.34),
    Hypothesis(("worn-rings", "fuel-in-oil"), "consequence", 0.06),
    Hypothesis(("worn-bearings",), "single", 0.06),
    Hypothesis(("none-of-these",), "single", 0.04),
    Hypothesis(("worn-rings",), "single", 0.03),
    Hypothesis(("nothing-wrong",), "single", 0.006),
    Hypothesis(("oil-thin",), "single", 0.004),
)
LEAKS = (
    Leak(
        "outside air to crankcase",
        Quantified(3.14, "mm", 0.3),
        2.56,
        3.83,
        0.61,
        "as found",
        ("hot idle", "filler cap off"),
    ),
    Leak("manifold to crankcase", Quantified(1.2, "mm", 0.5), 0.4, 2.1, 0.61, "as found"),
)
TESTS = (
    NextTest(
        "ventilation-hose-off",
        0.83,
        5.0,
        41.0,
        "no tools",
        "Pull the breather hose off at the intake, hold the speed at 2000 rpm for 30 s, read the "
        "crankcase",
        (
            Split(
                "crankcase stays above +5 kPa",
                0.62,
                (CauseWeight("breather-blocked", 0.95), CauseWeight("worn-rings", 0.03)),
            ),
            Split(
                "crankcase falls to about 0 kPa",
                0.31,
                (CauseWeight("worn-rings", 0.48), CauseWeight("worn-bearings", 0.31)),
            ),
            Split("speed drops by 10 %", 0.07, (CauseWeight("none-of-these", 0.5),)),
        ),
        (
            "fans and belts start by themselves: keep hose and sleeves away",
            "exhaust: extraction on",
        ),
        ("the oil lamp is on with the engine running, or it knocks",),
    ),
    NextTest("oil-changed", 0.8, 45.0, how="Oil and filter, then the same test at 80 °C"),
    NextTest("leak-down", 0.44, 40.0, cautions=("the crankshaft turns under pressure",)),
    NextTest("snap", 0.11, 4.0),
)


def weighed(base: Outcome | None = None, **changes: Any) -> Outcome:
    """A job whose causes were weighed: one leading pair, and what follows from it."""
    made = base or outcome()
    parts = {
        "causes": (BREATHER, FUEL, RINGS, *LESS),
        "hypotheses": TOGETHER,
        "leaks": LEAKS,
        "next_tests": TESTS,
    }
    return replace(made, findings=replace(made.findings, **(parts | changes)))


def single() -> Outcome:
    """One cause alone leads, nothing else weighs, no test is worth its time."""
    lead = replace(BREATHER, probability=0.9964, symptoms=())
    return weighed(
        judged(95.0, 84.0),
        causes=(lead, CauseWeight("none-of-these", 0.0036, "hardly")),
        hypotheses=(Hypothesis(("breather-blocked",), "single", 0.9964),),
        leaks=(),
        next_tests=(),
        stop_rule="no test would change what to do: 96 % is reached",
    )


def many() -> Outcome:
    """Every cause weighs something, five of them lead, two visits, twenty readings."""
    names = list(words.CAUSE)
    conditions = ("hot idle", "filler cap off", "held at 2000", "held at 3000")
    readings = tuple(
        predicted(c, q, r, v * (1 + 0.9 * i), v * (1 + 0.9 * i) + 3.0, 0.3 * (-1) ** (i + j))
        for i, c in enumerate(conditions)
        for j, (q, r, v) in enumerate(
            (
                ("oil-pressure", "atmosphere", 95.0),
                ("oil-pressure", "crankcase", 91.0),
                ("crankcase-pressure", "atmosphere", 3.0),
                ("manifold-pressure", "vacuum", 31.0),
                ("air-flow", None, 2.4),
            )
        )
    )
    causes = tuple(
        CauseWeight(
            name,
            0.3 / (1 + i),
            "",
            severity=Severity("about a third more than nominal") if i % 3 else None,
            predicted=tuple(replace(p, predicted=p.predicted + i) for p in readings)
            if i < 5
            else (),
        )
        for i, name in enumerate(names)
    )
    tests = tuple(replace(TESTS[i % 3], minutes=5.0 + i) for i in range(9))
    return weighed(causes=causes, next_tests=tests)


def long_names() -> Outcome:
    """Names, severities, conditions and outcomes of hundreds of signs."""
    text = "a text that nobody would write but somebody will " * 5 + "x" * 120
    lead = replace(
        BREATHER,
        cause="crankcase-" * 9,
        severity=Severity(text),
        predicted=tuple(
            replace(p, condition=text, visit=f"{i} {text}")
            for i, p in enumerate(readings_against(0.0))
        ),
        symptoms=(Symptom("noise", text, 2.0), Symptom(text, "x" * 200, -9.0)),
    )
    test = replace(
        TESTS[0],
        test="y" * 150,
        how=text * 3,
        effort=text,
        cautions=(text, text),
        not_when=(text,),
        splits=tuple(replace(s, saw=text) for s in TESTS[0].splits),
    )
    return weighed(
        causes=(lead, replace(FUEL, cause="ventilation-regulator-torn"), RINGS),
        hypotheses=(Hypothesis(("crankcase-" * 9, "fuel-in-oil"), "consequence", 0.7),),
        leaks=(replace(LEAKS[0], path=text, visit=text, conditions=(text,) * 4),),
        next_tests=(test, test, test, test),
    )


def quiet_but_short() -> Outcome:
    """Nothing wrong leads, yet the gauge falls short and the bearings meet."""
    return weighed(
        judged(84.0, 95.0),
        causes=(
            CauseWeight("nothing-wrong", 0.71, "likely"),
            CauseWeight("indication-fault", 0.22, "possible"),
            CauseWeight("test-fault", 0.07, "not excluded"),
        ),
        hypotheses=(),
        leaks=(),
        next_tests=(),
    )


def lamp_on() -> Outcome:
    """The gauge meets its limit, the lamp comes on, the switch is blamed."""
    seen = [{"what": "lamp", "saw": "on at hot idle", "visit": "as found"}]
    base = judged(120.0, 118.0)
    base = replace(base, job=job(observation=seen, visit=[{"name": "as found"}], work=[]))
    return weighed(
        base,
        causes=(
            CauseWeight("indication-fault", 0.81, "likely"),
            CauseWeight("nothing-wrong", 0.12, "not excluded"),
        ),
        hypotheses=(),
        leaks=(),
    )


def one_sided() -> Outcome:
    """A reading known on one side only, and one without an interval."""
    sided = (
        predicted("hot idle", "oil-pressure", "atmosphere", 42.0, 30.0, 0.9, read_low=None),
        predicted("cold idle", "oil-pressure", "atmosphere", 400.0, 380.0, 0.2, read_high=None),
        predicted(
            "hot idle",
            "crankcase-pressure",
            "atmosphere",
            -2.0,
            -2.5,
            -0.4,
            read_low=None,
            read_high=None,
        ),
    )
    lead = replace(BREATHER, cause="worn-pump", predicted=sided, word="")
    return weighed(causes=(lead,), hypotheses=(), leaks=(), next_tests=())


def bare() -> Findings:
    """Findings without any cause."""
    return findings()


WEIGHED = {
    "weighed": weighed,
    "single": single,
    "many": many,
    "long_names": long_names,
    "quiet_but_short": quiet_but_short,
    "lamp_on": lamp_on,
    "one_sided": one_sided,
}
