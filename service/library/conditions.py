"""Does every condition ask for facts that there are, with values that they can have?"""

from collections.abc import Iterable, Iterator, Mapping
from math import inf
from typing import Any

from service.domain.order import hosts_of
from service.domain.procedure import SpecField
from service.library.files import Key
from service.library.known import BUILD_FACTS, CHECKLIST_WORDS, ENDS, JOBS, ORIGINS, SIDES
from service.library.names import need_category
from service.library.report import Report, Spot, numbered, steps_of

PLAIN = {"origin": ORIGINS, "job": JOBS, "end": ENDS, "side": SIDES, "checklist": CHECKLIST_WORDS}
LIMITS = {"min", "max", "over", "under"}
NUMBERS = ("number", "numbers")
CHOICES = ("choice", "choices")


def check_conditions(report: Report) -> None:
    """Every `when`, `wanted` and `any_part` of every category."""
    for name, category in report.categories.items():
        for key, when in conditions_of(category):
            found = len(report.mistakes)
            check_when(report.spot(name, key), when)
            if len(report.mistakes) > found:
                report.unsound.add((name, key[:-1]))
        if category.wanted and category.wanted != "always":
            check_when(report.spot(name, ("wanted",)), category.wanted)
    for name in report.categories:
        _check_taken(report, name)


def conditions_of(category: Any) -> Iterator[tuple[Key, Mapping[str, Any]]]:
    """All `when` tables of a category with their place in its file."""
    tables = [(key, step) for key, step in steps_of(category)]
    for table in ("fastenings", "joins", "tasks", "wear", "small_parts"):
        tables.extend(numbered(table, getattr(category, table)))
    for key, wear in numbered("wear", category.wear):
        for place, part in (*numbered("rates", wear.rates), *numbered("limits", wear.limits)):
            tables.append(((*key, *place), part))
    for key, entry in tables:
        if entry.when:
            yield (*key, "when"), entry.when


def check_when(at: Spot, when: Mapping[str, Any], *, own: str | None = None) -> None:
    """One table: each key leads to a fact, each value is one that the fact can have.

    `own` is the category whose specs a bare key means, "*" for those of any (inside `any_part`).
    """
    for name, value in when.items():
        if value in ({}, []):
            at.inside(name).wrong("is empty, so it would always or never hold: write what it asks for")
            continue
        _check_key(at.inside(name), name, value, own or at.category)


def _check_key(at: Spot, name: str, value: Any, own: str) -> None:
    if name in ("any", "not", "any_part", "finding"):
        _check_nested(at, name, value, own)
    elif name == "category":
        _check_own_category(at, value)
    elif name in PLAIN:
        for each in _listed(value):
            if each not in PLAIN[name]:
                at.wrong(f"cannot be {each!r}; {', '.join(PLAIN[name])}")
    elif name in ("has", "lacks", "role"):
        for each in _listed(value):
            if isinstance(each, str):
                need_category(at, each)
            else:
                at.wrong("names a category, or a list of them")
    else:
        fields = facts_named(at, name, own)
        if fields:
            check_value(at, value, fields)


def _check_own_category(at: Spot, value: Any) -> None:
    """Only where a condition is asked of parts of every kind does it say anything which kind the part is of."""
    if at.category != "whole-bicycle":
        at.wrong("stands on steps of the whole bicycle only: any other file is about one category")
    for each in _listed(value):
        need_category(at, str(each))


def _check_nested(at: Spot, name: str, value: Any, own: str) -> None:
    if name == "any":
        if not isinstance(value, list) or not all(isinstance(each, Mapping) for each in value):
            at.wrong("should be a list of tables, one of which must hold")
            return
        for number, each in enumerate(value):
            check_when(at.inside(number), each, own=own)
    elif not isinstance(value, Mapping):
        at.wrong("should be a table")
    elif name == "finding":
        for finding, wanted in value.items():
            _check_finding(at.inside(finding), finding, wanted)
    elif name == "any_part":
        if at.category != "whole-bicycle":
            at.wrong("stands on steps of the whole bicycle only")
        check_when(at, value, own="*")
    else:
        check_when(at, value, own=own)


def _check_finding(at: Spot, name: str, wanted: Any) -> None:
    whole, colon, alternative = name.partition(":")
    file, _, join = whole.partition("@")[0].partition(".")
    if not isinstance(wanted, bool):
        at.wrong("should be true or false")
    if at.report.is_open(file):
        return
    found = at.report.categories.get(file)
    joins = {each.key: each for each in found.joins} if found else {}
    if join not in joins:
        at.wrong(f"no join {file + '.' + join!r}{at.report.near(join, joins)}")
        return
    known = [case.key for case in joins[join].care_if] + list(joins[join].care_keys)
    if colon and alternative not in known:
        at.wrong(f"the join has no alternative {alternative!r}; {', '.join(known) or 'it has none'}")


def facts_named(at: Spot, name: str, own: str) -> list[SpecField]:
    """The fields that a key like `kind`, `fork.kind`, `host.kind` or `build.use` can mean; a mistake where none."""
    file, dot, spec = name.partition(".")
    if not dot:
        return _own_fields(at, name, own)
    if file == "build":
        if spec not in BUILD_FACTS:
            at.wrong(f"the build has no fact {spec!r}; {', '.join(BUILD_FACTS)}")
            return []
        choices = BUILD_FACTS[spec]
        kind: Any = "number" if choices is None else "yes-no" if "yes" in choices else "choice"
        return [SpecField(key=spec, title=spec, kind=kind, measure="", choices=choices or {})]
    if file == "host":
        return _host_fields(at, spec, own)
    if not at.report.is_known(file):
        at.wrong(f"no category {file!r}{at.report.near(file, at.report.categories)}")
    elif file not in at.report.categories:
        if not at.report.is_open(file):
            at.wrong(f"{file} has no file yet, so none of its facts can be asked for")
    elif (found := at.report.spec(file, spec)) is not None:
        return [found]
    elif not at.report.is_dropped(file, ("specs",), spec, _by(at)):
        known = [each.key for each in at.report.categories[file].specs]
        at.wrong(f"{file} has no spec {spec!r}{at.report.near(spec, known)}")
    return []


def _own_fields(at: Spot, name: str, own: str) -> list[SpecField]:
    if own == "*":
        met = [spec for each in at.report.categories.values() for spec in each.specs if spec.key == name]
        if not met:
            at.wrong(f"no part has a spec {name!r}")
        return met
    found = at.report.spec(own, name)
    if found is None and at.report.is_dropped(own, ("specs",), name, _by(at)):
        return []
    if found is None:
        known = [each.key for each in at.report.categories[own].specs]
        at.wrong(f"{own} has no spec {name!r}{at.report.near(name, known)}")
        return []
    return [found]


def _by(at: Spot) -> str:
    """Who names a fact: "fork.steps.3"."""
    return ".".join(str(part) for part in (at.category, *at.key[:2]))


def _host_fields(at: Spot, spec: str, own: str) -> list[SpecField]:
    hosts = hosts_of(at.report.categories[own]) if own in at.report.categories else ()
    if not hosts:
        at.wrong(f"{own} has no host: write `host`, or name the category")
        return []
    met = [found for host in hosts if (found := at.report.spec(host, spec)) is not None]
    if not all(host in at.report.categories for host in hosts):
        return []
    if not met:
        at.wrong(f"no host ({', '.join(hosts)}) has a spec {spec!r}")
    return met


def check_value(at: Spot, value: Any, fields: Iterable[SpecField]) -> None:
    """The value must be one that at least one of the fields can have."""
    met = list(fields)
    if isinstance(value, Mapping):
        _check_limits(at, value, met)
        return
    for each in _listed(value):
        if not any(_can_be(field, each) for field in met):
            at.wrong(f"{met[0].key} cannot be {_toml(each)}; {_what_it_can_be(at, met, each)}")


def _check_limits(at: Spot, value: Mapping[str, Any], fields: list[SpecField]) -> None:
    unknown = set(value) - LIMITS
    if unknown or not value:
        at.wrong(f"{', '.join(sorted(unknown)) or 'empty'}: a range has min, max, over, under")
    elif not all(is_number(each) for each in value.values()):
        at.wrong("the ends of a range are numbers")
    elif not any(field.kind in NUMBERS for field in fields):
        at.wrong(f"{fields[0].key} is no number, so it has no range")
    elif _is_nothing_between(value):
        at.wrong("no number lies in this range: the lower end is above the upper one")


def _is_nothing_between(limits: Mapping[str, Any]) -> bool:
    low = max(limits.get("min", -inf), limits.get("over", -inf))
    high = min(limits.get("max", inf), limits.get("under", inf))
    return low > high or (low == high and not {"over", "under"}.isdisjoint(limits))


def _can_be(field: SpecField, value: Any) -> bool:
    if field.kind in NUMBERS:
        return is_number(value)
    if field.kind in CHOICES:
        return isinstance(value, str) and value in field.choices
    if field.kind == "yes-no":
        return isinstance(value, bool)
    return isinstance(value, str)


def _what_it_can_be(at: Spot, fields: list[SpecField], value: Any) -> str:
    kinds = {field.kind for field in fields}
    if kinds & set(CHOICES):
        choices = list(dict.fromkeys(choice for field in fields for choice in field.choices))
        return ", ".join(choices) + (at.report.near(value, choices) if isinstance(value, str) else "")
    if "yes-no" in kinds:
        return "write true or false"
    return "write a number" if kinds & set(NUMBERS) else "write words"


def _check_taken(report: Report, name: str) -> None:
    """What is taken from another file asks for own facts there: the taker must have them too."""
    for number, taken in enumerate(report.categories[name].takes):
        file, _, key = taken.partition(".")
        other = report.categories.get(file)
        entries = [] if other is None else [*steps_of(other), *numbered("fastenings", other.fastenings)]
        for place, entry in entries:
            if entry.key == key and (file, place) not in report.unsound:
                for asked in own_facts(entry.when):
                    if report.spec(name, asked) is None:
                        report.wrong(name, ("takes", number), f"{taken} asks for {asked!r}, which {name} does not have")


def own_facts(when: Mapping[str, Any]) -> Iterator[str]:
    """The own specs that a condition reads."""
    for key, value in when.items():
        if key == "any":
            for each in value:
                yield from own_facts(each)
        elif key == "not":
            yield from own_facts(value)
        elif key not in (*PLAIN, "category", "has", "lacks", "role", "any_part", "finding") and "." not in key:
            yield key


def is_number(value: Any) -> bool:
    """A number; a true is none."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def _listed(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list | tuple) else [value]


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value)
