"""What every request passes first: host, origin, size, the door; and what every answer carries."""

from __future__ import annotations

import contextlib
import json
from collections.abc import MutableMapping
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from gaugewright.web.doors import COOKIE, Doors

MOST_FORM = 2 * 1024 * 1024
MOST_UPLOAD = 8 * 1024**3
"""Bytes of a form, and of files brought in."""
UPLOADS = ("/take-in", "/files")
OPEN_PATHS = ("/pair", "/static/", "/fonts/")
"""What a device may ask for before it is let in."""
SAFE = ("GET", "HEAD", "OPTIONS")
ENDLESS = "/events"
"""An answer that goes on as long as the page is open."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; "
    "img-src 'self' data:; connect-src 'self'; form-action 'self'; frame-src 'self'; "
    "frame-ancestors 'self'; base-uri 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


class TooLargeError(Exception):
    """A body longer than its limit."""


class Guard:
    """The app, guarded."""

    def __init__(self, app: ASGIApp, doors: Doors) -> None:
        self.app = app
        self.doors = doors

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse what must not come in; add the headers to what goes out."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        if scope["method"] == "HEAD" and not scope["path"].endswith(ENDLESS):
            scope = {**scope, "method": "GET"}  # the server keeps the body back by its own scope
        out = _with_headers(send)
        body = Body(receive, _most(scope["path"]))
        refused = self._refusal(scope)
        if refused is not None:
            await _answer(out, *refused)
            return
        with contextlib.suppress(TooLargeError):
            await self.app(scope, body.next_message, body.unless_too_large(out))
        if body.too_large:
            await _answer(out, 413, _too_large(scope))

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if not self.doors.knows_host(host):
            return (
                421,
                f'This machine does not go by the name "{host[:80]}"; open it by its address.',
            )
        if scope["method"] not in SAFE and not _same_origin(headers, host):
            return 403, "This was sent from another page; open the app itself and try it there."
        if int(_whole(headers.get("content-length"))) > _most(scope["path"]):
            return 413, _too_large(scope)
        return self._door(scope)

    def _door(self, scope: Scope) -> tuple[int, str] | None:
        path = scope["path"]
        request = Request(scope)
        client = scope["client"][0] if scope.get("client") else None
        if path.startswith(OPEN_PATHS) or self.doors.lets_in(client, request.cookies.get(COOKIE)):
            return None
        if not self.doors.shared:
            return (
                403,
                "This machine keeps its jobs to itself; start it with --share to let others in.",
            )
        if scope["method"] == "GET" and "text/html" in Headers(scope=scope).get("accept", ""):
            return 303, "/pair"
        return 401, "This device is not let in yet; open the app on it and type the pairing code."


def _same_origin(headers: Headers, host: str) -> bool:
    origin = headers.get("origin")
    if origin is not None:
        return urlsplit(origin).netloc == host
    return headers.get("sec-fetch-site", "none") in ("none", "same-origin")


def _whole(text: str | None) -> int:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 19 else 0


def _most(path: str) -> int:
    return MOST_UPLOAD if path.endswith(UPLOADS) else MOST_FORM


def _too_large(scope: Scope) -> str:
    return f"That is more than {_most(scope['path']) // 1024**2} MB, the most that is taken here."


class Body:
    """A request's body, which ends where it grows longer than its limit."""

    def __init__(self, receive: Receive, most: int) -> None:
        self.receive, self.most = receive, most
        self.taken = 0

    @property
    def too_large(self) -> bool:
        """Whether more came than the limit."""
        return self.taken > self.most

    async def next_message(self) -> Message:
        """The next piece.  Raises TooLargeError once there is too much."""
        message = await self.receive()
        self.taken += len(message.get("body", b""))
        if self.too_large:
            raise TooLargeError
        return message

    def unless_too_large(self, send: Send) -> Send:
        """Sends on what the app answers, but nothing to a body that was too large."""

        async def out(message: MutableMapping[str, Any]) -> None:
            if not self.too_large:
                await send(message)

        return out


def _with_headers(send: Send) -> Send:
    async def out(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(raw=message.setdefault("headers", []))
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return out


async def _answer(send: Send, status: int, said: str) -> None:
    headers = [(b"content-type", b"application/json")]
    body = json.dumps({"sentence": said, "sentences": [said]}).encode()
    if status == 303:
        headers, body = [(b"location", said.encode())], b""
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
