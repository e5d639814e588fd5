"""An invented job and its outcome, and harder ones made from it, for trying the pages."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np

from gaugewright.analysis.outcome import (
    FileNote,
    InstrumentNote,
    Lane,
    Outcome,
    Picture,
    Stretch,
)
from gaugewright.evidence.results import (
    Caveat,
    Effect,
    Findings,
    LimitCheck,
    Match,
    Quantified,
    Reading,
    ReferenceCheck,
    SwitchCheck,
)
from gaugewright.job.model import Job
from gaugewright.quantities.physical import Physical
from gaugewright.report.preferences import Preferences

PRINTED = dt.date(2031, 3, 6)
SHOP = "Workshop at the Mill\n3 Mill Lane, Riverside\n555 0147"


def preferences(**changes: Any) -> Preferences:
    return replace(Preferences(printed=PRINTED, workshop=SHOP), **changes)


def p(text: str, si: float) -> Physical:
    return Physical(text, si)


VISITS = (
    ("as found", dt.datetime(2031, 3, 4, 9, 30), "148200 km", ""),
    ("breather cleared", dt.datetime(2031, 3, 4, 14, 10), "148201 km", "breather hose cleared"),
    ("oil changed", dt.datetime(2031, 3, 5, 8, 50), "148204 km", "oil and filter changed, 5W-30"),
)
TRUTH = ((95.0, 84.0, 11.0), (82.0, 84.0, -2.0), (103.0, 105.0, -2.0))


def recording(visit: str) -> dict[str, Any]:
    def held(name: str, start: float, end: float, *did: str) -> dict[str, Any]:
        return {
            "name": name,
            "from": p(f"{start} s", start),
            "to": p(f"{end} s", end),
            "did": did or ("nothing",),
        }

    return {
        "name": f"{visit}, engine",
        "file": f"recordings/{visit.replace(' ', '-')}.csv",
        "visit": visit,
        "condition": (
            held("hot idle", 8, 46),
            held("filler cap off", 54, 86, "filler-cap-off"),
            held("held at 2000", 96, 122, "speed-raised"),
        ),
    }


def content() -> dict[str, Any]:
    return {
        "format": 1,
        "title": "Tick at hot idle",
        "vehicle": {
            "name": "light van, the baker\u2019s",
            "cylinders": 4,
            "cycle": "four-stroke",
            "oil_grade": "5W-30",
            "displacement": p("2.0 L", 0.002),
            "fuel": "petrol",
        },
        "complaint": {
            "text": "It ticks when it is hot and stands at the lights, and it leaves drops of "
            "oil in the yard. The oil lamp has never come on."
        },
        "place": {"barometer": p("97.6 kPa", 97600.0)},
        "visit": [
            {"name": n, "date": d, "odometer": p(o, float(o.split()[0])), "work": w}
            for n, d, o, w in VISITS
        ],
        "observation": [
            {
                "visit": "as found",
                "what": "oil-level",
                "saw": "above maximum",
                "note": "read before anything was topped up or drained",
            },
            {"visit": "as found", "what": "oil-smell", "saw": "fuel"},
            {"visit": "as found", "what": "lamp", "saw": "never on"},
        ],
        "limit": [
            {
                "name": "hot idle",
                "quantity": "oil-pressure",
                "min": p("0.9 bar", 90000.0),
                "max": p("3.5 bar", 350000.0),
                "speed": p("820 rpm", 820.0),
                "oil_temperature": p("80 degC", 80.0),
                "printed": "0.9 bar / 13 psi",
                "source": "workshop manual, lubrication",
            },
            {
                "name": "at 2000 rpm",
                "quantity": "oil-pressure",
                "min": p("1.8 bar", 180000.0),
                "max": p("4.5 bar", 450000.0),
                "speed": p("2000 rpm", 2000.0),
                "oil_temperature": p("80 degC", 80.0),
                "source": "workshop manual, lubrication",
            },
            {
                "name": "crankcase at idle",
                "quantity": "crankcase-pressure",
                "min": p("-4 kPa", -4000.0),
                "max": p("1 kPa", 1000.0),
                "speed": p("820 rpm", 820.0),
                "source": "workshop manual, crankcase ventilation",
            },
        ],
        "switch": [{"name": "oil lamp", "closes_below": p("0.35 bar", 35000.0)}],
        "recording": [recording(name) for name, *_ in VISITS],
        "work": [
            {
                "visit": "as found",
                "text": "clear the breather, then measure again",
                "state": "agreed",
            },
            {"visit": "breather cleared", "text": "breather hose cleared", "state": "done"},
            {"visit": "oil changed", "text": "oil and filter changed, 5W-30", "state": "done"},
            {
                "visit": "oil changed",
                "text": "crankshaft seals: look again in 1000 km",
                "state": "advised",
            },
        ],
    }


def job(**changes: Any) -> Job:
    return Job.model_validate(content() | changes)


def reading(
    visit: str, condition: str, quantity: str, value: float, u: float, **changes: Any
) -> Reading:
    unit = {"engine-speed": "rpm", "oil-temperature": "degC"}.get(quantity, "kPa")
    speed = 2003.0 if "2000" in condition else 823.0
    pressure = quantity.endswith("-pressure")
    made = Reading(
        visit=visit,
        condition=condition,
        quantity=quantity,
        reference="atmosphere" if pressure else None,
        signals=(f"{visit}, engine/{quantity}",),
        unit=unit,
        value=value,
        standard_uncertainty=u,
        dof=None,
        low=value - 1.96 * u,
        high=value + 1.96 * u,
        bound=None,
        cycles=243,
        speed=Quantified(speed, "rpm"),
        oil_temperature=Quantified(81.0, "degC", 1.0),
        behaviour="hunting" if "idle" in condition else "steady",
        flags=(),
    )
    return replace(made, **changes)


def readings_of(visit: str, gauge: float, bearings: float, crankcase: float) -> list[Reading]:
    made = []
    for name, g, c in (
        ("hot idle", gauge, crankcase),
        ("filler cap off", gauge - crankcase * 0.97, 0.2),
        ("held at 2000", gauge + 123.4, crankcase * 1.6),
    ):
        made += [
            reading(visit, name, "oil-pressure", g, 0.9),
            reading(visit, name, "oil-pressure", g - c, 0.95, reference="crankcase"),
            reading(visit, name, "crankcase-pressure", c, 0.12),
            reading(visit, name, "engine-speed", 2003.0 if "2000" in name else 823.4, 1.2),
            reading(visit, name, "oil-temperature", 81.0, 1.0),
        ]
    del bearings
    return made


def check(
    visit: str | None,
    seen_by: str,
    value: float | None,
    verdict: str,
    chance: float | None,
    **changes: Any,
) -> LimitCheck:
    made = LimitCheck(
        limit="hot idle",
        quantity="oil-pressure",
        seen_by=seen_by,
        condition="hot idle",
        at={"engine-speed": Quantified(820.0, "rpm"), "oil-temperature": Quantified(80.0, "degC")},
        limit_value={"min": 90.0, "max": 350.0},
        unit="kPa",
        value=value,
        standard_uncertainty=None if value is None else 1.1,
        guard_band=None if value is None else 1.8,
        probability_of_meeting=chance,
        verdict=verdict,
        visit=visit,
    )
    return replace(made, **changes)


def verdict_of(value: float, low: float, high: float, u: float = 1.1) -> tuple[str, float]:
    if abs(value - low) < 1.645 * u:
        return "too close to call", 0.6
    if value < low:
        return "falls short", 0.001
    return ("exceeds", 0.0004) if value > high else ("meets", 0.9998)


def checks_of(visit: str, gauge: float, bearings: float, crankcase: float) -> list[LimitCheck]:
    made = [
        check(visit, "gauge", gauge, *verdict_of(gauge, 90.0, 350.0)),
        check(visit, "bearings", bearings, *verdict_of(bearings, 90.0, 350.0)),
    ]
    at_2000 = {
        "limit": "at 2000 rpm",
        "condition": "held at 2000",
        "limit_value": {"min": 180.0, "max": 450.0},
        "at": {"engine-speed": Quantified(2000.0, "rpm")},
    }
    for seen_by, value in (("gauge", gauge + 123.4), ("bearings", bearings + 118.0)):
        made.append(check(visit, seen_by, value, *verdict_of(value, 180.0, 450.0), **at_2000))
    made.append(
        check(
            visit,
            "gauge",
            crankcase,
            *verdict_of(crankcase, -4.0, 1.0, 0.1),
            limit="crankcase at idle",
            quantity="crankcase-pressure",
            limit_value={"min": -4.0, "max": 1.0},
            standard_uncertainty=0.12,
            guard_band=0.2,
        )
    )
    return made


def lane(
    label: str, quantity: str, unit: str, levels: tuple[float, ...], noise: float, seed: int
) -> Lane:
    rng = np.random.default_rng(seed)
    t = np.linspace(0.0625, 149.9375, 1200)
    knots = [0, 48, 51, 88, 94, 123, 128, 150]
    a, b, c = levels
    course = np.interp(t, knots, [a, a, b, b, c, c, a, a])
    course = course + noise * np.sin(t / 2.1) + noise * 0.3 * rng.standard_normal(t.size)
    spread = noise * (1.4 + 0.2 * rng.random(t.size))
    mean = course.copy()
    if quantity == "crankcase-pressure":
        mean[700:712] = np.nan
    reference = "atmosphere" if quantity.endswith("-pressure") else None
    low, high = mean - spread, mean + spread
    return Lane(label, quantity, reference, unit, t, low, mean, high)


def picture(visit: str, gauge: float, crankcase: float) -> Picture:
    name = f"{visit}, engine"
    cap = gauge - crankcase * 0.97
    lanes = (
        lane(f"{name}/oil-pressure", "oil-pressure", "kPa", (gauge, cap, gauge + 123.4), 1.1, 1),
        lane(
            f"{name}/crankcase-pressure",
            "crankcase-pressure",
            "kPa",
            (crankcase, 0.2, crankcase * 1.6),
            0.25,
            2,
        ),
        lane(f"{name}/engine-speed", "engine-speed", "rpm", (823.4, 821.0, 2003.0), 6.0, 3),
        lane(f"{name}/oil-temperature", "oil-temperature", "degC", (80.9, 81.0, 81.1), 0.05, 4),
    )
    stretches = (
        Stretch("hot idle", ("nothing",), 8.0, 46.0, ((8.0, 9.2),)),
        Stretch("filler cap off", ("filler-cap-off",), 54.0, 86.0, ((54.0, 55.6),)),
        Stretch("held at 2000", ("speed-raised",), 96.0, 122.0, ((96.0, 97.8),)),
    )
    return Picture(name, visit, 0.0, 150.0, lanes, stretches)


def matches_of(visit: str, gauge: float, crankcase: float) -> list[Match]:
    at = {"engine-speed": Quantified(822.0, "rpm")}
    made = []
    for quantity, reference, difference, u in (
        ("oil-pressure", "atmosphere", -crankcase * 0.97, 0.35),
        ("crankcase-pressure", "atmosphere", 0.2 - crankcase, 0.1),
        ("oil-pressure", "crankcase", 0.1, 0.37),
    ):
        made.append(
            Match(
                visit,
                quantity,
                reference,
                "hot idle",
                "filler cap off",
                at,
                False,
                "kPa",
                difference,
                u,
                difference - 1.96 * u,
                difference + 1.96 * u,
            )
        )
    del gauge
    return made


def findings(**changes: Any) -> Findings:
    readings, checks, matches, slopes, lamps = [], [], [], [], []
    for (visit, *_), (gauge, bearings, crankcase) in zip(VISITS, TRUTH, strict=True):
        readings += readings_of(visit, gauge, bearings, crankcase)
        checks += checks_of(visit, gauge, bearings, crankcase)
        matches += matches_of(visit, gauge, crankcase)
        slopes.append(
            ReferenceCheck(
                visit,
                0.97,
                0.035,
                0.90,
                1.04,
                "follows the crankcase",
                Effect(crankcase, crankcase - 0.24, crankcase + 0.24, "kPa"),
                "nothing",
                ("hot idle", "filler cap off"),
            )
        )
        lamps.append(SwitchCheck("oil lamp", "hot idle", 0.0, 0.0, 0.0, "no", visit))
    across = replace(
        matches[0],
        visit="oil changed",
        from_="hot idle",
        to="hot idle",
        difference=8.1,
        low=6.9,
        high=9.3,
        from_visit="as found",
    )
    made = Findings(
        format=1,
        job="Tick at hot idle",
        readings=tuple(readings),
        matches=(*matches, across),
        reference_checks=tuple(slopes),
        limit_checks=tuple(checks),
        switch_checks=tuple(lamps),
        warnings=(
            Caveat(
                "pulses-repaired",
                "3 of 1320 ignition pulses were put back by the rhythm",
                "as found, engine/spark_v",
            ),
        ),
    )
    return replace(made, **changes)


def outcome(**changes: Any) -> Outcome:
    made = Outcome(
        job=job(),
        findings=findings(),
        pictures=tuple(
            picture(visit, gauge, crankcase)
            for (visit, *_), (gauge, _, crankcase) in zip(VISITS, TRUTH, strict=True)
        ),
        instruments=(
            InstrumentNote(
                "oil transducer",
                "oil-pressure",
                "outside air",
                "5 points beside a hand gauge",
                "0.9 kPa at 95 kPa",
                "engine off, 0.2 kPa",
            ),
            InstrumentNote(
                "crankcase transducer",
                "crankcase-pressure",
                "vacuum",
                "7 points with a hand pump",
                "0.12 kPa at +11 kPa",
                "engine off, 97.6 kPa",
            ),
            InstrumentNote(
                "ignition clamp", "ignition", "\u2013", "one pulse in two turns", "", ""
            ),
        ),
        files=tuple(
            FileNote(
                f"{visit}, engine",
                f"recordings/{visit.replace(' ', '-')}.csv",
                "5f1c90ab" * 8,
                3_000_000,
                20_000.0,
                ("delimiter semicolon", "decimal comma"),
                ("12 samples missing",),
            )
            for visit, *_ in VISITS
        ),
        method="Cycle means by least squares; intervals by JCGM 100; verdicts by JCGM 106.",
    )
    return replace(made, **changes)


# Harder ones --------------------------------------------------------------------------

LONG = (
    "Since the winter it ticks at the lights once it is warm, and my brother-in-law, who had the "
    "same van, says it was the lifters, but the last workshop said it was the pump and wanted to "
    "change it without measuring anything. It smells of petrol, it leaves drops in the yard, and "
    "the oil lamp has never come on, not even on the long hill, and 100 % of the time it starts. "
)


def no_limits() -> Outcome:
    return outcome(job=job(limit=[]), findings=findings(limit_checks=()))


def hand_only() -> Outcome:
    hand = reading(
        "only",
        "idle",
        "oil-pressure",
        62.05,
        3.4,
        signals=(),
        cycles=None,
        speed=None,
        oil_temperature=None,
        behaviour=None,
    )
    entry = {
        "quantity": "oil-pressure",
        "value": p("9 psi", 62052.8),
        "condition": "idle",
        "visit": "only",
    }
    made = job(
        visit=[{"name": "only"}],
        limit=[],
        recording=[],
        observation=[],
        work=[],
        switch=[],
        reading=[entry],
        complaint={"text": ""},
    )
    bare = Findings(format=1, job="Tick at hot idle", readings=(hand,))
    return Outcome(made, bare, (), (), (), "By hand.")


def nothing_read() -> Outcome:
    made = hand_only()
    return replace(made, findings=Findings(format=1, job="Tick at hot idle"))


def judged(gauge: float, bearings: float | None, **changes: Any) -> Outcome:
    """One visit with this gauge and bearings pressure against 90 to 350 kPa."""
    crankcase = 0.0 if bearings is None else gauge - bearings
    readings = readings_of("as found", gauge, bearings or 0.0, crankcase)
    checks = checks_of("as found", gauge, bearings or 0.0, crankcase)
    if bearings is None:
        readings = [
            r for r in readings if r.quantity == "oil-pressure" and r.reference != "crankcase"
        ]
        checks = [c for c in checks if c.seen_by == "gauge" and c.quantity == "oil-pressure"]
    whole = outcome()
    keep = {"limit": content()["limit"][:1]}
    made = job(
        visit=[{"name": "as found", "date": dt.date(2031, 3, 4)}],
        recording=[recording("as found")],
        work=[],
        **keep,
    )
    kept = tuple(c for c in checks if c.limit == "hot idle")
    return replace(
        whole,
        job=made,
        findings=replace(
            findings(matches=(), reference_checks=(), switch_checks=()),
            readings=tuple(readings),
            limit_checks=kept,
        ),
        pictures=(picture("as found", gauge, crankcase),),
        **changes,
    )


def bounded() -> Outcome:
    """A reading at a stop: at most 42 kPa, and so below 90 whatever it was."""
    made = judged(42.0, None)
    bound = tuple(
        replace(r, bound="at most", low=None, flags=("at-stop",))
        if r.condition == "hot idle"
        else r
        for r in made.findings.readings
    )
    checks = (
        check(
            "as found",
            "gauge",
            42.0,
            "falls short",
            None,
            probability_low=0.0,
            probability_high=0.0002,
        ),
    )
    return replace(made, findings=replace(made.findings, readings=bound, limit_checks=checks))


def disagreeing() -> Outcome:
    made = judged(95.0, None)
    checks = (
        check(
            "as found", "gauge", 95.0, "too close to call", None, flags=("instruments-disagree",)
        ),
    )
    second = replace(
        made.findings.readings[0],
        signals=("dial gauge",),
        value=71.0,
        low=66.0,
        high=76.0,
        cycles=None,
        flags=("instruments-disagree",),
    )
    readings = (*made.findings.readings, second)
    return replace(made, findings=replace(made.findings, readings=readings, limit_checks=checks))


def unmeasured() -> Outcome:
    made = judged(95.0, 84.0)
    check_ = check(None, "gauge", None, "not measured", None, condition=None, at={})
    return replace(made, findings=replace(made.findings, limit_checks=(check_,)))


def many_conditions() -> Outcome:
    names = [
        f"step {i + 1}, {['idle', 'cap off', 'fresh-air side blocked'][i % 3]}" for i in range(12)
    ]
    made = judged(95.0, 84.0)
    held = [
        {
            "name": n,
            "from": p(f"{8 + 11 * i} s", 8.0 + 11 * i),
            "to": p(f"{16 + 11 * i} s", 16.0 + 11 * i),
        }
        for i, n in enumerate(names)
    ]
    readings = tuple(
        replace(r, condition=name, flags=("few-cycles",) if i % 5 == 0 else ())
        for i, name in enumerate(names)
        for r in made.findings.readings[:5]
    )
    stretches = tuple(
        Stretch(n, ("nothing",), 8.0 + 11 * i, 16.0 + 11 * i, ((8.0 + 11 * i, 9.0 + 11 * i),))
        for i, n in enumerate(names)
    )
    return replace(
        made,
        job=job(
            recording=[recording("as found") | {"condition": held}],
            visit=[{"name": "as found", "date": dt.date(2031, 3, 4)}],
        ),
        findings=replace(made.findings, readings=readings),
        pictures=(replace(made.pictures[0], stretches=stretches),),
    )


def five_visits(text: str = "") -> Outcome:
    """Five visits, many limits and, where asked, long texts everywhere."""
    names = [f"visit {i + 1}" for i in range(5)]
    truth = [
        (95.0, 84.0, 11.0),
        (82.0, 84.0, -2.0),
        (88.0, 90.0, -2.0),
        (91.0, 93.0, -2.0),
        (103.0, 105.0, -2.0),
    ]
    readings, checks = [], []
    for name, (gauge, bearings, crankcase) in zip(names, truth, strict=True):
        readings += readings_of(name, gauge, bearings, crankcase)
        checks += checks_of(name, gauge, bearings, crankcase)
    base = content()
    extra = [dict(base["limit"][1], name=f"limit number {i + 4} of the manual") for i in range(7)]
    more = [
        replace(c, limit=f"limit number {i + 4} of the manual", visit=names[-1])
        for i in range(7)
        for c in checks[2:4]
    ]
    work = [
        {
            "visit": names[i % 5],
            "text": f"{text[:300]} piece of work {i + 1}".strip(),
            "state": state,
        }
        for i, state in enumerate(["done", "advised", "agreed", "declined"] * 4)
    ]
    made = job(
        visit=[
            {"name": n, "date": dt.date(2031, 3, 4 + i), "work": f"{text[:200]} work before {n}"}
            for i, n in enumerate(names)
        ],
        limit=[*base["limit"], *extra],
        recording=[recording(n) for n in names],
        work=work,
        complaint={"text": text * 5 or "It ticks."},
        observation=[],
    )
    return replace(
        outcome(),
        job=made,
        findings=replace(
            findings(matches=(), reference_checks=(), switch_checks=()),
            readings=tuple(readings),
            limit_checks=(*checks, *more),
        ),
        pictures=tuple(picture(n, t[0], t[2]) for n, t in zip(names, truth, strict=True)),
    )


def unbroken() -> Outcome:
    return five_visits("w" * 900 + " #x *y* $z$ <a> \\ @b `c` \u4e2d\u6587 \U0001f527 {page} ")


def extreme() -> Outcome:
    """Names of hundreds of signs wherever a name may stand."""
    name = "a name that nobody would give but somebody will " * 7 + "x" * 300
    made = five_visits(LONG)
    renamed = {visit.name: f"{i} {name}" for i, visit in enumerate(made.job.visits)}
    whole = content()
    limits = [dict(limit, name=f"{i} {name}") for i, limit in enumerate(whole["limit"])]
    limit_names = {
        old["name"]: new["name"] for old, new in zip(whole["limit"], limits, strict=True)
    }
    checks = tuple(
        replace(c, limit=limit_names[c.limit], visit=renamed[c.visit or ""])
        for c in made.findings.limit_checks
        if c.limit in limit_names
    )
    readings = tuple(replace(r, visit=renamed[r.visit]) for r in made.findings.readings)
    job_ = job(
        title=name,
        vehicle={"name": name, "cylinders": 4, "cycle": "four-stroke"},
        visit=[{"name": new} for new in renamed.values()],
        limit=limits,
        recording=[recording(old) | {"visit": new} for old, new in renamed.items()],
        complaint={"text": name * 4, "codes": ["P0171"] * 40},
        observation=[{"what": "lamp", "saw": "on at hot idle", "visit": renamed["visit 5"]}],
        work=[{"text": name, "state": "advised", "visit": renamed["visit 1"]}] * 9,
    )
    pictures = tuple(replace(p, visit=renamed[p.visit], recording=name) for p in made.pictures)
    findings_ = replace(made.findings, limit_checks=checks, readings=readings)
    return replace(made, job=job_, findings=findings_, pictures=pictures, method=name)


VARIANTS = {
    "extreme": extreme,
    "van": outcome,
    "no_limits": no_limits,
    "hand_only": hand_only,
    "nothing_read": nothing_read,
    "gauge_short_bearings_meet": lambda: judged(84.0, 95.0),
    "both_short": lambda: judged(70.0, 68.0),
    "hidden": lambda: judged(95.0, 84.0),
    "too_close": lambda: judged(90.4, 90.2),
    "exceeds": lambda: judged(402.0, 400.0),
    "gauge_only": lambda: judged(120.0, None),
    "bounded": bounded,
    "disagreeing": disagreeing,
    "unmeasured": unmeasured,
    "many_conditions": many_conditions,
    "five_visits": five_visits,
    "long": lambda: five_visits(LONG),
    "unbroken": unbroken,
}
