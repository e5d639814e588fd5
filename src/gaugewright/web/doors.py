"""Who is let in: this machine alone, or the shop's devices that know the pairing code."""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
import secrets
import socket
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Protocol

COOKIE = "gaugewright_device"
MOST_TRIES, PER_SECONDS = 8, 60.0
"""Wrong codes in this time before every further one is refused (our judgement)."""


class Devices(Protocol):
    """Where the devices let in are kept: only hashes of their tokens."""

    def known(self, token_hash: str) -> bool:
        """Whether a device with this hash was let in."""

    def add(self, token_hash: str, name: str) -> None:
        """Keep one more device."""


class InMemory:
    """Devices for as long as the app runs."""

    def __init__(self) -> None:
        self._names: dict[str, str] = {}

    def known(self, token_hash: str) -> bool:
        """Whether a device with this hash was let in."""
        return token_hash in self._names

    def add(self, token_hash: str, name: str) -> None:
        """Keep one more device."""
        self._names[token_hash] = name


@dataclass
class Doors:
    """The rules of the door.

    `shared`: other devices of the shop may come in with the code.  `code`: eight digits, new at
    each start, used by anyone who reads it off this machine's screen.
    """

    shared: bool = False
    devices: Devices = field(default_factory=InMemory)
    code: str = field(default_factory=lambda: f"{secrets.randbelow(10**8):08d}")
    clock: Callable[[], float] = time.monotonic
    _tries: list[float] = field(default_factory=list)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def at_home(self, client: str | None) -> bool:
        """Whether a request comes from this machine itself."""
        if client in ("testclient", "localhost"):
            return True
        address = _address(client or "")
        return address is not None and address.is_loopback

    def lets_in(self, client: str | None, token: str | None) -> bool:
        """Whether a request may go on: from here, or from a device that was let in."""
        if self.at_home(client):
            return True
        return self.shared and bool(token) and self.devices.known(_hash(token or ""))

    def try_code(self, code: str, name: str) -> str | None:
        """A token for the device that typed the right code, else None.

        After too many wrong codes in a minute every code is refused for a while.
        """
        with self._lock:
            now = self.clock()
            self._tries = [t for t in self._tries if now - t < PER_SECONDS]
            typed = "".join(sign for sign in code if sign.isdigit())
            right = hmac.compare_digest(typed.encode(), self.code.encode())
            if not self.shared or len(self._tries) >= MOST_TRIES or not right:
                self._tries.append(now)
                return None
        token = secrets.token_urlsafe(32)
        self.devices.add(_hash(token), name[:60])
        return token

    def knows_host(self, host: str) -> bool:
        """Whether a Host header names this machine: a page elsewhere cannot pose as it."""
        name = _without_port(host)
        if name in ("localhost", "testserver"):
            return True
        address = _address(name)
        if address is not None and address.is_loopback:
            return True
        return self.shared and (address is not None or name in own_names())


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _without_port(host: str) -> str:
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.rpartition(":")[0] if host.count(":") == 1 else host


def _address(text: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        return ipaddress.ip_address(text.partition("%")[0])
    except ValueError:
        return None


def own_names() -> Iterable[str]:
    """The names under which the shop's network may know this machine."""
    name = socket.gethostname().lower()
    return (name, f"{name}.local")
