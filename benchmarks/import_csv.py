"""Import of a large CSV with checksum and all checks, against a bare `polars.read_csv` of it.

Five million rows of five columns (time and four lanes at 20 kHz), made in a temporary folder.
Both are run in turn in one process after their imports; the ratio is of the medians of five.
Peak memory is that of a fresh process which reads the file once, above its peak after imports,
as a multiple of the numbers as float64.  At most 1.5 and 3 are allowed; more ends with exit
code 1.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np
import polars as pl
from _common import medians, peak_bytes

from gaugewright.job.model import RecordingEntry
from gaugewright.recording.reading import read

ROWS = 5_000_000
LANES = ("oil_v", "crank_v", "spark_v", "map_v")
ROUNDS = 5
TIMES, SPACE = 1.5, 3.0
ENTRY = RecordingEntry.model_validate(
    {
        "name": "run",
        "file": "run.csv",
        "time": "t",
        "signal": [{"column": c, "quantity": "oil-pressure", "unit": "V"} for c in LANES],
    }
)
JSON = ENTRY.model_dump_json(by_alias=True, exclude_unset=True)


def made(folder: Path, rows: int = ROWS) -> Path:
    """Write the table."""
    random = np.random.default_rng(1)
    table = {"t": np.arange(rows) / 20_000}
    for place, lane in enumerate(LANES):
        table[lane] = np.round(1 + place / 2 + 0.1 * random.standard_normal(rows), 4)
    path = folder / "run.csv"
    pl.DataFrame(table).write_csv(path)
    return path


def main() -> int:
    """Measure, print two lines, and say by the exit code whether both are allowed."""
    with tempfile.TemporaryDirectory() as place:
        path = made(Path(place))
        read(ENTRY, path.parent), pl.read_csv(path)
        bare, ours = medians(ROUNDS, lambda: pl.read_csv(path), lambda: read(ENTRY, path.parent))
        peak = peak_bytes(
            "from pathlib import Path\nimport polars\n"
            "from gaugewright.job.model import RecordingEntry\n"
            "from gaugewright.recording.reading import read\n"
            f"entry = RecordingEntry.model_validate_json({JSON!r})",
            f"read(entry, Path({place!r}))",
        )
    ratio, space = ours / bare, peak / (8 * ROWS * (len(LANES) + 1))
    print(
        f"import: {ROWS:,} rows in {ours:.2f} s, bare polars.read_csv {bare:.2f} s: "
        f"{ratio:.2f} times (at most {TIMES})"
    )
    print(
        f"import: peak memory {peak / 1e6:.0f} MB, {space:.2f} times the numbers (at most {SPACE})"
    )
    return 0 if ratio <= TIMES and space <= SPACE else 1


if __name__ == "__main__":
    sys.exit(main())
