"""How an entered spec is read: numbers snapped to the sizes that exist, or not known where they fit none or two."""

from collections.abc import Mapping

from service.domain.bicycle import Part, SpecFact
from service.domain.condition import NO_PART, Fact, Found, Scalar
from service.domain.memory import remembered
from service.domain.procedure import Category, SpecField


@remembered
def _fields(category: Category) -> Mapping[str, SpecField]:
    return {field.key: field for field in reversed(category.specs)}


def spec_field(category: Category, key: str) -> SpecField | None:
    """The field that a category declares under this key."""
    return _fields(category).get(key)


def settle(field: SpecField, number: float) -> float | None:
    """A reading as the size it is, in the field's unit; None where it fits no size or more than one.

    Fields without sizes keep the reading as it is.
    """
    if field.sizes:
        met = {size for low, high, size in field.sizes if low <= number <= high}
    elif field.nominal:
        reach = (field.give if field.snap is None else field.snap) + 1e-9
        met = {size for size in field.nominal if abs(number - size) <= reach}
    else:
        return number
    return met.pop() if len(met) == 1 else None


def read_spec(part: Part, category: Category, key: str) -> Found:
    """What is known of one spec of a part; nothing at all where its category has no such spec."""
    field = spec_field(category, key)
    if field is None:
        return NO_PART
    entered = part.specs.get(key, ())
    settled = tuple(value for value in [_value(field, fact) for fact in entered] if value is not None)
    if not entered or len(settled) < len(entered):
        return Found(settled, (Fact(part.category, key, part.id),), "")
    return Found(settled, (), entered[0].known_by)


def _value(field: SpecField, fact: SpecFact) -> Scalar | None:
    if fact.number is not None:
        return settle(field, fact.number)
    return fact.words
