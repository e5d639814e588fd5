"""A job that uses every key once, for tests to spoil."""

from __future__ import annotations

from pathlib import Path

from gaugewright.errors import InputError
from gaugewright.job.model import Job
from gaugewright.job.reading import job_from_bytes

FULL = """\
format = 1
title = "Tick at hot idle"
id = "a1"

[vehicle]
name = "the grey van"
cylinders = 4
cycle = "four-stroke"
ignition = "coil-on-plug"
oil_grade = "5W-30"
firing_order = [1, 3, 4, 2]
displacement = "2.0 L"
fuel = "petrol"
induction = "natural"
metering = "air-mass"
oil_pump = "two-stage"
pump_switches = ["2100 rpm", "2200 rpm"]
ventilation = "regulator"

[complaint]
text = "ticks when hot"
codes = ["P0171"]

[place]
altitude = "310 m"
barometer = "97.6 kPa"

[[visit]]
name = "first"
date = 2031-03-04T09:30:00
odometer = "148200 km"
oil_grade = "5W-30"
work = "none yet"

[[observation]]
visit = "first"
what = "oil-level"
saw = "below minimum"
note = "read before topping up"

[[limit]]
name = "hot idle"
quantity = "oil-pressure"
reference = "atmosphere"
min = "0.9 bar"
max = "3.5 bar"
speed = "820 rpm"
speed_tolerance = "50 rpm"
oil_temperature = "80 degC"
stage = "low"
did = []
crankcase = "-2 kPa"
printed = "0.9 bar / 13 psi"
source = "workshop manual, lubrication"

[[switch]]
name = "low stage"
quantity = "oil-pressure"
closes_below = "0.35 bar"
tolerance = "0.1 bar"
offset = "0 bar"
lamp_delay = "0 s"

[[sensor]]
name = "oil transducer"
reference = "atmosphere"
points = [["0.5 V", "0 bar"], ["4.5 V", "10 bar"]]
point_uncertainty = "20 mbar"
points_common = "0 mbar"
accuracy = "50 mbar"
range = ["0 bar", "10 bar"]
supply = "5 V"

[[sensor]]
name = "thermometer"
points = [["100 ohm", "0 degC"], ["138.5 ohm", "100 degC"]]
accuracy = "0.5 K"
range = ["-20 degC", "150 degC"]

[[sensor]]
name = "sealed one"
reference = "sealed"
sealed_at = "1013 mbar"
points = [["4 mA", "0 bar"], ["20 mA", "1 bar"]]

[[instrument]]
name = "dial gauge"
accuracy = "0.5 inHg"
range = ["-30 inHg", "0 inHg"]

[[recording]]
name = "hot idle"
visit = "first"
file = "recordings/hot-idle.csv"
time = "t"
time_unit = "s"
clock_offset = "0 s"
[recording.text]
delimiter = ";"
decimal = ","
encoding = "utf-8"
header_row = 3
units_row = 4
first_row = 5
missing = ["-99"]

  [[recording.signal]]
  column = "oil_v"
  quantity = "oil-pressure"
  sensor = "oil transducer"
  supply = "4.90 V"
  port = "main gallery"
  hose = { length = "1 m", bore = "4 mm", holds = "air" }
  snubber = false

  [[recording.signal]]
  column = "spark_v"
  quantity = "ignition"
  unit = "V"
  pulses_per_cycle = 1
  cylinder = 1

  [[recording.signal]]
  column = "wheel"
  quantity = "crank"
  unit = "V"
  teeth = 60
  missing = 2
  turns = "crank"

  [[recording.signal]]
  column = "oil_t"
  quantity = "oil-temperature"
  sensor = "thermometer"
  supply_column = "five"
  time = "t2"

  [[recording.condition]]
  name = "as found"
  from = "5 s"
  to = "35 s"
  did = "nothing"

  [[recording.condition]]
  name = "cap off"
  from = "35 s"
  to = "50 s"
  did = ["filler-cap-off"]

[[recording]]
name = "second logger"
file = "recordings/logger.csv"
rate = "1 kHz"
aligned_with = "hot idle"
aligned_by = "ignition"

  [[recording.signal]]
  column = "p"
  quantity = "crankcase-pressure"
  unit = "mbar"
  reference = "atmosphere"

  [[recording.signal]]
  column = "s"
  quantity = "ignition"

[[reading]]
quantity = "crankcase-pressure"
value = "-2.5 inHg"
reference = "atmosphere"
uncertainty = "0.1 inHg"
instrument = "dial gauge"
condition = "as found"
visit = "first"
speed = "861 rpm"
oil_temperature = "88 degC"

[[work]]
visit = "first"
text = "breather hose cleared"
state = "done"
"""

SMALL = """\
format = 1
title = "Small"
[vehicle]
cylinders = 4
cycle = "four-stroke"
[[reading]]
quantity = "oil-pressure"
value = "1.1 bar"
"""


def read(text: str, folder: Path | None = None) -> Job:
    return job_from_bytes(text.encode(), "job.toml", folder)


def sentences(text: str, folder: Path | None = None) -> list[str]:
    """What is wrong with a job file; empty when nothing is."""
    try:
        read(text, folder)
    except InputError as error:
        return [problem.sentence for problem in error.problems]
    return []


def spoiled(old: str, new: str, text: str = FULL) -> str:
    assert text.count(old) >= 1, old
    return text.replace(old, new, 1)


def lay(folder: Path, text: str = FULL) -> Path:
    """The job as a folder, with recordings of one line each."""
    (folder / "recordings").mkdir(parents=True, exist_ok=True)
    (folder / "job.toml").write_text(text, encoding="utf-8")
    for name in ("hot-idle", "logger"):
        (folder / "recordings" / f"{name}.csv").write_text("t;oil_v\n0;1\n", encoding="utf-8")
    return folder
