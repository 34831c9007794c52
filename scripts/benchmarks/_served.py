"""A served application for benchmarks: uvicorn in a thread as in the tests, and a client that adds little itself."""

import asyncio
import json
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI

from service.app import make_app
from service.database import Database
from service.demo.scenario import First, open_demo
from service.domain.procedure import Library
from service.library.read import load, procedures_folder
from service.records import people

QUIET: dict[str, Any] = {
    "log_level": "critical",
    "access_log": False,
    "server_header": False,
    "timeout_keep_alive": 600,  # waiting for an idle machine must not lose the connection
}


class Client:
    """One connection that is kept; it asks and reads the whole answer, nothing more."""

    def __init__(self, port: int, token: str) -> None:
        self._socket = socket.create_connection(("127.0.0.1", port))
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._head = f"Host: 127.0.0.1:{port}\r\nAuthorization: Bearer {token}\r\n"

    def ask(self, method: str, path: str, body: Any = None, *, headers: str = "") -> tuple[int, str, bytes]:
        """Status, head and body of the answer."""
        content = b"" if body is None else json.dumps(body).encode()
        lines = f"{method} {path} HTTP/1.1\r\n{self._head}{headers}"
        if body is not None:
            lines += f"Content-Type: application/json\r\nContent-Length: {len(content)}\r\n"
        self._socket.sendall(f"{lines}\r\n".encode() + content)
        return self._answer()

    def _answer(self) -> tuple[int, str, bytes]:
        read = b""
        while b"\r\n\r\n" not in read:
            read += self._more()
        raw, _, content = read.partition(b"\r\n\r\n")
        head = raw.decode("latin-1").lower()
        length = int(head.partition("content-length:")[2].partition("\r\n")[0] or 0)
        pieces, held = [content], len(content)
        while held < length:
            pieces.append(self._more())
            held += len(pieces[-1])
        return int(head[9:12]), head, b"".join(pieces)

    def _more(self) -> bytes:
        read = self._socket.recv(1 << 18)
        if not read:
            raise ConnectionError("the service closed the connection")
        return read

    def close(self) -> None:
        """Ends the connection."""
        self._socket.close()


@dataclass(frozen=True, slots=True)
class Served:
    """The application over the demo, who owns it, what to open, and a client signed in."""

    app: FastAPI
    database: Database
    library: Library
    who: people.Who
    first: First
    client: Client


@contextmanager
def served_demo(folder: Path, *, prepare: Any = None) -> Iterator[Served]:
    """Serves the demo from a file in this folder; `prepare` may mount floors on the application before."""
    database = Database(f"sqlite:///{folder}/demo.db")
    database.migrate()
    library = load(procedures_folder())
    first = open_demo(database, library, time_zone="Europe/Berlin", now=datetime.now(UTC))
    with database.writing() as session:
        who = people.first_owner(session)
        assert who is not None
        token = people.add_device(session, who.person_id, title="bench", kind="token", now=datetime.now(UTC))
    app = make_app(database, library)
    if prepare is not None:
        prepare(app, database)
    with _running(app) as port:
        client = Client(port, token)
        yield Served(app, database, library, who, first, client)
        client.close()


@contextmanager
def _running(app: FastAPI) -> Iterator[int]:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.bind(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, **QUIET))
    thread = threading.Thread(target=lambda: asyncio.run(server.serve(sockets=[listening])), daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield int(listening.getsockname()[1])
    server.should_exit = True
    thread.join(20)
    listening.close()
