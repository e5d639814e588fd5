"""Stores to test on, each test on SQLite and on PostgreSQL alike."""

from __future__ import annotations

import sys
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from gaugewright.store.lines import Kept
from gaugewright.store.store import Store, open_store

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "analysis"))

Opener = Callable[[], Store]


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The address of a server of our own."""
    import servers

    if servers.programs() is None:
        pytest.skip("PostgreSQL is not installed")
    with servers.server() as url:
        yield url


def new_database(server: str) -> str:
    """An empty database on this server."""
    name = f"t{uuid.uuid4().hex}"
    engine = create_engine(
        server.replace("postgresql:", "postgresql+psycopg:"), isolation_level="AUTOCOMMIT"
    )
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    engine.dispose()
    return server.replace("/postgres?", f"/{name}?")


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.slow)])
def new_url(request: pytest.FixtureRequest) -> Callable[[], str | None]:
    """Gives the address of an empty database whenever asked; None: SQLite in the data folder."""
    if request.param == "sqlite":
        return lambda: None
    server = request.getfixturevalue("postgres")
    return lambda: new_database(server)


@pytest.fixture
def url(new_url: Callable[[], str | None]) -> str | None:
    """The address of an empty database; None: SQLite in the data folder."""
    return new_url()


@pytest.fixture
def opener(url: str | None, tmp_path: Path) -> Iterator[Opener]:
    """Opens the same store again and again, as several processes would."""
    opened: list[Store] = []

    def open_again() -> Store:
        opened.append(open_store(url, tmp_path / "data"))
        return opened[-1]

    yield open_again
    for store in opened:
        store.close()


@pytest.fixture
def store(opener: Opener) -> Store:
    return opener()


@pytest.fixture
def lite(tmp_path: Path) -> Iterator[Store]:
    """A store on SQLite, where the database makes no difference."""
    made = open_store(folder=tmp_path / "data")
    yield made
    made.close()


@pytest.fixture
def kept(store: Store) -> Kept:
    """A new job."""
    return store.new_job("Tick at hot idle", 4, name="light van", complaint="ticks when hot")
