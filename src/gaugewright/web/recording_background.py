"""Work that a page waits for: done once for each state of the job, told how far it is."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from gaugewright.errors import GaugewrightError

Made = TypeVar("Made")
Tell = Callable[[str], None]
Make = Callable[[Tell], Made]


@dataclass
class Background(Generic[Made]):
    """The latest result of some work, and the thread that makes the next one.

    `stage` says how far it is.
    """

    key: str = ""
    made: Made | None = None
    failed: GaugewrightError | None = None
    stage: str = ""
    thread: threading.Thread | None = None
    lock: threading.Lock = field(default_factory=threading.Lock)

    def now(self, key: str, make: Make[Made]) -> Made | None:
        """The result for this key, or None while it is being made.

        Raises what the work raised.
        """
        with self.lock:
            if self.thread is not None and self.thread.is_alive():
                return None
            if key != self.key:
                self._start(key, make)
                return None
            if self.failed is not None:
                raise self.failed
            return self.made

    def wait(self, key: str, make: Make[Made], seconds: float = 600.0) -> Made:
        """The same, waited for.  Raises what the work raised, TimeoutError after `seconds`."""
        while (found := self.now(key, make)) is None:
            thread = self.thread
            if thread is not None:
                thread.join(seconds)
                if thread.is_alive():
                    raise TimeoutError("reading the recordings takes too long")
        return found

    def _start(self, key: str, make: Make[Made]) -> None:
        self.key, self.made, self.failed, self.stage = key, None, None, ""
        self.thread = threading.Thread(target=self._work, args=(make,), daemon=True)
        self.thread.start()

    def _work(self, make: Make[Made]) -> None:
        try:
            self.made = make(self._tell)
        except GaugewrightError as error:
            self.failed = error

    def _tell(self, stage: str) -> None:
        self.stage = stage
