"""What a step asks to write down, part by part and place by place, and where it is kept."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from service.domain.applying import Applied
from service.domain.bicycle import Placed, StepRecord
from service.domain.condition import Answer, judge
from service.domain.ends import compose
from service.domain.memory import remembered
from service.domain.own import step_basis
from service.domain.places import Surroundings
from service.domain.procedure import Category, Library, Record, Wear
from service.domain.steps import RecordAsked
from service.domain.wording import filled, part_at


def records_asked(applied: Applied, written: Mapping[str, StepRecord]) -> tuple[RecordAsked, ...]:
    """What a step asks to write down, with what was written already under the same key."""
    if not applied.step.records:
        return ()
    asked = applied.here.around.keep(("records", applied), lambda: tuple(_all_asked(applied)))
    return tuple(_with_answer(ask, written.get(ask.key)) for ask in asked) if written else asked


def _all_asked(applied: Applied) -> Iterator[RecordAsked]:
    if applied.step.records == "all-wear":
        yield from _all_wear(applied.here.around)
        return
    for record in applied.step.records:
        yield from _asked_for(record, applied)


def _with_answer(ask: RecordAsked, record: StepRecord | None) -> RecordAsked:
    return ask if record is None else replace(ask, number=record.number, words=record.words)


def _asked_for(record: Record, applied: Applied) -> Iterator[RecordAsked]:
    target, category = written_at(record.into, applied), applied.category.category
    basis = step_basis(applied.here.around.library, category, applied.step, record.basis, look=applied.look)
    if target is None and not record.into.startswith(("check:", "set-up:", "mass")):
        return
    places: Iterable[str] = ("",)
    if record.into.startswith("wear:") and target is not None:
        wear = wear_of(target, record.into.removeprefix("wear:"), applied.here.around.library)
        places = wear.places if wear is not None and wear.places else ("",)
    for place in places:
        yield RecordAsked(
            key=f"{record.into}@{place}" if place else record.into,
            into=record.into,
            title=filled(record.title, applied.here) + (f", {place}" if place else ""),
            low=record.low,
            high=record.high,
            otherwise=record.otherwise,
            choices=record.choices,
            text=record.text,
            part_id=target.part.id if target is not None else None,
            place=place,
            basis=basis,
            source=record.source,
        )


def written_at(into: str, applied: Applied) -> Placed | None:
    """The part a record is written to: its own, or the named category's at the same end, if it keeps that."""
    target, _, key = into.partition(":")
    category, dot, kind = target.rpartition(".")
    if kind == "mass":
        return applied.placed
    if kind not in ("spec", "wear"):
        return None
    own = (applied.placed,) if applied.placed is not None else ()
    parts = tuple(placed for placed, _ in applied.here.partners(category)) if dot else own
    return next((placed for placed in parts if _keeps(placed, kind, key, applied.here.around.library)), None)


def _keeps(placed: Placed, kind: str, key: str, library: Library) -> bool:
    category = library.categories.get(placed.slot)
    return category is not None and key in (_specs(category) if kind == "spec" else _wear(category))


@remembered
def _specs(category: Category) -> frozenset[str]:
    return frozenset(field.key for field in category.specs)


@remembered
def _wear(category: Category) -> frozenset[str]:
    return frozenset(wear.key for wear in category.wear)


def wear_of(placed: Placed, key: str, library: Library) -> Wear | None:
    """The wearing dimension of a part's category."""
    category = library.categories.get(placed.slot)
    return next((wear for wear in category.wear if wear.key == key), None) if category is not None else None


def _all_wear(around: Surroundings) -> Iterator[RecordAsked]:
    for placed in around.placed:
        category = around.library.categories.get(placed.slot)
        for wear in category.wear if category is not None else ():
            if wear.in_hand or judge(wear.when, around.here(placed)).answer is Answer.NO:
                continue
            for place in wear.places or ("",):
                where = compose(placed.place, place)
                yield RecordAsked(
                    key=f"wear:{placed.slot}.{wear.key}" + (f"@{where}" if where else ""),
                    into=f"wear:{wear.key}",
                    title=f"{part_at(placed, around.library)}: {wear.title}" + (f", {place}" if place else ""),
                    otherwise=wear.measure,
                    part_id=placed.part.id,
                    place=place,
                    basis=wear.basis,
                    source=wear.source,
                )
