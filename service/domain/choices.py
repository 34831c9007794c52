"""Which facts a group of alternatives hangs on, and whether every combination of them leaves exactly one."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import Any

from service.domain.condition import Answer, Found, Judged, Scalar, judge
from service.domain.condition import Fact as Unmet
from service.domain.procedure import When

Fact = str
"""A fact as a condition names it: "kind", "host.mount", "end", "has chain", "finding hub.width"."""

MOST_COMBINATIONS = 20_000
FREE = ("has", "lacks", "role", "finding", "checklist")


class TooManyCombinations(Exception):
    """The alternatives read so many facts that not every combination can be tried."""


@dataclass(frozen=True, slots=True)
class Hole:
    """A combination of facts and how many alternatives hold for it: none, or more than one."""

    facts: Mapping[Fact, Scalar]
    count: int

    def shown(self) -> str:
        """In words, as a mistake is reported."""
        facts = ", ".join(f"{name} = {_shown(value)}" for name, value in self.facts.items())
        return f"{self.count} of them hold for {{ {facts} }}"


def holes(alternatives: Sequence[When], values: Mapping[Fact, Sequence[Scalar]]) -> Iterator[Hole]:
    """Every combination of the facts read for which not exactly one alternative holds.

    `values` are the possible values of the facts that `facts_read` names; what all alternatives ask alike is the
    group's own condition: where that does not hold nothing is asked. Of a fact without values nothing can be said.
    """
    shared = _shared(alternatives)
    read = facts_read(alternatives)
    if prod(len(values[fact]) for fact in read) > MOST_COMBINATIONS:
        raise TooManyCombinations(", ".join(read))
    for combination in product(*(values[fact] for fact in read)):
        facts = dict(zip(read, combination, strict=True))
        seen = _Supposed(facts)
        if judge(shared, seen).answer is not Answer.YES:
            continue
        count = sum(judge(when, seen).answer is Answer.YES for when in alternatives)
        if count != 1:
            yield Hole(facts, count)


def facts_read(alternatives: Iterable[When]) -> list[Fact]:
    """The facts that the conditions look at, each once, in order."""
    return list(dict.fromkeys(fact for when in alternatives for fact, _ in _read(when)))


def asked_of(alternatives: Iterable[When]) -> dict[Fact, list[Any]]:
    """For each fact the values, lists and ranges that it is compared with."""
    met: dict[Fact, list[Any]] = {}
    for when in alternatives:
        for fact, value in _read(when):
            met.setdefault(fact, []).append(value)
    return met


def sample_numbers(asked: Iterable[Any], low: float, high: float) -> list[float]:
    """Numbers on, just under and just over every one that is asked for: between them nothing changes."""
    edges: set[float] = set()
    for value in asked:
        parts = value.values() if isinstance(value, Mapping) else value if isinstance(value, list) else [value]
        edges.update(float(part) for part in parts if isinstance(part, int | float) and not isinstance(part, bool))
    around = {edge + nudge for edge in edges for nudge in (-0.001, 0, 0.001)}
    return sorted(number for number in around if low <= number <= high) or [low]


def _read(when: When) -> Iterator[tuple[Fact, Any]]:
    for key, value in when.items():
        if key == "any":
            for table in value:
                yield from _read(table)
        elif key == "not":
            yield from _read(value)
        elif key == "any_part":
            yield f"any_part {value}", value
        elif key in FREE:
            word = "has" if key == "lacks" else key
            for name in value if isinstance(value, list | Mapping) else [value]:
                yield f"{word} {name}", True
        else:
            yield key, value


def _shared(alternatives: Sequence[When]) -> When:
    first, *others = alternatives
    return {key: value for key, value in first.items() if all(key in o and o[key] == value for o in others)}


def _shown(value: Scalar) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value) if isinstance(value, str) else f"{value:g}"


class _Supposed:
    """A view (`condition.View`) of nothing but supposed facts; what is not supposed is not known."""

    def __init__(self, facts: Mapping[Fact, Scalar]) -> None:
        self.facts = facts

    def own(self, key: str) -> Found:
        """A supposed fact under the name that conditions use."""
        return Found((self.facts[key],)) if key in self.facts else Found(unknown=(Unmet("supposed", key),))

    def of(self, category: str, key: str) -> Found:
        return self.own(f"{category}.{key}")

    def host(self, key: str) -> Found:
        return self.own(f"host.{key}")

    def build(self, key: str) -> Found:
        return self.own(f"build.{key}")

    @property
    def origin(self) -> Found:
        return self.own("origin")

    @property
    def job(self) -> Found:
        return self.own("job")

    @property
    def end(self) -> Found:
        return self.own("end")

    @property
    def side(self) -> Found:
        return self.own("side")

    @property
    def slot(self) -> Found:
        return self.own("category")

    def has(self, category: str) -> Answer:
        return self._answer(f"has {category}")

    def role(self, category: str) -> Answer:
        return self._answer(f"role {category}")

    def any_part(self, when: When) -> Judged:
        return Judged(self._answer(f"any_part {when}"))

    def finding(self, name: str, alternative: str | None) -> Judged:
        return Judged(self._answer(f"finding {name}" + (f":{alternative}" if alternative else "")))

    def checklist(self, word: str) -> Answer:
        return self._answer(f"checklist {word}")

    def _answer(self, fact: Fact) -> Answer:
        if fact not in self.facts:
            return Answer.UNKNOWN
        return Answer.YES if self.facts[fact] else Answer.NO
