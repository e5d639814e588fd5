"""Writes the tables within which-cause.md afresh: `python docs/explanation/which_cause.py`.

What cannot be told apart comes from validation/causes/discriminating.toml, how often the causes
were right from the rows kept in validation/results.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
PAGE = HERE / "which-cause.md"
ROOT = HERE.parents[1]
sys.path.insert(0, str(ROOT))

from validation.causes import gates, run  # noqa: E402
from validation.causes.score import PARTS, figures  # noqa: E402

Row = dict[str, Any]
NOTHING = "No row is kept of this method version yet; `python -m validation.causes.run` makes them."


def apart() -> str:
    """Which causes cannot be told from which, and why."""
    lines = ["| cause | is not told from | because |", "|---|---|---|"]
    for name, stated in PARTS["cause"].items():
        if stated.get("not_from"):
            rivals = ", ".join(f"`{rival}`" for rival in stated["not_from"])
            why = re.sub(r"see ([a-z-]+)$", r"as for `\1`", stated["why"])
            lines.append(f"| `{name}` | {rivals} | {why} |")
    return "\n".join(lines)


def confusion(rows: Mapping[str, Sequence[Row]]) -> str:
    """What led the jobs of each cause, and every gate with what came out."""
    kept = [row for kind in (*run.EACH, "mixed", "outside") for row in rows.get(kind, ())]
    if not kept:
        return NOTHING
    each = [row for kind in run.EACH for row in rows.get(kind, ())]
    return "\n\n".join(
        [
            _head(len(kept), each),
            _gates(rows),
            "Truth down, leading cause across by its number, per cent of the row's jobs: those "
            "drawn for the\ncause, and those by the odds that have it alone. A dot is none.",
            gates.table({cause: _alone(rows, cause) for cause in (*run.EACH, run.NONE)}),
        ]
    )


def _alone(rows: Mapping[str, Sequence[Row]], cause: str) -> list[Row]:
    """The jobs of a cause: its own kind, and those by the odds that have it alone."""
    own = _own(rows, "outside" if cause == run.NONE else cause)
    return own + [row for row in _own(rows, "mixed") if row["truth"] == [cause]]


def _own(rows: Mapping[str, Sequence[Row]], kind: str) -> list[Row]:
    return [row for row in rows.get(kind, ()) if row["answered"]]


def _head(jobs: int, each: Sequence[Row]) -> str:
    told = f"{jobs} jobs."
    share = figures(list(each))["top_up_to_rivals"] if each else None
    if share is not None:
        told += (
            f" Of those that hold all that could help, and whose cause has rivals in the table\n"
            f"above, the true cause or one of its rivals leads in {100 * share:.0f} %."
        )
    return told


def _gates(rows: Mapping[str, Sequence[Row]]) -> str:
    lines = ["| what | asked | came out | |", "|---|---|---|---|"]
    for gate in gates.gates(rows):
        found = "not run" if gate.found is None else str(gate.found)
        state = "" if gate.found is None else "reached" if gate.passed else "**not reached**"
        lines.append(f"| {gate.name} | {_typeset(gate.asked)} | {found} | {state} |")
    return "\n".join(lines)


def _typeset(asked: str) -> str:
    return asked.replace(">=", "at least").replace("<=", "at most").replace("<", "below")


def filled(page: str, made: Mapping[str, str]) -> str:
    """The page with what stands between its marks made afresh."""
    for name, text in made.items():
        begin, end = f"<!-- made: {name} -->\n", f"<!-- end: {name} -->"
        before, _, rest = page.partition(begin)
        _, mark, after = rest.partition(end)
        if not mark:
            raise ValueError(f"{PAGE.name} has no place for {name}")
        page = f"{before}{begin}\n{text}\n\n{end}{after}"
    return page


def page() -> str:
    """The whole page as it should stand."""
    rows = {kind: run.kept_rows(kind) for kind in run.KINDS}
    made = {"apart": apart(), "confusion": confusion(rows)}
    return filled(PAGE.read_text(encoding="utf-8"), made)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
