"""The three levels of practice: what is wrong, how it is held, what it is measured with."""

from __future__ import annotations

from dataclasses import dataclass

from gaugewright.engine.ignition import PickUp


@dataclass(frozen=True)
class Level:
    """One level of difficulty.

    `severity`: least and greatest, 0 just noticeable to 1 gross.  `two_faults`: chance of a
    second fault.  `sound`: chance that nothing is wrong.  `misleading_lamp`: chance that the
    lamp's switch has drifted.  `cold`: chance that it is measured cold too.  `accuracy`:
    standard size of the oil sensor's own deviation, as a share of its range, which its
    calibration points share in full.  `crankcase_pa`: the same for the crankcase sensor, in Pa.
    `spikes_v`, `hum_v`: interference on the oil signal.  `silent`: chance that an observation
    was not made.  `pick_up`: how the sparks are heard.
    """

    number: int
    word: str
    line: str
    severity: tuple[float, float]
    two_faults: float
    sound: float
    misleading_lamp: float
    cold: float
    accuracy: float
    crankcase_pa: float
    noise_v: float
    spikes_v: float
    hum_v: float
    bits: int
    silent: float
    pick_up: PickUp


LEVELS = {
    level.number: level
    for level in (
        Level(
            number=1,
            word="plain",
            line="one clear fault, good instruments, telling conditions",
            severity=(0.6, 0.95),
            two_faults=0.0,
            sound=0.0,
            misleading_lamp=0.0,
            cold=1.0,
            accuracy=0.0008,
            crankcase_pa=60.0,
            noise_v=0.002,
            spikes_v=0.0,
            hum_v=0.0,
            bits=14,
            silent=0.0,
            pick_up=PickUp(shape="square", missed=0.0, others=0.02),
        ),
        Level(
            number=2,
            word="everyday",
            line="a fault, at times two, ordinary instruments on two clocks",
            severity=(0.4, 0.85),
            two_faults=0.25,
            sound=0.05,
            misleading_lamp=0.1,
            cold=0.4,
            accuracy=0.002,
            crankcase_pa=250.0,
            noise_v=0.004,
            spikes_v=0.0,
            hum_v=0.006,
            bits=12,
            silent=0.25,
            pick_up=PickUp(),
        ),
        Level(
            number=3,
            word="awkward",
            line="one or two faults, improvised instruments, no oil temperature, a lamp that "
            "may mislead",
            severity=(0.3, 0.8),
            two_faults=0.5,
            sound=0.08,
            misleading_lamp=0.4,
            cold=0.2,
            accuracy=0.006,
            crankcase_pa=500.0,
            noise_v=0.006,
            spikes_v=0.12,
            hum_v=0.015,
            bits=10,
            silent=0.5,
            pick_up=PickUp(scatter=0.12, others=0.2, missed=0.01),
        ),
    )
}
