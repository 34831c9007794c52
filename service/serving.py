"""Serving: a socket of our own, the sign-in link for whoever comes first, the web server on that socket."""

import errno
import socket
from collections.abc import Callable
from datetime import UTC, datetime
from uuid import UUID

from service.database import Database
from service.errors import Refusal
from service.records import people

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


def run(listening: socket.socket, *, workers: int = 1) -> None:
    """Serves until it is told to stop. Each process reads the settings for itself; no state lives in any of them."""
    import uvicorn
    from uvicorn.supervisors import Multiprocess

    config = uvicorn.Config(
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
    if workers > 1:
        Multiprocess(config, sockets=[listening]).run()
    else:
        uvicorn.Server(config).run(sockets=[listening])
