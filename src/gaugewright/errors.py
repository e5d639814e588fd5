"""Everything that can go wrong and be said in one sentence.

    GaugewrightError
    ├── InputError           what was handed in cannot be used           exit 2
    ├── OutputError          a result could not be written               exit 3
    └── EditedElsewhere      the place was changed by another meanwhile   exit 2

Anything else that escapes is a defect of ours and ends with exit 1.
The command and, later, the app show the same sentence; neither shows a traceback.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

MOST_PRINTED = 20


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong, said as one sentence.

    `file` names the file, `place` the key or line in it, `found` what stood there,
    `remedy` what would do.  `place` may be empty when the whole file is meant.  `path` is the
    same place as keys and item numbers of job.toml, for a screen that shows the sentence beside
    the field.
    """

    file: str
    place: str
    found: str
    remedy: str
    path: tuple[str | int, ...] = field(default=(), compare=False, repr=False)

    @property
    def sentence(self) -> str:
        """The sentence the user reads: file, place, what was found, what would do."""
        where = f"{self.file}, {self.place}" if self.place else self.file
        return f"{where}: {self.found}; {self.remedy}."


class GaugewrightError(Exception):
    """A failure that is told to the user in sentences; the root of the tree above."""

    exit_code = 1

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__(self.text)

    @property
    def text(self) -> str:
        """At most twenty sentences, one a line, then how many more there are."""
        lines = [problem.sentence for problem in self.problems[:MOST_PRINTED]]
        more = len(self.problems) - MOST_PRINTED
        return "\n".join([*lines, f"and {more} more."] if more > 0 else lines)


class InputError(GaugewrightError):
    """A job, a recording or a setting that cannot be used as it is."""

    exit_code = 2


class OutputError(GaugewrightError):
    """A result that could not be written; what stood there before is untouched."""

    exit_code = 3


class EditedElsewhere(GaugewrightError):  # noqa: N818 (says what happened, not that it failed)
    """The very place was changed by another since the job was read; nothing was written.

    `place` is its dotted path, `now` what stands there (None: nothing), `version` the job's
    version now, `device` who changed it.
    """

    exit_code = 2

    def __init__(self, place: str, now: Any, version: int = 0, device: str = "") -> None:
        self.place, self.now, self.version, self.device = place, now, version, device
        by = f" on {device}" if device else ""
        said = "nothing" if now is None else f'"{now}"'
        found = f"it was changed elsewhere meanwhile{by}: {said} stands there now"
        super().__init__(Problem("job.toml", place, found, "look at it and change it again"))
