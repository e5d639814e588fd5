"""Every answer of the app in the language of the settings: figures, dates, drawings, findings."""

from __future__ import annotations

from starlette.types import ASGIApp, Receive, Scope, Send

from gaugewright.report.language import speaking
from gaugewright.web.settings import Settings


class Speech:
    """The app, speaking the language that the settings ask for.

    What is set here holds for this one request, in the threads that work for it too.
    """

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app = app
        self.settings = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request in its language."""
        with speaking(self.settings.language):
            await self.app(scope, receive, send)
