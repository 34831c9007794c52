"""Identifiers: UUIDs of version 7, which sort by the moment they were made and may be chosen by a client; secrets."""

import secrets
import time
from uuid import UUID


def new_id() -> UUID:
    """A UUID of version 7 (RFC 9562, 5.7): milliseconds, 12 bits of the millisecond (its method 3), chance."""
    nanoseconds = time.time_ns()
    milliseconds, rest = divmod(nanoseconds, 1_000_000)
    fraction = rest * 4096 // 1_000_000
    tail = secrets.randbits(62)
    return UUID(int=(milliseconds & (1 << 48) - 1) << 80 | 7 << 76 | fraction << 64 | 2 << 62 | tail)


def new_secret() -> str:
    """256 bits of chance, as 64 hexadecimal digits."""
    return secrets.token_hex(32)


def parse_id(text: str) -> UUID | None:
    """The id written as 8-4-4-4-12 hexadecimal digits, or None where the text is anything else."""
    try:
        found = UUID(text)
    except ValueError:
        return None
    return found if str(found) == text.lower() else None
