"""A range of what will be met: early, middle, late."""

from dataclasses import dataclass
from typing import Generic, TypeVar

Of = TypeVar("Of")


@dataclass(frozen=True, slots=True)
class Between(Generic[Of]):
    """A range: of ten alike, one is met before `early`, half by `middle`, nine by `late`; no late end: nobody can tell.

    Where it is a fact, all three are the same.
    """

    early: Of
    middle: Of
    late: Of | None
