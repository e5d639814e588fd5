"""Makes NOTICE from the pins and the licences that the installed packages state."""

from __future__ import annotations

import re
import sys
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).parents[2]

HEAD = """gaugewright
Licensed under the Apache License, Version 2.0; see LICENSE.

This product ships an open recording, src/gaugewright/examples/data/piston-start.csv, under the
MIT licence that stands beside it (piston-start.LICENSE), with a note on its origin.

It uses the packages below, each under its own licence, none of them changed; their licence
texts come with them.  The fonts on screen and paper are under the SIL Open Font License 1.1.
"""

ALLOWED = re.compile(
    r"^(MIT( License)?|MIT-0|MIT-CMU|BSD([ -][23]-Clause)?( License)?|0BSD|Zlib|CC0-1\.0|ISC.*"
    r"|Apache(-2\.0| 2\.0| Software License| License,? (Version )?2\.0)?|PSF-2\.0|HPND"
    r"|Python Software Foundation License|OFL-1\.1|SIL Open Font License 1\.1.*"
    r"|MPL-2\.0|.*Mozilla Public License 2\.0.*|LGPL.*|GNU Lesser General Public License.*)$"
)


def pins() -> list[tuple[str, str]]:
    """The packages pinned for running, with their versions."""
    text = (ROOT / "requirements" / "run.txt").read_text(encoding="utf-8")
    return re.findall(r"^([A-Za-z0-9._-]+)==([^ ]+)", text, re.MULTILINE)


def licence(package: str) -> str:
    """The licence that an installed package states."""
    about = metadata.metadata(package)
    if about.get("License-Expression"):
        return str(about["License-Expression"])
    classified = [
        line.rpartition(" :: ")[2]
        for line in about.get_all("Classifier") or []
        if line.startswith("License :: ") and not line.endswith("OSI Approved")
    ]
    short = str(about.get("License") or "").strip()
    return classified[0] if classified else short.partition("\n")[0]


def permitted(stated: str) -> bool:
    """Whether every part of a licence statement is permissive, LGPL or MPL."""
    choices = [part.strip(" ()") for part in re.split(r" AND ", stated)]
    return all(
        any(ALLOWED.match(one.strip(" ()")) for one in re.split(r" OR ", part)) for part in choices
    )


def notice() -> str:
    """The whole NOTICE."""
    lines = [f"{name} {version}: {licence(name)}" for name, version in pins()]
    return "\n".join([HEAD, *lines, ""])


if __name__ == "__main__":
    sys.stdout.write(notice())
