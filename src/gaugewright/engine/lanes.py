"""The lanes of a run: what a perfect instrument at each place would show, sample by sample."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from gaugewright.engine import crank_wheel, crankshaft, cylinder_trace, ignition, ripple
from gaugewright.engine.scene import Scene
from gaugewright.physics.gas_flow import AIR_GAS_CONSTANT
from gaugewright.physics.numbers import Floats

METER_PULSE = 0.05
"""How much of the manifold's pulsing an air meter shows, as a share of its flow for the whole
manifold pressure (judgement)."""
FORCED_S = 1.5
"""How long a bad contact keeps the lamp the way it is, about (judgement)."""
PLAY_PA = 2000.0
"""A pressure switch's own play (judgement)."""
CHARGES_AFTER_S = 1.0

Maker = Callable[[Scene], Floats]


def oil_over_crankcase_pa(scene: Scene) -> Floats:
    """Gallery over the crankcase: what the bearings feel."""
    times, found = scene.history["time_s"], scene.oil
    pressure = np.interp(scene.time_s, times, found.gallery_pa)
    air = np.interp(scene.time_s, times, found.air_share)
    turning = np.minimum(scene.slow("speed_rads") / 60.0, 1.0)
    unrest = ripple.oil_unrest(scene.time_s, air, scene.random(1))
    return pressure * (1.0 + turning * (ripple.oil_ripple(scene.build, scene.cycles) + unrest))


def oil_gauge_pa(scene: Scene) -> Floats:
    """Gallery over the outside air: what gauge and switch feel."""
    outside = float(scene.engine.air.barometer_pa)
    return oil_over_crankcase_pa(scene) + crankcase_pa(scene) - outside


def crankcase_pa(scene: Scene) -> Floats:
    """Crankcase, absolute, as it reaches the dipstick tube."""
    case, air = scene.engine.crankcase, scene.engine.air
    slow = scene.slow("crankcase_pa")
    swept = float(air.displacement_m3) / scene.build.cylinders
    under = ripple.piston_table(scene.build, float(air.compression_ratio))
    # Pistons that come down squeeze the gas below them.
    squeezed = (
        ripple.looked_up(under, scene.along) * (-ripple.STIFF * swept) / float(case.volume_m3)
    )
    each = scene.history["blow_by_kg_s"] * scene.interval_s * _rings(scene)
    rise = each * (AIR_GAS_CONSTANT * float(case.gas_k) / float(case.volume_m3))
    rings = scene.stepped(rise) * ripple.looked_up(
        ripple.ring_table(scene.build.cylinders), scene.along
    )
    turning = np.minimum(scene.slow("speed_rads") / 40.0, 1.0)
    return slow + ripple.HEARD * turning * slow * squeezed + rings


def _rings(scene: Scene) -> Floats:
    """(k,) the blow-by's factor of the cylinder that fires in each step."""
    uneven = scene.fixed.uneven
    if not uneven.rings:
        return np.ones(len(scene.history["turned"]))
    return np.array([uneven.rings_of(int(n)) for n in scene.history["turned"]])


def manifold_pa(scene: Scene) -> Floats:
    """Manifold, absolute, drawn down by every intake stroke."""
    return scene.slow("manifold_pa") + _manifold_pulse_pa(scene)


def _manifold_pulse_pa(scene: Scene) -> Floats:
    air = scene.engine.air
    drawn = scene.history["cylinders_kg_s"] * scene.interval_s
    drop = drawn * (AIR_GAS_CONSTANT * float(air.charge_k) / float(air.manifold_m3))
    table = ripple.manifold_table(scene.build.cylinders)
    falls = np.interp(scene.time_s, scene.history["time_s"], drop)
    return falls * ripple.looked_up(table, scene.along)


def air_kg_s(scene: Scene) -> Floats:
    """What passes the air meter."""
    pulse = _manifold_pulse_pa(scene) / scene.slow("manifold_pa")
    return scene.slow("metered_kg_s") * (1.0 - METER_PULSE * pulse)


def cylinder(place: int) -> Maker:
    """The lane of the cylinder at this place of the firing order: pressure, absolute."""

    def made(scene: Scene) -> Floats:
        found = cylinder_trace.pressure(
            scene.cycles, place, scene.build.cylinders, scene.shapes, scene.charges
        )
        outside = float(scene.engine.air.barometer_pa)
        return outside + (found - outside) * scene.tight

    return made


def ignition_v(scene: Scene) -> Floats:
    """The ignition pick-up."""
    pick_up, rng = scene.fitted.pick_up, scene.random(2)
    heard = ignition.sparks(scene.build, scene.turning, pick_up, rng)
    lit = np.interp(heard.at_s, scene.history["time_s"], scene.history["ignition"]) > 0.5
    sounding = ignition.Sparks(heard.at_s, np.where(lit, heard.heights_v, 0.0))
    return ignition.pick_up_volts(scene.time_s, sounding, pick_up)


def crank_v(scene: Scene) -> Floats:
    """The pick-up at the crank's wheel."""
    return crank_wheel.wheel_volts(scene.fitted.crank, scene.cycles, speed_rpm(scene))


def cam_v(scene: Scene) -> Floats:
    """The pick-up at the camshaft's wheel."""
    return crank_wheel.wheel_volts(scene.fitted.cam, scene.cycles, speed_rpm(scene))


def speed_rpm(scene: Scene) -> Floats:
    """Speed of the crank at the instant."""
    return scene.turning.speed(scene.time_s)


def oil_degc(scene: Scene) -> Floats:
    """Oil in the gallery."""
    return scene.slow("oil_degc")


def coolant_degc(scene: Scene) -> Floats:
    """Coolant where it leaves the engine."""
    return scene.slow("coolant_degc")


def trim_short(scene: Scene) -> Floats:
    """Short fuel trim, a share; NaN where the engine has none to read."""
    return _trim(scene, "trim_short")


def trim_long(scene: Scene) -> Floats:
    """Long fuel trim, a share; NaN where the engine has none to read."""
    return _trim(scene, "trim_long")


def _trim(scene: Scene, name: str) -> Floats:
    if scene.build.metering == "none":
        return np.full(len(scene.time_s), np.nan)
    return scene.stepped(scene.history[name])


def starter_a(scene: Scene) -> Floats:
    """Current of the starter."""
    torque = np.full(len(scene.time_s), -1.0)
    for row, crank in scene.history.cranked.items():
        begin = scene.history["time_s"][row]
        low, high = np.searchsorted(scene.time_s, [begin, begin + crank.seconds])
        torque[low:high] = np.interp(scene.time_s[low:high] - begin, crank.at_s, crank.torque_share)
    return crankshaft.current_a(torque)


def battery_v(scene: Scene) -> Floats:
    """Voltage of the battery: under the starter, and charged once the engine runs."""
    running = scene.history["speed_rads"] > 50.0
    since = np.zeros(len(running))
    for place, step in enumerate(np.diff(scene.history["time_s"]).tolist(), start=1):
        since[place] = since[place - 1] + step if running[place] else 0.0
    if running[0]:
        since = np.where(np.logical_and.accumulate(running), CHARGES_AFTER_S, since)
    charging = np.interp(
        scene.time_s, scene.history["time_s"], np.minimum(since / CHARGES_AFTER_S, 1.0)
    )
    return crankshaft.battery_v(starter_a(scene), charging)


def lamp(scene: Scene) -> Floats:
    """The oil lamp: 1 lit, 0 dark."""
    gauge, switch = oil_gauge_pa(scene), float(np.mean(scene.engine.indication.switch_pa))
    marks = np.where(gauge < switch - 0.5 * PLAY_PA, 1.0, np.nan)
    marks = np.where(gauge > switch + 0.5 * PLAY_PA, 0.0, marks)
    known = np.flatnonzero(~np.isnan(marks))
    if len(known):
        place = np.searchsorted(known, np.arange(len(marks)), side="right") - 1
        marks = marks[known[np.maximum(place, 0)]]
    else:
        marks = np.where(gauge < switch, 1.0, 0.0)
    return np.maximum(marks, _forced(scene))


def _forced(scene: Scene) -> Floats:
    """1 where bad wiring or a bad sender lights the lamp, for its share of the time."""
    share = float(np.mean(scene.engine.indication.lamp_forced))
    if share <= 0.0 or share >= 1.0:
        return np.full(len(scene.time_s), float(share >= 1.0))
    from statistics import NormalDist

    contact = ripple.wandering(scene.time_s, FORCED_S, scene.random(3))
    return np.where(contact < NormalDist().inv_cdf(share), 1.0, 0.0)


MAKERS: dict[str, Maker] = {
    one.__name__: one
    for one in (
        oil_gauge_pa,
        oil_over_crankcase_pa,
        crankcase_pa,
        manifold_pa,
        ignition_v,
        crank_v,
        cam_v,
        speed_rpm,
        oil_degc,
        coolant_degc,
        air_kg_s,
        trim_short,
        trim_long,
        battery_v,
        starter_a,
        lamp,
    )
}


def makers(firing_order: tuple[int, ...], sparks: bool) -> dict[str, Maker]:
    """Every lane an engine has, by its name; `cylinder_1_pa` and on by cylinder number."""
    each = {
        f"cylinder_{number}_pa": cylinder(firing_order.index(number))
        for number in sorted(firing_order)
    }
    every = {**MAKERS, **each}
    if not sparks:
        del every["ignition_v"]
    return every
