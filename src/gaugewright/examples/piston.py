"""The second example: an open recording of a six-cylinder piston engine's cold start."""

from __future__ import annotations

from pathlib import Path

from gaugewright.examples.shipped import shipped_bytes

RECORDING = "piston-start.csv"
BESIDE = ("piston-start.LICENSE", "piston-start.txt")
"""The recording's licence and a note on its origin; both go wherever the recording goes."""


def make(folder: Path) -> None:
    """Write the open recording as a job folder: job.toml, the recording, licence and origin.

    Parameters: the folder, made where it does not stand; files of the same names are replaced.
    """
    recordings = folder / "recordings"
    recordings.mkdir(parents=True, exist_ok=True)
    for name in (RECORDING, *BESIDE):
        (recordings / name).write_bytes(shipped_bytes(name))
    (folder / "job.toml").write_bytes(shipped_bytes("piston.toml"))
