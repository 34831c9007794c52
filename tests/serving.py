"""One web server for the whole run: each test hangs its own application behind the door."""

import asyncio
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import uvicorn
from starlette.types import ASGIApp, Receive, Scope, Send


class Door:
    """What the server calls; it hands each request to the application that hangs behind it now."""

    def __init__(self) -> None:
        self.app: ASGIApp | None = None
        self.address = ""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if self.app is None:
            raise RuntimeError("no application hangs behind the door")
        await self.app(scope, receive, send)


@contextmanager
def open_door() -> Iterator[Door]:
    """A server on a free port of 127.0.0.1, in a thread, until the block ends."""
    # Without naming the protocol every answer takes 44 ms: asyncio then does not switch Nagle's algorithm off.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.bind(("127.0.0.1", 0))
    door = Door()
    door.address = f"http://127.0.0.1:{listening.getsockname()[1]}"
    server = uvicorn.Server(uvicorn.Config(door, lifespan="off", log_level="critical", access_log=False))
    thread = threading.Thread(target=_serve, args=(server, listening), daemon=True)
    thread.start()
    until = time.monotonic() + 10
    while not server.started and time.monotonic() < until:
        time.sleep(0.005)
    try:
        yield door
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()


def _serve(server: uvicorn.Server, listening: socket.socket) -> None:
    asyncio.run(_serve_quietly(server, [listening]))


async def _serve_quietly(server: uvicorn.Server, sockets: list[Any]) -> None:
    await server.serve(sockets=sockets)
