"""`gaugewright open`: the app on this machine, in the browser."""

from __future__ import annotations

import socket
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gaugewright.errors import InputError, Problem

if TYPE_CHECKING:
    from gaugewright.store.lines import TakenIn

FIRST_PORT, PORTS_TRIED = 8760, 40
HERE, EVERYWHERE = "127.0.0.1", "0.0.0.0"


def open_app(flags: Namespace) -> None:
    """Serve the app until it is stopped.

    Raises InputError where the job cannot be taken in, or no port is free.
    """
    import uvicorn

    from gaugewright.cli.settings import settings_path
    from gaugewright.store.store import open_store
    from gaugewright.web.app import make_app
    from gaugewright.web.take_in import offer_of

    store = open_store(flags.store)
    app = make_app(store, settings_path(), shared=flags.share)
    page = "/" if flags.job is None else offer_of(app.state.bay, _taken(store, flags.job))
    listening = _listen(flags.port, EVERYWHERE if flags.share else HERE)
    port = listening.getsockname()[1]
    _say(app, port, flags.share)
    if not flags.no_browser:
        _show(f"http://{HERE}:{port}{page}")
    config = uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=2)
    try:
        uvicorn.Server(config).run(sockets=[listening])
    finally:
        store.close()


def _taken(store: Any, path: Path) -> TakenIn:
    taken: TakenIn = store.take_in(path)
    return taken


def _listen(port: int | None, host: str) -> socket.socket:
    """A listening socket at this port, or at the first free one of ours."""
    tried = (port,) if port is not None else range(FIRST_PORT, FIRST_PORT + PORTS_TRIED)
    for number in tried:
        made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            made.bind((host, number))
        except OSError:
            made.close()
            continue
        made.listen(128)
        return made
    found = f"port {tried[0]} is taken" if port is not None else "no port of ours is free"
    raise InputError(Problem("gaugewright open", "--port", found, "name another with --port"))


def _say(app: Any, port: int, shared: bool) -> None:
    print(f"the app: http://{HERE}:{port}")
    if shared:
        from gaugewright.web.pairing import own_address

        code = app.state.bay.doors.code
        print(f"for the shop's tablets: http://{own_address()}:{port}")
        print(f"pairing code: {code[:4]} {code[4:]}")
    print("stop it with Ctrl+C.", flush=True)


def _show(address: str) -> None:
    """Open the browser once the app answers; where there is none, the address was printed."""
    import threading
    import webbrowser

    threading.Timer(0.8, webbrowser.open, (address,)).start()
