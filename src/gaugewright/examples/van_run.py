"""The van's engine running through one visit, as its sensors' outputs over time.

A small physical script of its own, kept apart from everything that analyses it: a governor
that hunts, a crankcase that fills and empties, oil pressure that follows speed and warmth,
the ripple of pump and firing, and an ignition pick-up that rings.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.examples.van_truth import BAROMETER_KPA, VisitTruth

Floats = npt.NDArray[np.float64]

RATE_HZ = 10_000.0
SLOW_RATE_HZ = 50.0
DURATION_S = 44.0
START_S = 5.2
"""The starter turns from here on; the engine stood still before."""

CAP_OFF_S, CAP_ON_S = 24.0, 32.0
RAISE_S, RELEASE_S = 32.6, 42.6
IDLE_S = 7.2

STRETCHES = (
    ("engine off", 0.3, 5.0, "engine-off"),
    ("hot idle", 8.0, 24.0, "nothing"),
    ("filler cap off", 24.0, 32.0, "filler-cap-off"),
    ("held at 2000 rpm", 34.5, 42.5, "speed-raised"),
)
"""What the technician marked on the first logger's clock: name, from, to, what was done."""

CRANKCASE_LAG_S = 0.35
GOVERNOR_HZ = 200.0
HUNT_PERIOD_S, HUNT_DAMPING, HUNT_RPM = 2.6, 0.15, 19.0


@dataclass(frozen=True)
class Run:
    """One visit sampled: (n,) arrays on the first logger's clock, (m,) on the second's.

    Pressures in kPa: `oil_kpa` against the outside air, `crankcase_kpa` absolute.
    """

    time_s: Floats
    speed_rpm: Floats
    oil_kpa: Floats
    spark_v: Floats
    oil_degc: Floats
    slow_time_s: Floats
    crankcase_kpa: Floats


def run(visit: VisitTruth, rng: np.random.Generator) -> Run:
    """One visit, from the engine standing still to the throttle let go.

    Parameters: the visit's truth, and the source of all randomness.
    Returns: what perfect sensors at the loggers' rates would have put out, before
    calibration errors, noise of the converters, rounding and the files.
    """
    time = np.arange(round(DURATION_S * RATE_HZ)) / RATE_HZ
    speed = speed_over_time(time, visit, rng)
    phase = np.cumsum(speed) / (120.0 * RATE_HZ)
    warmth = 79.3 + 1.9 * (time / DURATION_S) ** 2 + 0.02 * np.sin(time / 3.0)
    crankcase = crankcase_over_time(time, speed, visit)
    oil = oil_over_time(phase, speed, warmth, crankcase, visit, rng)
    slow_end_s = DURATION_S - visit.clock_offset_s - 0.3
    slow = np.arange(SLOW_RATE_HZ, slow_end_s * SLOW_RATE_HZ) / SLOW_RATE_HZ
    on_first_clock = slow + visit.clock_offset_s
    pulsing = 0.25 * np.where(speed > 400.0, np.sin(8.0 * np.pi * phase), 0.0)
    absolute = BAROMETER_KPA + crankcase + pulsing
    return Run(
        time_s=time,
        speed_rpm=speed,
        oil_kpa=oil,
        spark_v=pickup(time, phase, speed, rng),
        oil_degc=warmth,
        slow_time_s=slow,
        crankcase_kpa=np.interp(on_first_clock, time, absolute),
    )


def speed_over_time(time_s: Floats, visit: VisitTruth, rng: np.random.Generator) -> Floats:
    """Engine speed (n,) rpm: started, hunting at idle, cap off, held at 2000 rpm, let go."""
    aims = (
        (0.0, 0.0),
        (START_S, 0.0),
        (START_S + 0.15, 210.0),
        (START_S + 1.0, 240.0),
        (START_S + 1.4, 1180.0),
        (IDLE_S + 0.9, visit.idle_rpm),
        (CAP_OFF_S, visit.idle_rpm),
        (CAP_OFF_S + 0.8, visit.cap_off_rpm),
        (RAISE_S, visit.cap_off_rpm),
        (RAISE_S + 1.6, 2000.0),
        (RELEASE_S, 2000.0),
        (DURATION_S, 930.0),
    )
    coarse = np.arange(round(DURATION_S * GOVERNOR_HZ) + 1) / GOVERNOR_HZ
    aim = np.interp(coarse, *np.array(aims).T)
    wander = hunting(len(coarse), rng) * np.clip((coarse - IDLE_S) / 0.8, 0.0, 1.0)
    return np.asarray(np.interp(time_s, coarse, aim + wander), dtype=np.float64)


def hunting(count: int, rng: np.random.Generator) -> Floats:
    """A governor's wandering (count,) rpm: a damped oscillator driven by noise."""
    step = 1.0 / GOVERNOR_HZ
    natural = 2.0 * np.pi / HUNT_PERIOD_S
    push = rng.normal(size=count + 2000)
    wander, rate = 0.0, 0.0
    out = np.empty(count + 2000)
    for i, kick in enumerate(push):
        rate += step * (kick - natural**2 * wander - 2.0 * HUNT_DAMPING * natural * rate)
        wander += step * rate
        out[i] = wander
    theory = np.sqrt(step / (4.0 * HUNT_DAMPING * natural**3))
    return np.asarray(out[2000:] * (HUNT_RPM / theory), dtype=np.float64)


def crankcase_over_time(time_s: Floats, speed_rpm: Floats, visit: VisitTruth) -> Floats:
    """Crankcase (n,) kPa against the outside air: a first-order lag behind where it settles."""
    off = (time_s >= CAP_OFF_S) & (time_s < CAP_ON_S)
    goal = np.where(off, visit.cap_off_kpa, visit.crankcase_kpa(speed_rpm))
    stride = 10
    keep = np.exp(-stride / (RATE_HZ * CRANKCASE_LAG_S))
    level, levels = 0.0, []
    for target in goal[::stride]:
        level = target + keep * (level - target)
        levels.append(level)
    return np.asarray(np.interp(time_s, time_s[::stride], levels), dtype=np.float64)


def oil_over_time(
    phase: Floats,
    speed_rpm: Floats,
    oil_degc: Floats,
    crankcase_kpa: Floats,
    visit: VisitTruth,
    rng: np.random.Generator,
) -> Floats:
    """Gallery pressure (n,) kPa against the outside air, with ripple and unrest.

    Ripple: 11 teeth of a pump at crank speed, 22 times a cycle, and four firings a cycle.
    """
    settled = visit.bearings_kpa(speed_rpm, oil_degc)
    unrest = slow_noise(len(phase), 0.25, rng) * 0.6
    ripple = 3.0 * np.sin(44.0 * np.pi * phase) + 2.0 * np.sin(8.0 * np.pi * phase + 0.7)
    alive = np.clip((speed_rpm - 300.0) / 400.0, 0.0, 1.0)
    filled = np.where(speed_rpm > 300.0, 1.0, speed_rpm / 300.0) ** 2
    return np.asarray(settled * filled + (ripple + unrest) * alive + crankcase_kpa)


def slow_noise(count: int, correlation_s: float, rng: np.random.Generator) -> Floats:
    """Noise (count,) of standard deviation 1 that forgets itself over this many seconds."""
    stride = 100
    few = count // stride + 2
    keep = float(np.exp(-stride / (RATE_HZ * correlation_s)))
    value, values = rng.normal(), np.empty(few)
    for i, push in enumerate(rng.normal(size=few) * np.sqrt(1.0 - keep**2)):
        value = keep * value + push
        values[i] = value
    fine = np.arange(count) / stride
    return np.asarray(np.interp(fine, np.arange(few), values), dtype=np.float64)


def pickup(time_s: Floats, phase: Floats, speed_rpm: Floats, rng: np.random.Generator) -> Floats:
    """An improvised ignition pick-up (n,) V: each spark of cylinder 1 rings near 8 kHz.

    The other cylinders are heard faintly, four sparks in a thousand are missed, and the mains
    hums.
    """
    out = 0.03 * np.sin(100.0 * np.pi * time_s) + rng.normal(scale=0.02, size=len(time_s))
    for cylinder in range(4):
        strength = 3.0 if cylinder == 0 else 0.35
        sparks = spark_times(time_s, phase, cylinder / 4.0)
        sparks = sparks[np.interp(sparks, time_s, speed_rpm) > 150.0]
        heights = strength * rng.normal(1.0, 0.08, size=len(sparks))
        heights[rng.random(len(sparks)) < 0.004] = 0.0
        out += ringing(time_s, sparks, heights)
    return out


def spark_times(time_s: Floats, phase: Floats, shift: float) -> Floats:
    """The instants (k,) at which the cycle phase passes a whole number plus this shift."""
    rising = np.flatnonzero(np.diff(phase) > 0.0)
    whole = np.arange(np.ceil(phase[0] - shift), np.floor(phase[-1] - shift) + 1.0)
    kept = np.append(rising, rising[-1] + 1)
    instants = np.interp(whole[1:] + shift, phase[kept], time_s[kept])
    return np.asarray(instants, dtype=np.float64)


def ringing(time_s: Floats, sparks_s: Floats, heights: Floats) -> Floats:
    """The decaying 8 kHz oscillation (n,) after each spark."""
    last = np.searchsorted(sparks_s, time_s, side="right") - 1
    since = time_s - sparks_s[np.maximum(last, 0)]
    heard = (last >= 0) & (since < 0.006)
    out = np.zeros(len(time_s))
    after = since[heard]
    swing = np.exp(-after / 0.0009) * np.cos(2.0 * np.pi * 8000.0 * after)
    out[heard] = heights[last[heard]] * swing
    return out
