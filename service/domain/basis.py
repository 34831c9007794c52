"""Where a number comes from, and what every value that is read from a file has in common."""

from typing import Any, ClassVar, Literal

Basis = Literal[
    "maker", "standard", "handbook", "trade page", "encyclopaedia", "common practice", "from memory", "derived"
]
"""Where a number comes from."""


class Strict:
    """A value that is read from a file: a key that it does not have is a mistake."""

    __slots__ = ()
    __pydantic_config__: ClassVar[dict[str, Any]] = {"extra": "forbid", "strict": False}
