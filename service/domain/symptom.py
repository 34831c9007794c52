"""Symptoms: what is heard, felt or seen, and the causes to try."""

from dataclasses import dataclass
from typing import Literal

from service.domain.basis import Basis, Strict

Ride = Literal["ride", "ride home gently", "do not ride"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause(Strict):
    """One cause of a symptom, with the check that tells it apart.

    `start`: the step or task to begin with, "category.key"; `or_start`: the same on bicycles with another kind of part.
    """

    say: str
    check: str
    start: str | None = None
    or_start: tuple[str, ...] = ()
    ride: Ride

    @property
    def starts(self) -> tuple[str, ...]:
        """Every step or task it may begin with, the usual one first."""
        return (self.start, *self.or_start) if self.start is not None else self.or_start


@dataclass(frozen=True, slots=True, kw_only=True)
class Symptom(Strict):
    """What is heard, felt or seen, with causes in the order to try them."""

    key: str
    title: str
    stage: tuple[str, ...]
    causes: tuple[Cause, ...]
    basis: Basis = "common practice"
