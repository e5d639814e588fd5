"""The devices that were let in with a pairing code: only hashes of their tokens are kept."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Engine, select

from gaugewright.store.changes import printable
from gaugewright.store.database import reading, writing
from gaugewright.store.rows import now
from gaugewright.store.schema import devices


@dataclass(frozen=True)
class Device:
    """A device that was let in: the hash of its token, its name, since when (ISO, UTC)."""

    token_hash: str
    name: str
    let_in: str


@dataclass(frozen=True)
class Devices:
    """The devices of a store."""

    engine: Engine

    def known(self, token_hash: str) -> bool:
        """Whether a device with this hash is let in."""
        query = select(devices.c.token).where(
            devices.c.token == token_hash, devices.c.let_out.is_(None)
        )
        with reading(self.engine) as connection:
            return connection.execute(query).first() is not None

    def add(self, token_hash: str, name: str) -> None:
        """Let one more device in."""
        line = {"token": token_hash, "name": printable(name), "let_in": now(), "let_out": None}
        with writing(self.engine) as connection:
            connection.execute(devices.insert().values(**line))

    def all(self) -> tuple[Device, ...]:
        """The devices that are let in, the first first."""
        query = select(devices).where(devices.c.let_out.is_(None)).order_by(devices.c.let_in)
        with reading(self.engine) as connection:
            rows = list(connection.execute(query))
        return tuple(Device(row.token, row.name, row.let_in) for row in rows)

    def let_out(self, token_hash: str) -> None:
        """Let a device in no more."""
        change = devices.update().where(devices.c.token == token_hash)
        with writing(self.engine) as connection:
            connection.execute(change.values(let_out=now()))
