"""The page of the sources: where the figures were read."""

from starlette.responses import Response

from service.context import Library, Who, signed_in_router
from service.web.pages import render

router = signed_in_router(include_in_schema=False)
BASES = (
    ("maker", "printed by the maker of the part; governs over everything else"),
    ("standard", "a published standard or law"),
    ("handbook", "a workshop handbook"),
    ("trade page", "a page by people of the trade"),
    ("encyclopaedia", "an encyclopaedia"),
    ("common practice", "what workshops do; no source"),
    ("from memory", "what a mechanic remembers; no source, check it"),
    ("derived", "calculated from other figures here"),
)


@router.get("/sources")
def show_sources(who: Who, library: Library) -> Response:
    """Every source, at an address of its own."""
    found = sorted(library.sources.items(), key=lambda each: each[1].title.lower())
    return render("sources.html", sources=found, bases=BASES)
