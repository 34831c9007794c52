"""Symptoms: what is heard, felt or seen, and the causes to try."""

from dataclasses import dataclass
from typing import Literal

from service.domain.basis import Basis, Strict

Ride = Literal["ride", "ride home gently", "do not ride"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause(Strict):
    """One cause of a symptom, with the check that tells it apart."""

    say: str
    check: str
    start: str | None = None
    ride: Ride


@dataclass(frozen=True, slots=True, kw_only=True)
class Symptom(Strict):
    """What is heard, felt or seen, with causes in the order to try them."""

    key: str
    title: str
    stage: tuple[str, ...]
    causes: tuple[Cause, ...]
    basis: Basis = "common practice"
