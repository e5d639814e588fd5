"""From a seed to a whole job folder with its truth beside it.

A case can be written with few or many of its items (see `discriminating.toml`); what an item
shows doesn't depend on which others are written, so that a test can be added to a job.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import tomlkit

from validation.causes import files
from validation.causes.bench import Bench, Table, draw_bench
from validation.causes.engines import Rng
from validation.causes.observed import SEEN, observe
from validation.causes.stretches import KINDS, Lived, Manner, can_have, live
from validation.causes.told import Told, draw_told
from validation.causes.truths import Patient, Truth, draw_patient

RICHNESS = {"bare": 0.15, "little": 0.30, "much": 0.25, "all": 0.30}
HOLDS = {"bare": 0.0, "little": 0.35, "much": 0.75, "all": 1.0}
OPTIONAL = (
    "fast",
    "fast-late",
    "cold-idle",
    "cold-fast",
    "crankcase",
    "crankcase-fast",
    "trim-idle",
    "trim-fast",
    "manifold",
    "cap-off",
    "vent-blocked",
    "regulator-blocked",
    "dipstick-open",
    "commanded",
    "oil-changed",
    "level-corrected",
    "second-gauge",
    "zero",
    "limit-fast",
    "limit-crankcase",
)
SELDOM = {"dipstick-open": 0.3, "limit-crankcase": 0.6, "limit-fast": 0.8, "limit": 0.85}
"""Items that even a willing workshop, or a book, has not always."""


@dataclass
class Case:
    """One job before it is written: the car, its truth, the bench, everything it could hold."""

    seed: int
    number: int
    patient: Patient
    manner: Manner
    bench: Bench
    told: Told
    saw: dict[str, str]
    codes: tuple[str, ...]
    items: frozenset[str]
    lived: dict[str, Lived] = field(default_factory=dict)

    @property
    def truth(self) -> Truth:
        """What is wrong."""
        return self.patient.truth

    def parting(self, items: frozenset[str]) -> frozenset[str]:
        """Those items in the sense of `discriminating.toml`: with the oil's temperature."""
        known = self.bench.warmth in ("column", "hand")
        return items if known else items - {"hot-idle"}

    def possible(self, items: Iterable[str]) -> frozenset[str]:
        """Those items that this workshop can bring of this engine.

        One that reads no temperature at all cannot tell cold from hot.
        """
        kept = possible(items, self.patient)
        blind = self.bench.warmth == "none"
        return frozenset(i for i in kept if not (blind and i in KINDS and KINDS[i].cold))

    def random(self, item: str) -> Rng:
        """The chance of one item, the same whichever others are written."""
        places = [*KINDS, "zero", "second-gauge", "files"]
        return np.random.default_rng([self.seed, self.number, 7, places.index(item)])

    def driven(self) -> frozenset[str]:
        """The job's items without the stretches in which this engine doesn't run: it died."""
        died = {item for item in self.items if item in KINDS and not self._runs_in(item)}
        return self.possible(self.items - died)

    def _runs_in(self, item: str) -> bool:
        try:
            self.stretch(item)
        except ValueError:
            return False
        return True

    def stretch(self, item: str) -> Lived:
        """The engine through this stretch, run once."""
        if item not in self.lived:
            patient = self.patient
            self.lived[item] = live(
                patient.car.build,
                patient.car.engine,
                patient.engine,
                self.manner,
                item,
                self.bench.pick_up,
            )
        return self.lived[item]


def make(seed: int, number: int, folder: Path, kind: str = "mixed") -> Case:
    """Job `number` of a seed, written to `folder`; its truth is in what is returned."""
    case = draw(seed, number, kind)
    write(case, case.items, folder)
    return case


def draw(seed: int, number: int, kind: str) -> Case:
    """A case without its files."""
    rng = np.random.default_rng([seed, number])
    patient = draw_patient(rng, kind)
    manner = Manner(
        fast_rpm=100.0 * round(float(rng.uniform(20.0, 30.0))),
        commanded_rpm=100.0 * round(float(rng.uniform(14.0, 18.0))),
        hot_degc=float(rng.uniform(80.0, 100.0)),
        cold_degc=float(rng.uniform(12.0, 38.0)),
        seed=int(rng.integers(1, 2**31 - 100)),
    )
    told = draw_told(rng, patient, manner)
    bench = draw_bench(rng, patient.car.build, patient.engine)
    saw, codes = observe(rng, patient)
    case = Case(seed, number, patient, manner, bench, told, saw, codes, frozenset())
    case.items = case.possible(draw_items(rng, kind))
    return case


def draw_items(rng: Rng, kind: str) -> set[str]:
    """What this job holds: from a bare first recording to all that parts causes."""
    names = list(RICHNESS)
    richness = str(rng.choice(names, p=list(RICHNESS.values())))
    if kind == "outside":
        richness = "all"
    share = HOLDS[richness]
    wanted = {item for item in (*OPTIONAL, "limit") if rng.random() < share * SELDOM.get(item, 1.0)}
    if richness == "bare" and rng.random() < 0.7:
        wanted.add("limit")
    for what, (little, much) in SEEN["asked"].items():
        chance = little + (much - little) * share
        if rng.random() < (0.7 * chance if richness == "bare" else chance):
            wanted.add(f"saw:{what}")
    return wanted | {"hot-idle"}


def possible(items: Iterable[str], patient: Patient) -> frozenset[str]:
    """Those items that this kind of engine can have and show."""
    build = patient.car.build
    kept = {item for item in items if can_have(item, build)}
    if build.metering == "none":
        kept -= {"trim-idle", "trim-fast"}
    if not build.throttled:
        kept -= {"manifold"}
    if "fast" not in kept:
        kept -= {"fast-late", "crankcase-fast", "trim-fast"}
    return frozenset(kept)


def write(case: Case, items: frozenset[str], folder: Path) -> None:
    """The job folder with these of the case's items."""
    (folder / "recordings").mkdir(parents=True, exist_ok=True)
    recordings, readings = files.written(case, items, folder)
    job = _job(case, items) | {"recording": recordings, "reading": readings}
    text = tomlkit.dumps({key: told for key, told in job.items() if told not in ([], {})})
    (folder / "job.toml").write_text(text, encoding="utf-8")


def _job(case: Case, items: frozenset[str]) -> Table:
    told = case.told
    complaint: Table = {"text": "came for a check of the oil pressure"}
    if "saw:codes" in items:
        complaint["codes"] = list(case.codes)
    limits = [
        table
        for item, table in (
            ("limit", told.idle_limit),
            ("limit-fast", told.fast_limit),
            ("limit-crankcase", told.case_limit),
        )
        if item in items
    ]
    instruments = [files.SECOND_GAUGE | {"accuracy": f"{case.bench.gauge_sigma_pa:.0f} Pa"}]
    instruments += [files.COLUMN_GAUGE, files.THERMOMETER]
    return {
        "format": 1,
        "title": f"Case {case.number} of {case.seed}",
        "vehicle": told.vehicle,
        "complaint": complaint,
        "place": told.place,
        "visit": [{"name": "first"}],
        "observation": [
            {"visit": "first", "what": what, "saw": saw}
            for what, saw in case.saw.items()
            if f"saw:{what}" in items
        ],
        "limit": limits,
        "switch": [told.switch] if told.switch_told else [],
        "sensor": [case.bench.oil.table, case.bench.case.table],
        "instrument": instruments,
    }


def observations(items: frozenset[str]) -> frozenset[str]:
    """What was looked at, of these items."""
    return frozenset(item.removeprefix("saw:") for item in items if item.startswith("saw:"))
