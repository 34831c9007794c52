"""Real receivers on loopback for what is sent: a mail server, and an address that is called."""

import json
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes
from email.message import Message as Mail
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


@dataclass
class Letters:
    """A mail server that keeps what it gets; `answer` is what it says to the data, `before` is called first."""

    port: int = 0
    mails: list[Mail] = field(default_factory=list)
    answer: str = "250 OK"
    refuse: str = ""
    cut: bool = False
    before: Any = None

    async def handle_RCPT(
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        """Accepts everybody, or says why not."""
        if self.refuse:
            return self.refuse
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        """Keeps a mail, then answers."""
        content = envelope.content
        assert isinstance(content, bytes)
        self.mails.append(message_from_bytes(content))
        if self.before is not None:
            self.before(self)
        if self.cut and server.transport is not None:
            server.transport.close()  # everything has arrived, and nobody is told so
        return self.answer


@contextmanager
def letters() -> Iterator[Letters]:
    """A mail server for as long as the block lasts."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    kept = Letters(port)
    controller = Controller(kept, hostname="127.0.0.1", port=port)
    controller.start()
    try:
        yield kept
    finally:
        controller.stop()


@dataclass
class Calls:
    """An address that keeps the calls it gets and answers with a status."""

    address: str = ""
    calls: list[tuple[dict[str, str], Any]] = field(default_factory=list)
    status: int = 204
    location: str = ""
    before: Any = None


@contextmanager
def calls() -> Iterator[Calls]:
    """An address that can be called for as long as the block lasts."""
    kept = Calls()

    class Answering(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            headers = {name.lower(): worth for name, worth in self.headers.items()}
            kept.calls.append((headers | {"raw": body.decode()}, json.loads(body)))
            if kept.before is not None:
                kept.before(kept)
            self.send_response(kept.status)
            if kept.location:
                self.send_header("Location", kept.location)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Says nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Answering)
    server.daemon_threads = True
    kept.address = f"http://127.0.0.1:{server.server_address[1]}/hook"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield kept
    finally:
        server.shutdown()
        server.server_close()
        thread.join(5)
