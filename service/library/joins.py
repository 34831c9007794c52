"""Do the joins read facts that there are, and compare what can be compared?"""

from collections.abc import Iterator, Mapping
from typing import Any

from service.domain.calculations import CALCULATIONS, owned
from service.domain.order import WHOLE, hosts_of
from service.domain.procedure import Join, SpecField
from service.library.conditions import NUMBERS, check_value, facts_named, is_number
from service.library.files import Key
from service.library.known import CATEGORY_IDS
from service.library.names import check_source, need_category
from service.library.report import Report, Spot, numbered

KINDS_OF_TEST = ("equal", "not equal", "in", "at least", "at most", "within", "pairs")
TEST_KEYS = {"mine", "is", "theirs", "than", "table", "plus", "times", "give", "raw", "any", "if_known"}
ORDERED = ("at least", "at most", "within")


def check_joins(report: Report) -> None:
    """Every join of every category."""
    for name, category in report.categories.items():
        for key, join in numbered("joins", category.joins):
            _check_join(report.spot(name, key), join)
    _check_all_named(report)


def _check_join(at: Spot, join: Join) -> None:
    check_source(at, join.source)
    for number, partner in enumerate(join.with_):
        if partner == "host" and not hosts_of(at.report.categories[at.category]):
            at.inside("with_", number).wrong("write `host`: what the category is fitted to, by end")
        elif partner != "host":
            need_category(at.inside("with_", number), partner.partition("@")[0])
    if (join.by is None) == (not join.meets_if):
        at.wrong("a join has either `meets_if`, or `by` and its `inputs`")
    if join.by is None and (join.inputs or join.care_keys):
        at.inside("inputs" if join.inputs else "care_keys").wrong("`inputs` and `care_keys` belong to `by`")
    for number, fact in enumerate(join.inputs):
        _check_input(at.inside("inputs", number), fact)
    if join.by is not None:
        _check_calculation(at, join, join.by)
    for where, test in _tests((), join):
        _check_test(at.inside(*where), test, join)
    for number, case in enumerate(join.care_if):
        check_source(at.inside("care_if", number), case.source)
        if case.bridged_by is not None:
            need_category(at.inside("care_if", number, "bridged_by"), case.bridged_by)
    if join.accepting_adds is not None:
        _check_accepting(at, join)


def _check_input(at: Spot, fact: str) -> None:
    """ "*.spec" is that of every part which has it."""
    file, _, key = fact.rpartition(".")
    facts_named(at, *((key, "*") if file == "*" else (fact, at.category)))


def _check_calculation(at: Spot, join: Join, name: str) -> None:
    """The calculation exists, reads exactly the inputs, and answers with exactly the keys of care."""
    found = CALCULATIONS.get(name)
    if found is None:
        at.inside("by").wrong(f"no calculation {name!r}{at.report.near(name, CALCULATIONS)}")
        return
    given = [owned(fact, at.category) for fact in join.inputs]
    for number, fact in enumerate(given):
        if fact not in found.reads:
            at.inside("inputs", number).wrong(f"{name} does not read {fact}{at.report.near(fact, found.reads)}")
    for number, care in enumerate(join.care_keys):
        if care not in found.cares:
            at.inside("care_keys", number).wrong(f"{name} never answers {care!r}{at.report.near(care, found.cares)}")
    for lacking in sorted(found.reads - set(given)):
        at.inside("by").wrong(f"{name} reads {lacking} too: name it in `inputs`")
    for lacking in sorted(found.cares - set(join.care_keys)):
        at.inside("by").wrong(f"{name} answers {lacking!r} too: name it in `care_keys`")


def _check_all_named(report: Report) -> None:
    """In the knowledge of the whole trade every calculation is named by a join; a person's own folder may drop one."""
    named = {join.by for category in report.categories.values() for join in category.joins}
    if report.shelf.program is None and set(report.categories) >= CATEGORY_IDS:
        for name in sorted(set(CALCULATIONS) - named):
            report.wrong(WHOLE, ("joins",), f"no join names the calculation {name}")


def _tests(key: Key, join: Join) -> Iterator[tuple[Key, Mapping[str, Any]]]:
    for number, test in enumerate(join.meets_if):
        yield from _with_alternatives((*key, "meets_if", number), test)
    for number, case in enumerate(join.care_if):
        for place, test in enumerate(case.tests):
            yield from _with_alternatives((*key, "care_if", number, "tests", place), test)
        for way, tests in enumerate(case.any):
            for place, test in enumerate(tests):
                yield from _with_alternatives((*key, "care_if", number, "any", way, place), test)


def _with_alternatives(key: Key, test: Mapping[str, Any]) -> Iterator[tuple[Key, Mapping[str, Any]]]:
    """`any = [[…], […]]` inside a list of tests stands for its own tests."""
    ways = test.get("any")
    if (
        set(test) != {"any"}
        or not ways
        or not isinstance(ways, list)
        or not all(isinstance(tests, list) for tests in ways)
    ):
        yield key, test
        return
    for way, tests in enumerate(ways):
        for place, each in enumerate(tests):
            yield from _with_alternatives((*key, "any", way, place), each if isinstance(each, Mapping) else {})


def _check_test(at: Spot, test: Mapping[str, Any], join: Join) -> None:
    for unknown in sorted(set(test) - TEST_KEYS):
        at.inside(unknown).wrong(f"unknown key; a test has {', '.join(sorted(TEST_KEYS))}")
    kind = test.get("is")
    if kind is None:
        at.wrong(f"the key `is` is missing: {', '.join(KINDS_OF_TEST)}")
        return
    if kind not in KINDS_OF_TEST:
        at.inside("is").wrong(f"cannot be {kind!r}; {', '.join(KINDS_OF_TEST)}")
        return
    if not isinstance(test.get("mine"), str):
        at.wrong("the key `mine` is missing: the own fact that is compared")
        return
    if wrong := _types(test):
        for key, what in wrong:
            at.inside(key).wrong(what)
        return
    mine = _fields(at.inside("mine"), test["mine"], join)
    if kind == "pairs":
        _check_pairs(at, test, mine, join)
        return
    if "theirs" not in test and "than" not in test and not (kind == "within" and "give" in test):
        at.wrong("what is it compared with? `theirs` (a fact) or `than` (a constant) is missing")
    if isinstance(test.get("theirs"), str):
        theirs = _fields(at.inside("theirs"), test["theirs"], join)
        _check_comparable(at, mine, theirs)
    if "than" in test and mine:
        check_value(at.inside("than"), test["than"], mine)
    if kind in ORDERED and mine and not any(field.kind in NUMBERS for field in mine):
        at.inside("is").wrong(f"{test['mine']} is no number, so it cannot be {kind!r}")


def _types(test: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What stands at a key that does not belong there."""
    wrong = [
        (key, "should be a number") for key in ("plus", "times", "give") if key in test and not is_number(test[key])
    ]
    if "theirs" in test and not isinstance(test["theirs"], str):
        wrong.append(("theirs", 'should name a fact of the other part: "CATEGORY.SPEC", "host.SPEC" or "other.SPEC"'))
    if isinstance(test.get("than"), Mapping):
        wrong.append(("than", "should be a constant, or a list of them"))
    wrong += [
        (key, "should be true or false") for key in ("raw", "if_known") if not isinstance(test.get(key, False), bool)
    ]
    if "any" in test:
        wrong.append(("any", "should stand alone in its table: any = [[{ ... }], [{ ... }]]"))
    return wrong


def _fields(at: Spot, name: str, join: Join) -> list[SpecField]:
    """`other` is the partner: needed where it is of the own category."""
    file, dot, spec = name.partition(".")
    if dot and file == "other":
        partners = [each.partition("@")[0] for each in join.with_] or [at.category]
        met = [found for each in partners if (found := at.report.spec(each, spec)) is not None]
        if not met and all(each in at.report.categories for each in partners):
            at.wrong(f"no partner ({', '.join(partners)}) has a spec {spec!r}")
        return met
    return facts_named(at, name, at.category)


def _check_comparable(at: Spot, mine: list[SpecField], theirs: list[SpecField]) -> None:
    if not mine or not theirs:
        return
    ours, others = {_sort(field) for field in mine}, {_sort(field) for field in theirs}
    if not ours & others:
        at.inside("theirs").wrong(f"{mine[0].key} and {theirs[0].key} are of different kinds")
    elif "choice" in ours & others and not _choices(mine) & _choices(theirs):
        at.inside("theirs").wrong(f"{mine[0].key} and {theirs[0].key} have no choice in common")


def _check_pairs(at: Spot, test: Mapping[str, Any], mine: list[SpecField], join: Join) -> None:
    theirs = _fields(at.inside("theirs"), str(test.get("theirs", "")), join)
    table = test.get("table")
    if not isinstance(table, list) or not all(isinstance(pair, list) and len(pair) == 2 for pair in table):
        at.inside("table").wrong("pairs need a table of pairs: [[mine, theirs], …]")
        return
    for number, (own, other) in enumerate(table):
        if mine:
            check_value(at.inside("table", number), own, mine)
        if theirs:
            check_value(at.inside("table", number), other, theirs)


def _check_accepting(at: Spot, join: Join) -> None:
    file, dot, step = (join.accepting_adds or "").rpartition(".")
    owner = at.report.categories.get(file if dot else at.category)
    if not join.acceptable:
        at.inside("accepting_adds").wrong("only with acceptable = true can a conflict be accepted")
    if owner is not None and step not in {each.key for each in (*owner.used, *owner.steps)}:
        at.inside("accepting_adds").wrong(f"no step {join.accepting_adds!r}")


def _sort(field: SpecField) -> str:
    return field.kind.removesuffix("s") if field.kind in ("numbers", "choices") else field.kind


def _choices(fields: list[SpecField]) -> set[str]:
    return {choice for field in fields for choice in field.choices}
