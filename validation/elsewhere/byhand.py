"""Readings taken by hand, and the gauges they were taken with."""

from __future__ import annotations

from validation.elsewhere.bench import HandGauge, hand_gauge
from validation.elsewhere.case import Case
from validation.elsewhere.levels import Held
from validation.elsewhere.session import long_trim
from validation.elsewhere.tables import Rng
from validation.elsewhere.told import Table, stated_oil_degc

QUANTITY = {
    "oil": "oil-pressure",
    "second": "oil-pressure",
    "crank": "crankcase-pressure",
    "manifold": "manifold-pressure",
    "air": "air-flow",
}
FIELD = {
    "oil": "gauge",
    "second": "true_gauge",
    "crank": "crank",
    "manifold": "manifold",
    "trims": "trim",
    "air": "air",
}
OIL_DEGC_SD = 1.5


def by_hand(rng: Rng, case: Case) -> tuple[list[Table], list[Table]]:
    """All hand readings of the job, and the instruments they name."""
    gauges = {what: hand_gauge(rng, what) for what in ways(case)}
    readings: list[Table] = []
    for held in case.stretches:
        for what, gauge in gauges.items():
            if read_in(case, what, held):
                readings += _readings(rng, case, held, what, gauge)
        readings += _oil_degc(rng, case, held)
    named = {row.get("instrument") for row in readings}
    return readings, [_instrument(gauge) for gauge in gauges.values() if gauge.name in named]


def ways(case: Case) -> tuple[str, ...]:
    """What this job reads by hand."""
    plan = case.plan
    each = {"oil": plan.oil, "crank": plan.crank, "manifold": plan.manifold}
    each |= {"trims": plan.trims, "air": plan.air}
    known = [what for what, way in each.items() if way == "hand"]
    return (*known, "second") if plan.second_gauge else tuple(known)


def read_in(case: Case, what: str, held: Held) -> bool:
    """Is this read by hand in this stretch?  A course or a stopped engine is not."""
    if held.kind in ("off", "vent"):
        return False
    if what == "second":
        return held.kind == "hot" or (held.kind == "fast" and case.plan.richness > 0.6)
    return not (what in ("trims", "air", "manifold") and held.kind == "cold")


def _readings(rng: Rng, case: Case, held: Held, what: str, gauge: HandGauge) -> list[Table]:
    """One reading, or two for the trims: the long one is what it was as found."""
    true = float(getattr(case.level(held), FIELD[what]))
    if what != "trims":
        return [_reading(rng, case, held, what, gauge, QUANTITY[what], true)]
    long = long_trim(case)
    return [
        _reading(rng, case, held, what, gauge, "fuel-trim-short", true - long),
        _reading(rng, case, held, what, gauge, "fuel-trim-long", long),
    ]


def _reading(
    rng: Rng,
    case: Case,
    held: Held,
    what: str,
    gauge: HandGauge,
    quantity: str,
    true: float,
) -> Table:
    value, reading_off = gauge.read(rng, true)
    row: Table = {
        "quantity": quantity,
        "value": f"{value:.5g} {gauge.unit}",
        "uncertainty": f"{reading_off:g} {gauge.unit}",
        "instrument": gauge.name,
        "condition": held.name,
    }
    if what == "manifold":
        row["reference"] = "vacuum"
    if case.plan.by_hand:
        row["speed"] = f"{10.0 * round(held.rpm / 10.0):.0f} rpm"
        if case.plan.oil_degc == "hand" or held.kind == "cold":
            row["oil_temperature"] = f"{_noted(rng, case, held):.0f} degC"
    return row


def _noted(rng: Rng, case: Case, held: Held) -> float:
    return stated_oil_degc(case, held) + float(rng.normal(0.0, OIL_DEGC_SD))


def _oil_degc(rng: Rng, case: Case, held: Held) -> list[Table]:
    """Oil temperature from a thermometer; of a cold engine it is known in every job."""
    way = case.plan.oil_degc
    if case.plan.by_hand or held.kind == "off" or way == "column":
        return []
    if way != "hand" and held.kind != "cold":
        return []
    value = f"{_noted(rng, case, held):.0f} degC"
    row = {"quantity": "oil-temperature", "value": value, "uncertainty": "2 K"}
    return [row | {"condition": held.name}]


def _instrument(gauge: HandGauge) -> Table:
    return {"name": gauge.name, "accuracy": f"{gauge.accuracy:g} {gauge.unit}"}
