"""Serving: a socket of our own, the sign-in link for whoever comes first, the web server on that socket."""

import errno
import socket
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from service.database import Database
from service.errors import Refusal
from service.records import people

if TYPE_CHECKING:
    import uvicorn

HOST = "127.0.0.1"
STOP_SECONDS = 20  # a running request may finish; a client gets an error past it, while its thread goes on
MOST_CONNECTIONS = 1000


class PortTaken(Refusal):
    """Another program listens on this port already."""

    status, code, title = 500, "port-taken", "The port is in use"


def listen(port: int) -> socket.socket:
    """A socket on this machine's own address. Raises PortTaken where another program has it, Refusal where one may not.

    The protocol is named because asyncio would not switch Nagle's algorithm off otherwise: 44 ms for every answer.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOST, port))
        listening.listen(128)
    except OSError as wrong:
        listening.close()
        if wrong.errno == errno.EADDRINUSE:
            raise PortTaken(f"Port {port} is in use by another program. Name another: --port {port + 1}") from None
        raise Refusal(f"Port {port} cannot be used ({wrong.strerror}). Choose one above 1023: --port 8417") from None
    listening.set_inheritable(True)
    return listening


def base_address(address: str | None, port: int) -> str:
    """How a browser reaches this service."""
    return address or f"http://{HOST}:{port}"


def sign_in_link(database: Database, base: str, person_id: UUID) -> str:
    """A new link that signs one browser in, once, within 15 minutes."""
    with database.writing() as session:
        return f"{base}/sign-in/{people.make_link(session, person_id, datetime.now(UTC))}"


def show_link(link: str, say: Callable[[str], None]) -> None:
    """Says the link, and draws its QR code for a phone to scan."""
    import io

    import segno

    drawn = io.StringIO()
    segno.make(link, error="l").terminal(drawn, compact=True, border=2)
    say(f"Sign in (once, within 15 minutes): {link}")
    say(drawn.getvalue())


def loaded(workers: int) -> "uvicorn.Config":
    """What the web server runs by, the application loaded once: what it cannot use is said before anything is served.

    Raises Refusal, LibraryMistakes.
    """
    config = _config(workers)
    # Of several processes each loads its own, and a loaded one cannot be handed to them: then this is a trial.
    (config if workers == 1 else _config(1)).load()
    return config


def _config(workers: int) -> "uvicorn.Config":
    import uvicorn

    return uvicorn.Config(
        "service.app:serving",
        factory=True,
        workers=workers,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        limit_concurrency=MOST_CONNECTIONS,
        timeout_graceful_shutdown=STOP_SECONDS,
    )


def run(listening: socket.socket, config: "uvicorn.Config", ready: Callable[[], None]) -> None:
    """Serves until it is told to stop; calls `ready` once, when requests are answered.

    Each process reads the settings for itself; no state lives in any of them.
    """
    import uvicorn
    from uvicorn.supervisors import Multiprocess

    class One(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            ready()

    class Several(Multiprocess):
        said = False

        def keep_subprocess_alive(self) -> None:
            super().keep_subprocess_alive()
            if not self.said and all(process.is_ready() for process in self.processes):
                self.said = True
                ready()

    if config.workers > 1:
        Several(config, sockets=[listening]).run()
    else:
        One(config).run(sockets=[listening])
