"""What depends on nothing but values of the library, worked out once for as long as they are the same values."""

from collections.abc import Callable
from typing import Any, TypeVar, TypeVarTuple

Values = TypeVarTuple("Values")
Answer = TypeVar("Answer")
MOST = 20_000
"""More are only kept where many libraries were in use; then all are forgotten and worked out again."""


def remembered(work: Callable[[*Values], Answer]) -> Callable[[*Values], Answer]:
    """A pure function of values that never change, which remembers its answers by which values they are.

    The values hold mappings and cannot be hashed; comparing them would take longer than the work. Each answer holds
    its values, so that no other value can ever be taken for one of them.
    """
    kept: dict[tuple[int, ...], tuple[Any, Answer]] = {}

    def known(*values: *Values) -> Answer:
        key = tuple(map(id, values))
        met = kept.get(key)
        if met is None:
            if len(kept) >= MOST:
                kept.clear()
            met = kept[key] = values, work(*values)
        return met[1]

    return known
