"""How long `gaugewright --help` takes, as a multiple of `python -c pass`.

Both are run in turn, in pairs, so that a busy machine slows both; the ratio is of the medians.
At most 2.5 is allowed; more ends with exit code 1.
"""

from __future__ import annotations

import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

PAIRS = 21
ALLOWED = 2.5


def seconds(command: list[str]) -> float:
    """The time one run of this command takes, s."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def help_command() -> list[str]:
    """The installed command where there is one beside this Python, else the module."""
    beside = Path(sys.executable).with_name("gaugewright")
    installed = str(beside) if beside.exists() else shutil.which("gaugewright")
    return [installed, "--help"] if installed else [sys.executable, "-m", "gaugewright", "--help"]


def main() -> int:
    """Measure, print one line, and say by the exit code whether it is allowed."""
    bare, helped = [sys.executable, "-c", "pass"], help_command()
    seconds(bare), seconds(helped)
    pairs = [(seconds(bare), seconds(helped)) for _ in range(PAIRS)]
    least = statistics.median(pair[0] for pair in pairs)
    took = statistics.median(pair[1] for pair in pairs)
    ratio = took / least
    print(
        f"start-up: gaugewright --help {1e3 * took:.0f} ms, python -c pass {1e3 * least:.0f} ms: "
        f"{ratio:.2f} times (at most {ALLOWED})"
    )
    return 0 if ratio <= ALLOWED else 1


if __name__ == "__main__":
    sys.exit(main())
