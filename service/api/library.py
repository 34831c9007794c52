"""The API of the library: categories, checklists with nothing stored, sources."""

from typing import Annotated

from fastapi import Query, Request

from service.api.queries import check_queries
from service.context import Library, signed_in_router
from service.domain.facts import category_of
from service.domain.without_build import draw_up_for_category
from service.errors import NotFound, Refusal
from service.schemas.checklists import ChecklistForCategory, Job, StepShown
from service.schemas.library import CategoryLine, CategoryPage, CategoryShown, SourcePage, SourceShown
from service.schemas.problems import refusals

router = signed_in_router(check_queries, prefix="/api/v1", tags=["library"])
Place = Annotated[str | None, Query(max_length=60, description="At this place, such as front.")]


@router.get("/categories", summary="List categories")
def list_categories(library: Library) -> CategoryPage:
    """What kinds of part the library knows."""
    found = [each for each in library.categories.values() if not each.deprecated]
    return CategoryPage(items=[CategoryLine.model_validate(each) for each in found], next=None)


@router.get("/categories/{category}", summary="Read a category", responses=refusals(NotFound))
def get_category(category: str, library: Library) -> CategoryShown:
    """Its facts and how to measure them, joins, fastenings, tasks and wear, each number with its basis."""
    found = library.categories.get(category)
    if found is None:
        raise NotFound("category", category)
    return CategoryShown.of(found)


@router.get(
    "/categories/{category}/checklist",
    summary="Draw up a checklist for a category",
    responses=refusals(Refusal, NotFound),
)
def draw_category_checklist(
    category: str,
    request: Request,
    library: Library,
    job: Annotated[Job, Query(description="What is to be done.")] = "assemble",
    place: Place = None,
) -> ChecklistForCategory:
    """With nothing stored: facts come as `spec.KEY=` of the part and `fact.CATEGORY.KEY=` of others."""
    if category not in library.categories:
        raise NotFound("category", category)
    found = category_of(library, category)
    checklist = draw_up_for_category(library, category, job, place, _facts(request))
    return ChecklistForCategory(
        category=category,
        title=found.title,
        needs_mechanic=checklist.needs_mechanic,
        steps=[StepShown.model_validate(step, from_attributes=True) for step in checklist.steps],
    )


def _facts(request: Request) -> dict[str, float | str]:
    found: dict[str, float | str] = {}
    for name, worth in request.query_params.items():
        kind, _, key = name.partition(".")
        if kind in ("spec", "fact") and key:
            found[key] = _read(worth)
    return found


def _read(worth: str) -> float | str:
    try:
        number = float(worth)
    except ValueError:
        return worth
    if number != number or abs(number) > 1e6:
        raise Refusal(f"{worth} is not a number that can be measured.")
    return number


@router.get("/sources", summary="List sources")
def list_sources(library: Library) -> SourcePage:
    """Where the figures were read."""
    items = [
        SourceShown(id=name, title=source.title, address=source.address, read_on=source.read_on)
        for name, source in sorted(library.sources.items())
    ]
    return SourcePage(items=items, next=None)
