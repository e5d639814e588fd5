"""What the benchmarks share: the median of some runs, and the peak memory of a child process."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any


def seconds(task: Callable[[], Any]) -> float:
    """The time one run of a task takes, its result thrown away afterwards, s."""
    start = time.perf_counter()
    kept = task()
    took = time.perf_counter() - start
    del kept
    return took


def medians(rounds: int, *tasks: Callable[[], Any]) -> list[float]:
    """The median time of each task, run in turn, so that a busy machine slows all alike, s."""
    took = [[seconds(task) for task in tasks] for _ in range(rounds)]
    return [statistics.median(times) for times in zip(*took, strict=True)]


PEAK = """
def peak():
    try:
        lines = open("/proc/self/status").read().splitlines()
        return 1024 * int(next(x for x in lines if x.startswith("VmHWM")).split()[1])
    except OSError:
        import resource, sys
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        return most if sys.platform == "darwin" else 1024 * most
{before}
start = peak()
{task}
print(peak() - start)
"""


def peak_bytes(before: str, task: str) -> int:
    """By how much a task raises the peak memory of a fresh process over that after `before`."""
    code = PEAK.format(before=before, task=task)
    run = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return int(run.stdout.splitlines()[-1])
