"""What an undecided condition hangs on, in words: "only if ... (not known yet: measure)"."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.domain.condition import WORDS, Answer, Fact, judge
from service.domain.places import Here
from service.domain.procedure import When
from service.domain.readings import spec_field

LIMITS = {"min": "at least", "max": "at most", "over": "over", "under": "under"}
REST = {
    "category": "what it is",
    "origin": "where it came from",
    "job": "the job",
    "end": "the end it works at",
    "side": "its side",
    "build": "the build",
    "host": "what it is fitted to",
}


def only_if(when: When, here: Here) -> str | None:
    """What must turn out for this condition to hold; None where it is decided already."""
    judged = judge(when, here)
    if judged.answer is not Answer.UNKNOWN:
        return None
    said = _said(when, here, turned=False)
    rest = ", ".join(dict.fromkeys(_fact_words(fact, here) for fact in judged.settles)) or "what is not known"
    return f"only if {said or rest + ' says so'} (not known yet: measure)"


def _said(when: When, here: Here, *, turned: bool) -> str:
    """The undecided keys of a table in words; all of them must hold, or any must fail where it is turned round."""
    words = [each for key, value in when.items() for each in _key_words(key, value, here, turned=turned)]
    return (" or " if turned else " and ").join(dict.fromkeys(words))


def _key_words(key: str, value: Any, here: Here, *, turned: bool) -> Iterator[str]:
    if judge({key: value}, here).answer is not Answer.UNKNOWN:
        return
    if key == "not":
        yield _said(value, here, turned=not turned)
    elif key == "any":
        said = [_said(table, here, turned=turned) for table in value]
        yield (" and " if turned else " or ").join(each for each in said if each)
    elif key in WORDS:
        settles = judge({key: value}, here).settles
        yield from (f"{_fact_words(fact, here)} {'does not say' if turned else 'says'} so" for fact in settles)
    else:
        yield f"{_named(key, here)} is {'not ' if turned else ''}{_value_words(value)}"


def _fact_words(fact: Fact, here: Here) -> str:
    own = here.placed is not None and fact.part_id == here.placed.part.id
    return _named(fact.key if own else f"{fact.category}.{fact.key}", here)


def _named(key: str, here: Here) -> str:
    """A fact by its title: "Shell it fits", or "Material of the steerer" of the fork."""
    owner, dot, spec = key.rpartition(".")
    if not dot and key in REST:
        return REST[key]
    categories = here.around.library.categories
    name = owner or (here.category.category if here.category is not None else "")
    if owner == "host":
        name = next((placed.slot for placed in here.hosts()), "")
    category = categories.get(name)
    field = spec_field(category, spec) if category is not None else None
    title = f'"{field.title}"' if field is not None else f'"{_spoken(spec).capitalize()}"'
    if not owner:
        return title
    return f"{title} of {REST.get(owner) or f'the {category.title.lower() if category else _spoken(owner)}'}"


def _value_words(value: Any) -> str:
    if isinstance(value, Mapping):
        return " and ".join(f"{LIMITS[word]} {limit:g}" for word, limit in value.items())
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return " or ".join(_value_words(each) for each in value)
    return _spoken(value) if isinstance(value, str) else f"{value:g}"


def _spoken(word: str) -> str:
    return word.replace("_", " ").replace("-", " ")
