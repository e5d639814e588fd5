"""Writes causes.md afresh from causes.toml and the engine: `python docs/reference/causes.py`."""

from __future__ import annotations

import textwrap
import tomllib
from dataclasses import replace
from pathlib import Path

from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS, Fault
from gaugewright.engine.sound import sound
from gaugewright.report import words

HERE = Path(__file__).parent
PAGE = HERE / "causes.md"
SEVERITIES = ((0.0, "just noticeable"), (0.5, "between"), (1.0, "gross"))

HEAD = """# The causes

What can be behind an oil lamp, a rough idle or a strange crankcase, as the tool knows it. Each
cause is a change of a few numbers of the [virtual engine](../explanation/engine.md) and of nothing
else; its severity goes from 0, just noticeable, to 1, gross. The signatures are those of the trade
(common practice, no source); a test holds the engine to them, cell by cell. How the causes are
weighed against each other is told in [which cause](../explanation/which-cause.md).

The pictures show the engine at severity 0.6 in colour and the sound engine in grey; the oil
pressure is the gauge's, against the outside air. Engine: two litres, four cylinders, petrol, 5W-30,
air meter, ventilation by a regulator, fixed pump; for the stuck control one with a two-stage pump.
The sizes are judgement, set so that the signatures come out; `none-of-these` is no engine and has
no section.

"""

FOOT = """
This page is written by `docs/reference/causes.py` from `causes.toml` and the engine itself.
"""


def section(name: str, said: dict[str, str]) -> str:
    """One cause: what it is, what it changes, how large, what it does."""
    fault = FAULTS[name]
    title = words.CAUSE[name]
    parts = [
        f"## {title[0].upper()}{title[1:]}",
        f"`{name}`",
        said["what"].strip(),
        textwrap.fill(f"**Signature.** {said['signature'].strip()}", 99),
    ]
    if fault.changes:
        numbers = ", ".join(f"`{one.name}`" for one in fault.changes)
        parts += [f"Changes {numbers}.", sizes(fault)]
    parts.append(f"![{title}: its signature](../pictures/signature-{name}.png)")
    return "\n\n".join(parts) + "\n"


def sizes(fault: Fault) -> str:
    """The severities in the trade's terms, as a table."""
    build = Build() if fault.suits(Build()) else replace(Build(), oil_pump="two-stage")
    whole = sound(build)
    rows = [
        f"| {severity:g} | {name} | {fault.tells(whole, fault.applied(build, whole, severity))} |"
        for severity, name in SEVERITIES
    ]
    return "\n".join(["| severity | | here |", "|---|---|---|", *rows])


def page() -> str:
    """The whole page."""
    told = tomllib.loads((HERE / "causes.toml").read_text(encoding="utf-8"))
    return HEAD + "\n".join(section(name, told[name]) for name in FAULTS) + FOOT


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
