"""Every fault of the jobs by another hand has the signature that the trade's table gives it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from validation.elsewhere.car import Car, draw_car
from validation.elsewhere.causes import catalogue
from validation.elsewhere.faults import Effect, one_effect
from validation.elsewhere.levels import Held, Level, level

DRAWS = 40

# Typed from the trade's table of signatures.  Pressures at hot idle, 2000 to 3000 rpm and cold;
# the crankcase; the trims at idle and 2500 of engines that meter air.
#   -  less than a sound engine shows     0  as a sound engine      +  more
#   -0 less or the same                   ?  the table says nothing, or "may"
# In the crankcase's column: P stands above the outside air, V at least 4 kPa below it, A at it.
SIGNS = {
    #                             idle  fast  cold  crank trim trim
    "oil-level-low": ("-0", "-", "0", "0", "?", "?"),
    "oil-aerated": ("-", "-", "0", "+", "-0", "-0"),
    "oil-thin": ("-", "-0", "0", "0", "?", "?"),
    "fuel-in-oil": ("-", "-0", "-", "0", "-0", "-0"),
    "pickup-restricted": ("0", "-", "-", "0", "?", "?"),
    "pickup-sucks-air": ("-", "-", "-", "0", "?", "?"),
    "filter-restricted": ("0", "-", "-", "0", "?", "?"),
    "relief-valve-open": ("-", "-", "-", "0", "?", "?"),
    "relief-valve-shut": ("+", "+", "+", "0", "?", "?"),
    "worn-pump": ("-", "-", "0", "0", "?", "?"),
    "pump-control-stuck": ("0", "-", "?", "0", "?", "?"),
    "worn-bearings": ("-", "-0", "0", "0", "?", "?"),
    "internal-leak": ("-", "-0", "-", "0", "?", "?"),
    "indication-fault": ("0", "0", "0", "0", "0", "0"),
    "ventilation-regulator-torn": ("-", "-0", "-0", "V", "+", "+"),
    "breather-blocked": ("+", "+", "?", "P", "-0", "-0"),
    "crankcase-open": ("0", "0", "?", "A", "+", "+"),
    "intake-leak": ("0", "0", "?", "0", "+", "+"),
    "worn-rings": ("-0", "-0", "-0", "P", "0", "0"),
    "nothing-wrong": ("0", "0", "0", "0", "0", "0"),
}
LITTLE_KPA = 0.5  # smallest change of a pressure that counts


@dataclass(frozen=True)
class Drawn:
    """One car with one fault, and the same car sound."""

    car: Car
    fault: Effect

    def pair(self, rpm: float, degc: float, kind: str = "hot") -> tuple[Level, Level]:
        held = Held("held", kind, ("nothing",), rpm, degc, 15.0)
        return level(self.car, Effect(), held), level(self.car, self.fault, held)

    def share(self, rpm: float, degc: float) -> float:
        sound, fault = self.pair(rpm, degc)
        return fault.gauge / sound.gauge

    def fast_rpm(self) -> float:
        return max(2600.0, self.car.switches_rpm[1] + 200.0 if self.car.two_stage else 0.0)


def draws(cause: str, severity: float | None = None) -> list[Drawn]:
    made = []
    for seed in range(DRAWS):
        rng = np.random.default_rng([7, seed, *cause.encode()])
        car = draw_car(rng, (cause,))
        size = float(rng.uniform()) if severity is None else severity
        made.append(Drawn(car, one_effect(rng, cause, size, car)))
    return made


def sign_holds(sign: str, change: float, little: float, same: float) -> bool:
    """Is a change of this sign?  `little` counts already, `same` still passes for none."""
    ways = {
        "-": change < -little,
        "+": change > little,
        "0": abs(change) <= same,
        "-0": change <= 0.1 * little,
        "?": True,
    }
    return ways[sign]


def pressures_hold(one: Drawn, signs: tuple[str, ...]) -> list[bool]:
    """By the gauge; for a crankcase under pressure "the same or less" is meant at the bearings."""
    flattered = signs[3] == "P" and signs[0] == "-0"
    states = ((one.car.idle_rpm, 92.0), (one.fast_rpm(), 95.0), (one.car.idle_rpm + 250.0, 25.0))
    found = []
    for sign, (rpm, degc) in zip(signs[:3], states, strict=True):
        sound, fault = one.pair(rpm, degc)
        change, same = fault.gauge - sound.gauge, 0.13 * sound.gauge
        change -= fault.crank - sound.crank if flattered else 0.0
        found.append(sign_holds(sign, change, LITTLE_KPA, same))
    return found


def crankcase_holds(one: Drawn, sign: str) -> bool:
    sound, fault = one.pair(one.car.idle_rpm, 92.0)
    absolute = {"P": fault.crank > 0.0, "V": fault.crank <= -4.0, "A": abs(fault.crank) <= 0.3}
    return absolute.get(sign, False) or (
        sign not in absolute and sign_holds(sign, fault.crank - sound.crank, 0.05, 0.01)
    )


def trims_hold(one: Drawn, signs: tuple[str, ...]) -> list[bool]:
    if one.car.metering != "air-mass":
        return [True, True]
    found = []
    for sign, rpm in zip(signs[4:], (one.car.idle_rpm, 2500.0), strict=True):
        sound, fault = one.pair(rpm, 92.0)
        found.append(sign_holds(sign, fault.trim - sound.trim, 0.3, 3.5))
    return found


def cells(one: Drawn, signs: tuple[str, ...]) -> list[bool]:
    crank = crankcase_holds(one, signs[3])
    return [*pressures_hold(one, signs), crank, *trims_hold(one, signs)]


@pytest.mark.slow
@pytest.mark.parametrize("cause", SIGNS)
def test_every_cell_has_the_sign_of_the_trades_table(cause: str) -> None:
    wrong = [one for one in draws(cause) if not all(cells(one, SIGNS[cause]))]
    assert not wrong, [cells(one, SIGNS[cause]) for one in wrong[:3]]


@pytest.mark.parametrize(
    ("cause", "taken_for"),
    [("worn-bearings", "filter-restricted"), ("breather-blocked", "ventilation-regulator-torn")],
)
def test_the_signs_of_another_row_do_not_pass(cause: str, taken_for: str) -> None:
    assert not any(all(cells(one, SIGNS[taken_for])) for one in draws(cause))


def test_the_table_of_signs_leaves_out_only_the_test_itself() -> None:
    assert set(catalogue()) - set(SIGNS) == {"test-fault"}


def test_a_torn_regulator_lowers_the_gauge_by_the_vacuum_and_no_more() -> None:
    for one in draws("ventilation-regulator-torn"):
        sound, torn = one.pair(one.car.idle_rpm, 92.0)
        assert torn.gauge - sound.gauge == pytest.approx(torn.crank - sound.crank, abs=0.01)


def test_a_restricted_pick_up_loses_more_than_the_vacuum() -> None:
    for one in draws("pickup-restricted"):
        found = one.pair(one.car.idle_rpm, 92.0)[1]
        freed = one.pair(one.car.idle_rpm, 92.0, "cap")[1]
        assert freed.gauge - found.gauge > freed.crank - found.crank


def test_an_open_relief_valve_holds_one_low_ceiling_cold_and_hot() -> None:
    for one in draws("relief-valve-open"):
        hot, quick = one.pair(one.car.idle_rpm, 92.0)[1], one.pair(3000.0, 92.0)[1]
        cold = one.pair(one.car.idle_rpm + 250.0, 25.0)[1]
        assert cold.gauge < 1.35 * hot.gauge
        assert quick.gauge < 1.45 * hot.gauge


def test_a_filter_costs_most_when_cold_and_little_at_hot_idle() -> None:
    for one in draws("filter-restricted"):
        states = ((one.car.idle_rpm, 92.0), (2600.0, 92.0), (one.car.idle_rpm + 250.0, 25.0))
        shares = [one.share(*at) for at in states]
        assert shares[2] < shares[0]
        assert shares[1] < shares[0]


def test_a_worn_pump_stays_low_where_worn_bearings_may_reach_the_relief_valve() -> None:
    pump, bearings = (
        np.mean([one.share(3000.0, 70.0) for one in draws(c)])
        for c in ("worn-pump", "worn-bearings")
    )
    assert pump < bearings - 0.05


def test_a_stuck_control_leaves_no_step_to_command() -> None:
    held = Held("valve", "valve", ("speed-raised", "valve-commanded"), 1500.0, 92.0, 15.0)
    for one in draws("pump-control-stuck", 1.0):
        low = one.pair(1500.0, 92.0)[0].gauge
        assert level(one.car, one.fault, held).gauge < low + 0.4 * (
            level(one.car, Effect(), held).gauge - low
        )


def test_plugging_the_vent_brings_a_torn_regulators_trims_down() -> None:
    for one in draws("ventilation-regulator-torn"):
        if one.car.metering == "air-mass":
            found = one.pair(one.car.idle_rpm, 92.0)[1]
            plugged = one.pair(one.car.idle_rpm, 92.0, "vent")[1]
            assert plugged.trim < found.trim - 5.0
            assert plugged.crank > found.crank + 2.0


def test_a_hole_in_the_intake_weighs_less_at_speed() -> None:
    for one in draws("intake-leak"):
        if one.car.metering == "air-mass":
            assert 0.0 < one.fault.trim_fast < 0.4 * one.fault.trim_idle


def test_rings_blow_more_at_speed() -> None:
    for one in draws("worn-rings"):
        idle, fast = one.pair(one.car.idle_rpm, 92.0)[1], one.pair(2500.0, 92.0)[1]
        assert fast.crank > idle.crank


def test_a_test_at_fault_differs_from_a_second_gauge_or_is_hotter_than_said() -> None:
    for one in draws("test-fault"):
        found = one.pair(one.car.idle_rpm, 92.0)[1]
        assert abs(found.gauge - found.true_gauge) > 8.0 or one.fault.hotter_k >= 12.0


def test_gross_is_further_from_sound_than_mild() -> None:
    for cause in ("oil-thin", "worn-pump", "relief-valve-open", "pickup-sucks-air"):
        lows = [
            np.mean([one.share(800.0, 92.0) for one in some])
            for some in (draws(cause, 0.0), draws(cause, 1.0))
        ]
        assert lows[1] < lows[0] - 0.1
