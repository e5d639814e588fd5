"""What every page of the app needs: the jobs, the settings, the words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from starlette.requests import HTTPConnection

from gaugewright.report.preferences import Preferences
from gaugewright.web.settings import Settings
from gaugewright.web.wording import Words, words_of

if TYPE_CHECKING:
    from gaugewright.web.doors import Doors

LOOKS = ("light", "dim", "device")


def _today() -> dt.date:
    return dt.date.today()


@dataclass
class Bay:
    """One running app: its store, the user's settings, who is let in."""

    store: Any
    settings: Settings
    doors: Doors
    today: Callable[[], dt.date] = _today
    rooms: dict[str, Any] = field(default_factory=dict)

    @property
    def words(self) -> Words:
        """The texts in the language that the settings ask for."""
        return words_of(self.settings.language)

    def preferences(self, paper: str | None = None) -> Preferences:
        """How figures and pages are shown; `paper` overrules the settings."""
        return self.settings.preferences(self.today(), paper)


def bay_of(connection: HTTPConnection) -> Bay:
    """The app a request was sent to."""
    bay: Bay = connection.app.state.bay
    return bay


def look_of(connection: HTTPConnection) -> str:
    """Light, dim bay, or as the device: each device keeps its own."""
    look = connection.cookies.get("look", "device")
    return look if look in LOOKS else "device"
