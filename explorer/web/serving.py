"""The server of the local page: on this computer only, at the first free port."""

from __future__ import annotations

import errno
import socket
import sys

import uvicorn
from starlette.applications import Starlette

from ingest.errors import InputError

HERE = "127.0.0.1"  # no other computer can reach it
TRIED = 50
LAST_PORT = 65_535
MOST_AT_ONCE = 100
LAST_WORDS = 5  # seconds for answers under way at Ctrl-C
TAKEN = (errno.EADDRINUSE, errno.EACCES, 10013, 10048)  # the last two are how Windows says it


def listening(port: int) -> socket.socket:
    """A socket at this port, or at the next one that is free. InputError when none is."""
    for number in range(port, min(port + TRIED, LAST_PORT + 1)):
        try:
            return _bound(number)
        except OSError as error:
            if error.errno not in TAKEN:
                raise InputError(f"port {number}: cannot be used ({error.strerror})") from error
    raise InputError(f"port {port}: taken, and the next ones too; choose another with --port")


def _bound(port: int) -> socket.socket:
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform == "win32":  # pragma: no cover - there another program could join in
            found.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            # So that a port is free again at once after Ctrl-C.
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((HERE, port))
        found.listen()
    except OSError:
        found.close()
        raise
    return found


class _Server(uvicorn.Server):
    """One that lets nobody wait for an answer once it is told to stop."""

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self.config.app.state.stop()  # type: ignore[union-attr]
        await super().shutdown(sockets)


def serve(app: Starlette, place: socket.socket) -> None:
    """Serve until Ctrl-C, which is raised as KeyboardInterrupt once all is closed."""
    config = uvicorn.Config(
        app,
        log_config=None,
        access_log=False,
        server_header=False,
        loop="asyncio",
        http="h11",
        ws="none",
        lifespan="on",
        limit_concurrency=MOST_AT_ONCE,
        timeout_graceful_shutdown=LAST_WORDS,
    )
    _Server(config).run(sockets=[place])
