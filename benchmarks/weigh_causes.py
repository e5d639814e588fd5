"""Weighing the causes of a job with 20 readings: seconds from the evidence to causes and tests.

Beside it the same weighing by a plain loop that asks the steady engine for one engine after the
other: run for some engines of the first cells and scaled to all that were asked for.  And what the
short way to rest is worth: the same engines, each by itself and by the brackets alone.
Then the same job without a word on ventilation and metering, so that four kinds of engine are open.
Goal: race, findings, next tests and leaks together in at most 3 s, of either job.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from unittest.mock import patch

import numpy as np
import numpy.typing as npt
from _common import medians, seconds

from gaugewright.analysis.lanes import lanes_of
from gaugewright.analysis.questions import (
    barometer_of,
    hand_values,
    oils_of,
    questions_of,
    with_instruments,
)
from gaugewright.causes import model
from gaugewright.causes.judging import Race, judged, race_of
from gaugewright.causes.leaks import leaks
from gaugewright.causes.next_test import advice
from gaugewright.engine import steady
from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine
from gaugewright.engine.settling import settled_point
from gaugewright.engine.steady import Solved, solve_each
from gaugewright.engine.variants import common_length, taken
from gaugewright.evidence.case import Case
from gaugewright.evidence.weigh import weigh, with_common_blocks
from gaugewright.job.folder import opened
from gaugewright.job.model import Job

Pairs = Sequence[tuple[Engine, Held]]
Near = npt.NDArray[np.intp] | None

GOAL_S, ROUNDS, SAMPLE = 3.0, 3, 80
HEAD = """\
format = 1
title = "Twenty readings"
[vehicle]
cylinders = 4
cycle = "four-stroke"
ignition = "coil-on-plug"
oil_grade = "5W-30"
displacement = "2.0 L"
fuel = "petrol"
metering = "air-mass"
oil_pump = "fixed"
ventilation = "regulator"
[place]
barometer = "98 kPa"
[complaint]
text = "oil lamp at hot idle"
codes = ["P0171"]
[[observation]]
what = "oil-level"
saw = "between the marks"
[[observation]]
what = "lamp"
saw = "flickers at idle"
[[limit]]
name = "hot idle"
quantity = "oil-pressure"
min = "90 kPa"
speed = "820 rpm"
oil_temperature = "80 degC"
[[reading]]
quantity = "air-flow"
value = "3 g/s"
condition = "idle"
uncertainty = "0.1 g/s"
"""
COLUMNS = {
    "oil": ("oil-pressure", "kPa"),
    "case": ("crankcase-pressure", "kPa"),
    "manifold": ("manifold-pressure", "kPa"),
    "rpm": ("engine-speed", "rpm"),
    "trim": ("fuel-trim-long", "%"),
    "warm": ("oil-temperature", "degC"),
}
CONDITIONS = {
    ("idle", "nothing"): (98.0, 5.2, -62.0, 802.0, 3.0, 92.0),
    ("fast", "speed-raised"): (331.0, 6.0, -66.0, 2500.0, 2.0, 96.0),
    ("cap off", "filler-cap-off"): (92.0, 0.1, -62.0, 800.0, 4.0, 93.0),
    ("port blocked", "vent-port-blocked"): (98.5, 5.6, -62.0, 801.0, 3.0, 94.0),
}
"""What every column held in each condition."""
RATE_HZ, LENGTH_S = 20, 20


PUMP = 'oil_pump = "fixed"\n'
KIND = f'metering = "air-mass"\n{PUMP}ventilation = "regulator"\n'


def job_text(kind: str) -> str:
    """The job: one recording with every condition, marked without a second at either end."""
    text = HEAD.replace(KIND, kind) + '[[recording]]\nname = "run"\nfile = "run.csv"\ntime = "t"\n'
    for column, (quantity, unit) in COLUMNS.items():
        text += f'[[recording.signal]]\ncolumn = "{column}"\nquantity = "{quantity}"\n'
        text += f'unit = "{unit}"\n'
    for k, (name, did) in enumerate(CONDITIONS):
        text += f'[[recording.condition]]\nname = "{name}"\nfrom = "{k * LENGTH_S + 1} s"\n'
        text += f'to = "{(k + 1) * LENGTH_S - 1} s"\ndid = ["{did}"]\n'
    return text


def rows() -> str:
    """The recording, each column with a scatter of half a percent."""
    rng = np.random.default_rng(1)
    values = np.repeat(np.array(list(CONDITIONS.values())), RATE_HZ * LENGTH_S, axis=0)
    values *= 1.0 + 0.005 * rng.standard_normal(values.shape)
    time = np.arange(len(values)) / RATE_HZ
    lines = [",".join(f"{v:.4f}" for v in row) for row in np.column_stack([time, values])]
    return "\n".join([",".join(["t", *COLUMNS]), *lines, ""])


def case_of(folder: Path, kind: str = KIND) -> tuple[Job, Case, float | None]:
    """The job of an engine of this kind, its case and its barometer."""
    (folder / "job.toml").write_text(job_text(kind), encoding="utf-8")
    (folder / "run.csv").write_text(rows(), encoding="utf-8")
    with opened(folder) as (job, place):
        lanes = lanes_of(job, place, None, lambda _: None)
        barometer, error = barometer_of(job)
        visits = tuple(visit.name for visit in job.visits)
        book = with_common_blocks(with_instruments(lanes.book, job), visits, error)
        _, case = weigh(
            lanes.sensed, hand_values(job), book, barometer, oils_of(job), questions_of(job)
        )
    return job, case, barometer


def whole(job: Job, case: Case, barometer: float | None) -> Race:
    """All that the findings tell of the causes."""
    race = race_of(job, case, barometer)
    judged(race)
    advice(race)
    leaks(race)
    return race


class Counted:
    """The steady engine, remembering what it was asked for."""

    def __init__(self) -> None:
        self.asked: list[tuple[Build, Pairs, Near]] = []

    def __call__(self, build: Build, pairs: Pairs, near: Near = None) -> Solved:
        """Solve, and remember the question."""
        self.asked.append((build, pairs, near))
        return solve_each(build, pairs, near)

    @property
    def engines(self) -> int:
        """How many engines in a condition were asked for."""
        return sum(common_length(list(pairs)) * len(pairs) for _, pairs, _ in self.asked)

    def one_by_one(self) -> None:
        """Some engines of the first question, one after the other."""
        build, pairs, _ = self.asked[0]
        count = common_length(list(pairs))
        for n in range(SAMPLE):
            solve_each(build, [taken(pair, np.array([n]), count) for pair in pairs])

    @property
    def share(self) -> float:
        """How many times the sample all engines are."""
        return self.engines / (SAMPLE * len(self.asked[0][1]))

    def again(self) -> None:
        """Everything that was asked for, as it was."""
        for question in self.asked:
            solve_each(*question)

    def by_brackets(self) -> None:
        """Everything that was asked for, every engine by itself and by the brackets alone."""
        with patch.object(steady, "settled", settled_point):
            for build, pairs, _ in self.asked:
                solve_each(build, pairs)


def main() -> bool:
    """Measure and print; whether the goal is met."""
    with tempfile.TemporaryDirectory() as name:
        given, untold = case_of(Path(name)), case_of(Path(name), PUMP)
    counted = Counted()
    with patch.object(model, "solve_each", counted):
        race = whole(*given)
    own_s, kinds_s = medians(ROUNDS, lambda: whole(*given), lambda: whole(*untold))
    loop_s = seconds(counted.one_by_one) * counted.share
    short_s, whole_s = medians(ROUNDS, counted.again, counted.by_brackets)
    read = sum(item.quantity != "margin of a sound engine" for item in race.seen.items)
    leading = max(race.probability, key=race.probability.__getitem__)
    print(
        f"{read} readings, {len(race.hypotheses)} hypotheses, {counted.engines} engines at rest: "
        f"{own_s:.2f} s (goal {GOAL_S:.0f} s); leading: {' with '.join(leading)}"
    )
    kinds = len(whole(*untold).kinds)
    print(f"{kinds} kinds of engine open: {kinds_s:.2f} s; ratio {kinds_s / own_s:.1f}")
    print(f"one engine after the other: {loop_s:.0f} s; ratio {loop_s / own_s:.0f}")
    print(
        f"the engines alone: {short_s:.2f} s from neighbours and guesses, {whole_s:.2f} s by the "
        f"brackets; ratio {whole_s / short_s:.1f}"
    )
    return max(own_s, kinds_s) <= GOAL_S


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
