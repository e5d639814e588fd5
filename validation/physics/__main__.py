"""The physics computed again by other means.

python -m validation.physics             everything, kept in validation/results/physics.json
python -m validation.physics gas oil     these topics only
python -m validation.physics --check     the fast topics again, against the store and the gates
python -m validation.physics --road A B  figures of road logs, which do not ship
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from validation.physics.store import (
    disagreements,
    keep,
    keep_road,
    recording_moved,
    stored_beyond,
)
from validation.physics.topics import TOPICS


def check() -> int:
    """Say what disagrees; 1 if anything does."""
    wrong = stored_beyond(TOPICS) + recording_moved()
    for topic in TOPICS:
        if topic.fast:
            wrong += disagreements(topic)
    print("\n".join(wrong) if wrong else "the physics agrees with the store and its gates")
    return 1 if wrong else 0


def run(names: list[str]) -> int:
    """Compute and keep; 1 if a number is beyond its gate."""
    parts = keep([topic for topic in TOPICS if not names or topic.name in names])["topics"]
    for name, part in parts.items():
        worst = part["largest"]
        print(
            f"{name}: {part['numbers']} numbers in {part['seconds']} s, "
            f"farthest {worst['name']} by {worst['difference']:+.1e}"
        )
    wrong = stored_beyond(TOPICS)
    print("\n".join(wrong))
    return 1 if wrong else 0


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("topics", nargs="*", choices=[*(t.name for t in TOPICS), []])
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--road", nargs="+", type=Path, metavar="FILE")
    given = parser.parse_args()
    if given.road:
        keep_road(given.road)
        return 0
    return check() if given.check else run(given.topics)


if __name__ == "__main__":
    sys.exit(main())
