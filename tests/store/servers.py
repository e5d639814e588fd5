"""A PostgreSQL server of our own, for as long as the tests run."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PROGRAMS = Path("/usr/lib/postgresql")
HASTY = "-c fsync=off -c full_page_writes=off"
"""The server itself is never killed, and its data die with it: it needn't wait for the disk."""


def programs() -> Path | None:
    """Where the newest server's programs lie, None where there is none."""
    found = sorted(PROGRAMS.glob("*/bin/initdb"), key=lambda p: int(p.parts[-3]))
    return found[-1].parent if found else None


@contextmanager
def server() -> Iterator[str]:
    """A server on a socket in a temporary folder; yields the address of its first database."""
    bin_folder = programs()
    assert bin_folder is not None
    place = Path(tempfile.mkdtemp(prefix="gw-pg-"))
    try:
        place.chmod(0o755)
        (place / "data").mkdir()
        if os.getuid() == 0:
            shutil.chown(place, "postgres")
            shutil.chown(place / "data", "postgres")
        _run([bin_folder / "initdb", "-A", "trust", "-U", "gw", "-D", place / "data"], place)
        options = f"-k {place} -c listen_addresses='' -c max_connections=200 {HASTY}"
        start = ["-D", place / "data", "-l", place / "log", "-w", "-o", options, "start"]
        _run([bin_folder / "pg_ctl", *start], place)
        try:
            yield f"postgresql://gw@/postgres?host={place}"
        finally:
            _run([bin_folder / "pg_ctl", "-D", place / "data", "-m", "immediate", "stop"], place)
    finally:
        shutil.rmtree(place, ignore_errors=True)


def _run(command: list[object], place: Path) -> None:
    """Run one of the server's programs, as the user that may."""
    user = "postgres" if os.getuid() == 0 else pwd.getpwuid(os.getuid()).pw_name
    told = place / "told"
    with told.open("ab") as out:
        done = subprocess.run(
            [str(word) for word in command],
            user=user if os.getuid() == 0 else None,
            cwd=place,
            stdout=out,
            stderr=out,
            check=False,
        )
    assert done.returncode == 0, told.read_text(encoding="utf-8", errors="replace")
