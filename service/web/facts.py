"""The facts of a part in a form: read with every mistake at once, and filled in from what is known."""

from collections.abc import Mapping
from typing import Any

from babel.numbers import get_currency_precision

from service.domain.facts import check_fact
from service.domain.procedure import Category, SpecField
from service.errors import Asks, Fault, Malformed, Refusal
from service.schemas.fields import Money
from service.schemas.parts import PartShown, SpecSent, SpecShown, spec_rows
from service.web.forms import RIGHT, Typed, as_number, in_a_line, name_of, read
from service.web.words import number, unit


def minor_units(currency: str) -> int:
    """How many minor units make one of a currency: 100 cents, 1 yen, 1000 fils (Unicode CLDR, by Babel)."""
    digits: int = get_currency_precision(currency)
    return int(10**digits)


def facts_typed(category: Category, form: Typed, known: Mapping[str, SpecShown] | None = None) -> dict[str, SpecSent]:
    """The facts that were filled in; what is `known` already is not asked again.

    Raises Malformed for all that cannot be, else Asks for all that are unlikely.
    """
    found: dict[str, SpecSent] = {}
    wrong: list[Fault] = []
    unlikely: list[Fault] = []
    for spec in category.specs:
        name = f"specs.{spec.key}"
        if not any(text.strip() for text in form.all(name)):
            continue
        try:
            found[spec.key] = _fact(spec, form, name, (known or {}).get(spec.key))
        except Asks as asks:
            unlikely += [Fault(pointer, _usual(spec)) for pointer, _ in asks.errors]
        except Refusal as refusal:
            wrong += [Fault(f"/specs/{spec.key}", detail) for _, detail in refusal.errors]
    if wrong:
        first = names_of_facts(category)[wrong[0].pointer.strip("/").replace("/", ".")]
        raise Malformed(in_a_line([*wrong, *unlikely], first), errors=[*wrong, *unlikely])
    if unlikely:
        say = "Some of these figures are unlikely: measure again, then correct them or tick that they are right."
        asked = Asks(say, confirm="sure")
        asked.errors = tuple(unlikely)
        raise asked
    return found


def names_of_facts(category: Category | None) -> dict[str, str]:
    """What the fields of the facts are called, by their names in the form."""
    return {f"specs.{spec.key}": spec.title for spec in category.specs} if category is not None else {}


def _fact(spec: SpecField, form: Typed, name: str, held: SpecShown | None) -> SpecSent:
    values: dict[str, Any] = {"known_by": form(f"{name}.known_by", "measured")}
    text = form(name).strip()
    if spec.kind == "number":
        values["number"] = as_number(text, f"/specs/{spec.key}")
    elif spec.kind == "numbers":
        values["numbers"] = [as_number(each, f"/specs/{spec.key}") for each in text.replace(";", " ").split()]
    elif spec.kind == "choices":
        values["choices"] = form.all(name)
    else:
        values["words"] = text
    as_before = held is not None and "number" in values and held.number == values["number"]
    sure = as_before or form.has(f"{name}.sure")
    sent = read(SpecSent, values | {"sure": sure})
    rows = [row["number"] if row["number"] is not None else row["words"] for row in spec_rows(sent)]
    check_fact(spec, rows, many=spec.kind in ("numbers", "choices"), sure=sure)
    return sent


def _usual(spec: SpecField) -> str:
    low, high = spec.low, spec.high
    if low is not None and high is not None:
        usual = f"{number(low)} to {number(high)}"
    else:
        usual = f"at least {number(low)}" if low is not None else f"at most {number(high or 0)}"
    return f"is usually {usual} {unit(spec.key)}".rstrip() + f": measure again, or {RIGHT}"


def facts_known(part: PartShown) -> dict[str, Any]:
    """What fills the form: every known fact and how it is known."""
    values: dict[str, Any] = {}
    for key, spec in part.specs.items():
        name = f"specs.{key}"
        if spec.numbers is not None:
            values[name] = " ".join(f"{each:.10g}" for each in spec.numbers)
        elif spec.choices is not None:
            values[name] = spec.choices
        else:
            values[name] = spec.number if spec.number is not None else spec.words
        values[f"{name}.known_by"] = spec.known_by
    return values


def money_typed(form: Typed, currency: str, *names: str) -> dict[str, Money]:
    """Amounts as people write them, in minor units. Raises Malformed for what is no amount."""
    found: dict[str, Money] = {}
    for name, amount in form.numbers(*names).items():
        if isinstance(amount, str) or amount < 0:
            say = f"should be an amount such as 12.50, not {form(name)!r}"
            raise Malformed(f"{name_of(name)} {say}.", errors=[(f"/{name}", say)])
        found[name] = read(Money, {"minor": round(amount * minor_units(currency)), "currency": currency})
    return found


def changed(known: Mapping[str, Any], sent: SpecSent, key: str) -> bool:
    """Whether a fact was typed otherwise than it is known."""
    held = known.get(key)
    names = ("number", "words", "numbers", "choices", "known_by")
    return held is None or any(getattr(held, name) != getattr(sent, name) for name in names)
